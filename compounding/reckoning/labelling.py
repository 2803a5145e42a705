"""Labels: of a finished unit, of a bin of units, of a syringe between draw and add, of an opened container.

Total amount per total volume first, the amount per mL in brackets after it; generic names in tall-man
letters; patient, drug and dose in bold (designing a label for a piggyback, ISMP: page). Base solution, date
and time of preparing and the beyond-use date and time: COMAR 10.34.19.06 B (page).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo

from compounding.reckoning.linting import Fault, lint
from compounding.reckoning.quantities import Quantity, number_in, write
from compounding.reckoning.refusals import MissingFact, OutOfRange
from compounding.reckoning.tall_man import in_tall_man
from compounding.reckoning.worksheet import (
    ContainerKind,
    FinalContainer,
    Purpose,
    Worksheet,
    WorksheetIngredient,
)

__all__ = [
    "BinFacts", "Fault", "LabelFacts", "LabelLine", "LabelText", "OpenedFacts",
    "ampoule_draws", "bin_lines", "label_lines", "lint", "opened_lines", "syringe_lines",
]  # fmt: skip

STORAGE = {
    "room": "Store at 20 to 25 °C",
    "fridge": "Store in the refrigerator at 2 to 8 °C",
    "freezer": "Store in the freezer at -25 to -10 °C",
}
# Given into the spine these kill; ISMP Targeted Best Practice 1 (page), wording of the warning from memory.
FATAL_OTHERWISE = frozenset({"vinblastine", "vincristine", "vinorelbine", "vindesine"})
COMPOUNDED = "Compounded preparation"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True)
class LabelFacts:
    """What a label says beside the worksheet: for whom, how it is given, which unit it is.

    `identifiers` are two pairs of name and value (`("Record number", "4711")`); a unit for stock has neither
    patient nor identifiers. `rate` is written as ISMP asks or empty. `zone` is the pharmacy's own.
    """

    patient: str
    identifiers: tuple[tuple[str, str], ...]
    route: str
    rate: str
    code: str
    serial: int
    of: int
    zone: tzinfo = UTC


@dataclass(frozen=True)
class BinFacts:
    """What a bin's label says beside the worksheet: how many units lie in it; `ends_at` is ISO 8601."""

    count: int
    where: str
    code: str
    ends_at: str
    zone: tzinfo = UTC


@dataclass(frozen=True)
class OpenedFacts:
    """What an opened container's label says. `strength` is as drawn; moments are ISO 8601."""

    product: str
    strength: str
    lot: str
    opened_at: str
    ends_at: str
    by: str
    zone: tzinfo = UTC


@dataclass(frozen=True)
class LabelLine:
    """One line of a label; `place` names it (`drug 1`), `is_given` marks words taken over as they came."""

    place: str
    text: str
    is_bold: bool = False
    is_given: bool = False


@dataclass(frozen=True)
class LabelText:
    """All lines of one label, in the order they are printed."""

    lines: tuple[LabelLine, ...]

    def at(self, place: str) -> str:
        """Return the text at a place, empty when the label has no such line."""
        return next((line.text for line in self.lines if line.place == place), "")

    def faults(self) -> tuple[Fault, ...]:
        """Return the error-prone forms in the lines written here; names, numbers and codes are left alone."""
        written = (line for line in self.lines if not line.is_given)
        return tuple(
            Fault(f"{line.place}, {fault.place.partition(', ')[2]}", fault.fault, fault.better)
            for line in written
            for fault in lint(line.text)
        )


def label_lines(worksheet: Worksheet, facts: LabelFacts) -> LabelText:
    """Return the label of one unit. Refuses `MissingFact` and `OutOfRange` when a label lacks a fact."""
    _check(facts)
    lines = [*_patient(facts), *_contents(worksheet), *_giving(worksheet, facts), *_cautions(worksheet)]
    lines.append(LabelLine("code", facts.code, is_given=True))
    lines.append(LabelLine("serial", f"{facts.serial} of {facts.of}", is_given=True))
    return LabelText(tuple(lines))


