"""Osmolarity: mOsmol/L of a solution as the ideal sum of its particles.

The sum counts each particle as if it were alone (as labels do: sodium chloride two, calcium chloride three);
where a product prints its own figure, that figure is used instead (worked_examples.md, traps 4 to 8). The mEq
and mmol of a container: nutrition.py and substances.py; E-values: isotonicity.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import Kind, Quantity, kind_of, number_in, of, write
from compounding.reckoning.refusals import MissingFact
from compounding.reckoning.substances import Substance, mass_of, milliosmoles
from compounding.reckoning.working import Worked, short
from compounding.reckoning.worksheet import Line


@dataclass(frozen=True)
class Solute:
    """What is dissolved: a mass, mmol or mOsmol of a substance, or mEq of one `ion` of it."""

    substance: Substance
    content: Quantity
    ion: str = ""


@dataclass(frozen=True)
class Part:
    """One solution that goes in: its volume and what is dissolved in that volume.

    `printed` is the product's own figure in mOsmol/L and takes precedence; it needs its `source`.
    """

    name: str
    volume: Quantity
    solutes: tuple[Solute, ...] = ()
    printed: Quantity | None = None
    source: str = ""


@dataclass(frozen=True)
class Osmolarity:
    """What a mixture comes to; `warnings` is empty when the limit is kept or none was given."""

    content: Quantity
    volume: Quantity
    osmolarity: Quantity
    lines: tuple[Line, ...]
    warnings: tuple[str, ...]


def osmoles(solute: Solute) -> Worked:
    """Return what a solute adds, in mOsmol: mmol × particles, or stated mOsmol as they are.

    Refuses WrongKind (units of activity) and OutOfRange (mEq of an ion that is not in it).
    """
    kind = kind_of(solute.content)
    if kind is Kind.OSMOLE:
        return Worked(of(number_in(solute.content, "mOsmol"), "mOsmol"), ())
    if kind is Kind.MASS:
        return milliosmoles(solute.content, solute.substance)
    mass = mass_of(solute.content, solute.substance, solute.ion)
    worked = milliosmoles(mass.amount, solute.substance)
    return Worked(worked.amount, (*mass.lines, *worked.lines))


def osmolarity_of(
    parts: tuple[Part, ...], volume: Quantity | None = None, limit: Quantity | None = None
) -> Osmolarity:
    """Return the osmolarity of a mixture in mOsmol/L, unrounded, over `volume` (default: the parts' sum).

    Above `limit` (for a peripheral vein; policy, 900 mOsmol/L by common practice) it warns, never refuses.
    Refuses as `osmoles` does, and MissingFact for a printed figure without its source.
    """
    worked = [_osmoles_of_part(part) for part in parts]
    total = of(sum((one.amount.magnitude for one in worked), Decimal(0)), "mOsmol")
    whole = of(sum((number_in(part.volume, "mL") for part in parts), Decimal(0)), "mL")
    over = whole if volume is None else of(number_in(volume, "mL"), "mL")
    result = of(total.magnitude / number_in(over, "L"), "mOsmol/L")
    lines = [line for one in worked for line in one.lines]
    lines.append(Line("osmolarity", f"{short(total)} ÷ {short(over)} = {short(result)}"))
    return Osmolarity(total, over, result, tuple(lines), _warnings(result, limit))


def _osmoles_of_part(part: Part) -> Worked:
    if part.printed is None:
        worked = [osmoles(solute) for solute in part.solutes]
        total = sum((one.amount.magnitude for one in worked), Decimal(0))
        return Worked(of(total, "mOsmol"), tuple(line for one in worked for line in one.lines))
    if not part.source.strip():
        fact = f"The source of {write(part.printed)} for {part.name}"
        raise MissingFact(fact=fact, why="a printed figure can be looked up")
    amount = of(number_in(part.printed, "mOsmol/mL") * number_in(part.volume, "mL"), "mOsmol")
    text = f"{short(part.volume)} × {write(part.printed)} ({part.source}) = {short(amount)}"
    return Worked(amount, (Line(part.name, text),))


def _warnings(osmolarity: Quantity, limit: Quantity | None) -> tuple[str, ...]:
    if limit is None or number_in(osmolarity, "mOsmol/L") <= number_in(limit, "mOsmol/L"):
        return ()
    return (
        f"{short(osmolarity)} is above {write(limit)}, the limit for a peripheral vein: give it centrally.",
    )
