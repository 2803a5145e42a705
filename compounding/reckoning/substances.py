"""Substances: molar mass, charge and particles, and what they make of a mass: mmol, mEq, mOsmol.

mEq = mmol × valence × how many of the ion; mOsmol = mmol × particles (ideal: whole dissociation). Hydrates
are named, because they weigh more: magnesium sulfate heptahydrate 246.47 g/mol makes 50 % 4.06 mEq/mL. The
masses are reviewed data from standard atomic weights, kept to two decimals as labels use them; the tests hold
them against an independent molar-mass library.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import Kind, Quantity, kind_of, number_in, of, write
from compounding.reckoning.refusals import OutOfRange, WrongKind
from compounding.reckoning.units import EXAMPLES
from compounding.reckoning.working import Worked, short
from compounding.reckoning.worksheet import Line


@dataclass(frozen=True)
class Ion:
    """One ion of a substance: its valence without sign, and how many of it one molecule gives."""

    name: str
    valence: int
    count: int


@dataclass(frozen=True)
class Substance:
    """One substance as it is weighed. `molar_mass` in g/mol (the same number as mg/mmol)."""

    name: str
    formula: str
    molar_mass: Quantity
    ions: tuple[Ion, ...]
    particles: int

    def ion(self, name: str) -> Ion:
        """Return an ion by its name. Raises OutOfRange, naming those there are."""
        found = next((ion for ion in self.ions if ion.name == name), None)
        if found is None:
            known = " or ".join(ion.name for ion in self.ions) or "nothing: it has no ions"
            raise OutOfRange(what=f"The ion of {self.name}", given=f"“{name[:40]}”", range=known)
        return found


def _substance(
    name: str, formula: str, molar_mass: str, particles: int, *ions: tuple[str, int, int]
) -> Substance:
    found = tuple(Ion(ion, valence, count) for ion, valence, count in ions)
    return Substance(name, formula, of(molar_mass, "g/mol"), found, particles)


_KNOWN = (
    _substance("sodium chloride", "NaCl", "58.44", 2, ("sodium", 1, 1), ("chloride", 1, 1)),
    _substance("potassium chloride", "KCl", "74.55", 2, ("potassium", 1, 1), ("chloride", 1, 1)),
    _substance("ammonium chloride", "NH4Cl", "53.49", 2, ("ammonium", 1, 1), ("chloride", 1, 1)),
    _substance("sodium bicarbonate", "NaHCO3", "84.01", 2, ("sodium", 1, 1), ("bicarbonate", 1, 1)),
    _substance("sodium acetate", "C2H3NaO2", "82.03", 2, ("sodium", 1, 1), ("acetate", 1, 1)),
    _substance(
        "sodium acetate trihydrate", "C2H3NaO2(H2O)3", "136.08", 2, ("sodium", 1, 1), ("acetate", 1, 1)
    ),
    _substance("potassium acetate", "C2H3KO2", "98.14", 2, ("potassium", 1, 1), ("acetate", 1, 1)),
    _substance("sodium lactate", "C3H5NaO3", "112.06", 2, ("sodium", 1, 1), ("lactate", 1, 1)),
    _substance(
        "calcium chloride dihydrate", "CaCl2(H2O)2", "147.01", 3, ("calcium", 2, 1), ("chloride", 1, 2)
    ),
    _substance("calcium gluconate", "C12H22CaO14", "430.37", 3, ("calcium", 2, 1), ("gluconate", 1, 2)),
    _substance(
        "magnesium sulfate heptahydrate", "MgSO4(H2O)7", "246.47", 2, ("magnesium", 2, 1), ("sulfate", 2, 1)
    ),
    _substance(
        "magnesium chloride hexahydrate", "MgCl2(H2O)6", "203.30", 3, ("magnesium", 2, 1), ("chloride", 1, 2)
    ),
    # phosphate has no valence of its own without a stated pH: it is ordered and checked in mmol
    _substance("monobasic potassium phosphate", "KH2PO4", "136.09", 2, ("potassium", 1, 1)),
    _substance("dibasic potassium phosphate", "K2HPO4", "174.18", 3, ("potassium", 1, 2)),
    _substance("monobasic sodium phosphate monohydrate", "NaH2PO4(H2O)", "137.99", 2, ("sodium", 1, 1)),
    _substance("dibasic sodium phosphate", "Na2HPO4", "141.96", 3, ("sodium", 1, 2)),
    _substance("dextrose monohydrate", "C6H12O6(H2O)", "198.17", 1),
    _substance("dextrose", "C6H12O6", "180.16", 1),
)
SUBSTANCES: dict[str, Substance] = {one.name: one for one in _KNOWN}


def substance(name: str) -> Substance:
    """Return a substance by its whole name, hydrate included. Raises OutOfRange, naming those alike."""
    if name in SUBSTANCES:
        return SUBSTANCES[name]
    first = name.split(" ")[0]
    alike = [known for known in SUBSTANCES if first and known.startswith(first)] or list(SUBSTANCES)
    raise OutOfRange(what="A substance", given=f"“{name[:40]}”", range=" or ".join(alike))


def millimoles(mass: Quantity, one: Substance) -> Worked:
    """Return a mass in mmol: mass ÷ molar mass. Raises NotConvertible."""
    amount = of(number_in(mass, "mg") / _mg_per_mmol(one), "mmol")
    return Worked(amount, (Line(one.name, f"{write(mass)} ÷ {_written(one)} = {short(amount)}"),))


def milliequivalents(mass: Quantity, one: Substance, ion: str) -> Worked:
    """Return the mEq of an ion in a mass: mmol × valence × count. Raises NotConvertible, OutOfRange."""
    amount = millimoles(mass, one)
    charge = one.ion(ion).valence * one.ion(ion).count
    equivalents = of(amount.amount.magnitude * charge, "mEq")
    text = f"{short(amount.amount)} × {charge} = {short(equivalents)} {ion}"
    return Worked(equivalents, (*amount.lines, Line(one.name, text)))


def milliosmoles(mass: Quantity, one: Substance) -> Worked:
    """Return the ideal mOsmol of a mass: mmol × particles. Raises NotConvertible."""
    amount = millimoles(mass, one)
    osmoles = of(amount.amount.magnitude * one.particles, "mOsmol")
    text = f"{short(amount.amount)} × {one.particles} particles = {short(osmoles)}"
    return Worked(osmoles, (*amount.lines, Line(one.name, text)))


def mass_of(amount: Quantity, one: Substance, ion: str = "") -> Worked:
    """Return the mass in mg of an amount in mmol, or in mEq of a named ion. Raises WrongKind, OutOfRange."""
    kind = kind_of(amount)
    if kind is Kind.AMOUNT:
        moles, text = number_in(amount, "mmol"), write(amount)
    elif kind is Kind.EQUIVALENT:
        charge = one.ion(ion).valence * one.ion(ion).count
        moles, text = number_in(amount, "mEq") / charge, f"{write(amount)} {ion} ÷ {charge}"
    else:
        raise WrongKind(
            amount=write(amount), is_kind=kind, kind=Kind.EQUIVALENT, example=EXAMPLES[Kind.EQUIVALENT]
        )
    mass = of(moles * _mg_per_mmol(one), "mg")
    return Worked(mass, (Line(one.name, f"{text} × {_written(one)} = {short(mass)}"),))


def equivalent_strength(strength: Quantity, one: Substance, ion: str) -> Quantity:
    """Return a strength by mass in mEq of an ion per mL: 500 mg/mL of the heptahydrate is 4.06 mEq/mL."""
    per_ml = milliequivalents(of(number_in(strength, "mg/mL"), "mg"), one, ion)
    return of(per_ml.amount.magnitude, "mEq/mL")


def _mg_per_mmol(one: Substance) -> Decimal:
    """Return the molar mass in mg/mmol: the same number as g/mol."""
    return one.molar_mass.magnitude


def _written(one: Substance) -> str:
    return write(of(_mg_per_mmol(one), "mg/mmol"))