def bin_lines(worksheet: Worksheet, facts: BinFacts) -> LabelText:
    """Return the label of the bin that a batch's units lie in. Refuses `OutOfRange` for an empty one."""
    if not 1 <= facts.count <= worksheet.units:
        raise OutOfRange(what="The number of units", given=str(facts.count), range=f"1 to {worksheet.units}")
    unit = "syringe" if worksheet.final_container is FinalContainer.SYRINGE else "bag"
    units = f"{facts.count} {unit}{'' if facts.count == 1 else 's'}"
    lines = [
        *_contents(worksheet),
        LabelLine("count", f"Bin of {units}, alike", is_bold=True),
        *_kept(worksheet, facts.ends_at, facts.zone),
        *_cautions(worksheet),
        LabelLine("where", facts.where, is_given=True),
        LabelLine("code", facts.code, is_given=True),
    ]
    return LabelText(tuple(lines))


def ampoule_draws(worksheet: Worksheet) -> tuple[int, ...]:
    """Return the draws whose syringe is labelled: filled from an ampoule, which cannot stand beside it named.

    A syringe that is itself the unit has the unit's label.
    """
    if worksheet.final_container is FinalContainer.SYRINGE and len(worksheet.ingredients) == 1:
        return ()
    kinds = {one.key: one.kind for one in worksheet.containers}
    return tuple(
        draw.number
        for transfer in worksheet.transfers
        if transfer.purpose is Purpose.DRUG
        for draw in transfer.draws
        if any(kinds.get(portion.container) is ContainerKind.AMPOULE for portion in draw.sources)
    )


def syringe_lines(worksheet: Worksheet, number: int, code: str) -> LabelText:
    """Return the label of a syringe that lies between its draw and its add: what is in it, never how much.

    What is drawn out of its named container is labelled at once (ISMP and USP <797>, memory). Its volume is
    read blind from the syringe itself, so it does not stand on it.
    """
    ingredient = worksheet.ingredients[(worksheet.transfer_of(number).ingredient or 1) - 1]
    drug = f"{in_tall_man(ingredient.written)} {strength_written(ingredient.strength)}"
    lines = [
        LabelLine("drug 1", drug, is_bold=True),
        LabelLine("use", "Not to be given: it goes into the preparation", is_bold=True),
        LabelLine("source", f"Drawn from {ingredient.container.value} through a filter needle"),
        *_cautions(worksheet),
        LabelLine("code", code, is_given=True),
        LabelLine("serial", f"syringe {number} of {len(worksheet.draws)}", is_given=True),
    ]
    return LabelText(tuple(line for line in lines if line.text != COMPOUNDED))


def opened_lines(facts: OpenedFacts) -> LabelText:
    """Return the label of an opened container: since when, and after when it belongs to the waste."""
    begin, end = (moment_written(at, facts.zone) for at in (facts.opened_at, facts.ends_at))
    lines = (
        LabelLine("drug 1", in_tall_man(facts.product), is_bold=True),
        LabelLine("strength", f"As drawn {facts.strength}"),
        LabelLine("opened", f"Opened {begin}"),
        LabelLine("discard", f"Discard after {end}", is_bold=True),
        LabelLine("lot", f"Lot {facts.lot}", is_given=True),
        LabelLine("by", facts.by, is_given=True),
    )
    return LabelText(tuple(line for line in lines if line.place != "strength" or facts.strength))


def moment_written(iso: str, zone: tzinfo) -> str:
    """Return a moment as a label writes it, in local time: `29 Nov 2026 08:00`."""
    moment = datetime.fromisoformat(iso).astimezone(zone)
    return f"{moment.day} {MONTHS[moment.month - 1]} {moment.year} {moment:%H:%M}"


def strength_written(strength: Quantity) -> str:
    """Return a strength to four figures, half up: `16.67 mg/mL`, `0.01667 mg/mL`."""
    return write(strength, max(0, 3 - strength.magnitude.adjusted()))


def _check(facts: LabelFacts) -> None:
    why = "a label without it is not given out"
    for name, value in (("The route", facts.route), ("The preparation's code", facts.code)):
        if not value.strip():
            raise MissingFact(fact=name, why=why)
    if facts.patient and len({value for _, value in facts.identifiers if value.strip()}) != 2:
        raise MissingFact(fact="One of the patient's two identifiers", why=why)
    if facts.identifiers and not facts.patient.strip():
        raise MissingFact(fact="The patient's name", why=why)
    if not 1 <= facts.serial <= facts.of:
        raise OutOfRange(what="The unit's number", given=str(facts.serial), range=f"1 to {facts.of}")


def _patient(facts: LabelFacts) -> Iterator[LabelLine]:
    if not facts.patient:
        yield LabelLine("patient", "For stock, not for a named patient", is_bold=True)
        return
    yield LabelLine("patient", facts.patient, is_bold=True, is_given=True)
    for number, (name, value) in enumerate(facts.identifiers, start=1):
        yield LabelLine(f"identifier {number}", f"{name} {value}", is_given=True)


def _contents(worksheet: Worksheet) -> Iterator[LabelLine]:
    for number, ingredient in enumerate(worksheet.ingredients, start=1):
        yield LabelLine(f"drug {number}", _drug(ingredient, worksheet.final_volume), is_bold=True)
    if worksheet.diluent:
        yield LabelLine("base", f"in {in_tall_man(worksheet.diluent)}")
    yield LabelLine("volume", _volume(worksheet))


def _drug(ingredient: WorksheetIngredient, volume: Quantity) -> str:
    name = in_tall_man(ingredient.written)
    amount = f"{write(ingredient.dose)} per {write(volume)}"
    return f"{name} {amount} ({strength_written(ingredient.concentration)})"


def _volume(worksheet: Worksheet) -> str:
    labelled, true = (number_in(v, "mL") for v in (worksheet.final_volume, worksheet.true_volume))
    text = f"Total volume {write(worksheet.final_volume)}"
    return text if labelled == true else f"{text} (about {write(worksheet.true_volume, 0)} with overfill)"


def _giving(worksheet: Worksheet, facts: LabelFacts) -> Iterator[LabelLine]:
    yield LabelLine("route", f"Route: {facts.route}")
    if facts.rate:
        yield LabelLine("rate", f"Rate: {facts.rate}")
    yield LabelLine("prepared", f"Prepared {moment_written(worksheet.started_at, facts.zone)}")
    yield from _kept(worksheet, worksheet.beyond_use_at, facts.zone)


def _kept(worksheet: Worksheet, ends_at: str, zone: tzinfo) -> Iterator[LabelLine]:
    end = moment_written(ends_at, zone)
    yield LabelLine("beyond use", f"Beyond use {end}: begin before then", is_bold=True)
    yield LabelLine("storage", STORAGE.get(worksheet.storage, worksheet.storage))


def _cautions(worksheet: Worksheet) -> Iterator[LabelLine]:
    for number, text in enumerate(_caution_texts(worksheet), start=1):
        yield LabelLine(f"caution {number}", text, is_bold=True)


def _caution_texts(worksheet: Worksheet) -> Iterator[str]:
    ingredients = worksheet.ingredients
    if any(ingredient.substance.lower() in FATAL_OTHERWISE for ingredient in ingredients):
        yield "For intravenous use only. Fatal if given by other routes"
    if worksheet.hazardous:
        yield "Hazardous drug: wear gloves, discard as hazardous waste"
    for ingredient in ingredients:
        if ingredient.high_alert:
            yield f"High-alert: {in_tall_man(ingredient.written)}"
    if worksheet.protect_from_light:
        yield "Protect from light"
    yield COMPOUNDED
