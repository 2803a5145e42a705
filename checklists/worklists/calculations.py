"""What each calculator of the desk answers: amounts with their names, and the working under them.

Everything is reckoned by `compounding.reckoning`; here it is only asked and named. Nothing is kept.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from compounding.formulary.policy import current_policy
from compounding.reckoning import (
    dating,
    dilution,
    dosing,
    drawing,
    infusion,
    proportions,
    strengths,
    substances,
)
from compounding.reckoning.dating import DatingFacts
from compounding.reckoning.drawing import Demands, Fill
from compounding.reckoning.labelling import moment_written
from compounding.reckoning.quantities import Kind, Quantity, kind_of, number_in, of, write
from compounding.reckoning.refusals import MissingFact, NotMeasurable
from compounding.reckoning.working import Worked, short, short_percent
from compounding.reckoning.worksheet import Line

Read = Mapping[str, Any]


@dataclass(frozen=True)
class Answer:
    """What was asked, and how it was come by. `results` are names with what they come to."""

    results: tuple[tuple[str, str], ...]
    lines: tuple[Line, ...]
    notes: tuple[str, ...] = ()


def dose_to_volume(read: Read) -> Answer:
    """Return the volume that holds a dose, for this patient where the dose asks for one."""
    content = dosing.required_content(read["dose"], read["weight"], read["height"])
    volume = strengths.volume_of(content.amount, read["strength"])
    results = [(_("Volume"), short(volume.amount))]
    if kind_of(read["dose"]) in (Kind.DOSE_BY_WEIGHT, Kind.DOSE_BY_AREA):
        results.insert(0, (_("Dose"), short(content.amount)))
    return Answer(tuple(results), (*content.lines, *volume.lines))


def dilute(read: Read) -> Answer:
    """Return stock and diluent: C₁V₁ = C₂V₂."""
    stock = dilution.stock_volume(read["stock"], read["wanted"], read["total"])
    rest = proportions.left_of(read["total"], (stock.amount,))
    results = ((_("Stock"), short(stock.amount)), (_("Diluent, up to the total"), short(rest.amount)))
    return Answer(
        results,
        (
            *stock.lines,
            Line("diluent", f"{write(read['total'])} − {short(stock.amount)} = {short(rest.amount)}"),
        ),
    )


def alligate(read: Read) -> Answer:
    """Return how much of each of two solutions makes a strength between them."""
    strong, weak = dilution.alligation(read["stronger"], read["weaker"], read["wanted"], read["total"])
    results = ((_("Of the stronger"), short(strong.amount)), (_("Of the weaker"), short(weak.amount)))
    return Answer(results, strong.lines)


def equivalents(read: Read) -> Answer:
    """Return an amount of a substance as mass, mmol, mEq of each ion and mOsmol."""
    one = substances.substance(read["substance"])
    mass = _mass(read["amount"], one, read["ion"])
    moles = substances.millimoles(mass.amount, one)
    charges = [(ion.name, substances.milliequivalents(mass.amount, one, ion.name)) for ion in one.ions]
    osmoles = substances.milliosmoles(mass.amount, one)
    results = [(_("Mass"), short(mass.amount)), (_("Amount"), short(moles.amount))]
    results += [(ion.capitalize(), short(worked.amount)) for ion, worked in charges]
    results.append((_("Particles, if all dissolves apart"), short(osmoles.amount)))
    last = [worked.lines[-1] for worked in (*(worked for _name, worked in charges), osmoles)]
    return Answer(tuple(results), (*mass.lines, *moles.lines, *last))


def _mass(amount: Quantity, one: substances.Substance, ion: str) -> Worked:
    """Return the mass behind an amount; of mEq it must be said of which ion."""
    kind = kind_of(amount)
    if kind is Kind.MASS:
        return Worked(of(number_in(amount, "mg"), "mg"), ())
    if kind is Kind.EQUIVALENT and not ion:
        raise MissingFact(fact="The ion", why="the amount is in mEq")
    return substances.mass_of(amount, one, ion)


def rate(read: Read) -> Answer:
    """Return how fast a volume runs in a time."""
    return _with_drops(infusion.pump_rate(read["volume"], read["time"]), read["set"])


def rate_for_dose(read: Read) -> Answer:
    """Return how fast a solution runs to give a dose rate."""
    return _with_drops(infusion.rate_for_dose(read["order"], read["strength"], read["weight"]), read["set"])


def _with_drops(flow: Worked, drop_factor: Quantity | None) -> Answer:
    results = [(_("Rate"), short(flow.amount))]
    if drop_factor is None:
        return Answer(tuple(results), flow.lines)
    drops = infusion.drop_rate(flow.amount, drop_factor)
    results.append((_("Drops to count"), write(drops.amount)))
    return Answer(tuple(results), (*flow.lines, *drops.lines))


def beyond_use(read: Read) -> Answer:
    """Return until when giving must begin, and every limit that was asked."""
    start: datetime = read["started_at"]
    facts = DatingFacts(
        category=int(read["category"]),
        method=read["method"],
        sterility_tested=read["tested"] == "yes",
        only_sterile=read["only_sterile"] == "yes",
        storage=read["storage"],
        stability_hours=_hours(read["stability"]),
        stability_source=read["stability_source"],
        own_limit_hours=_hours(read["own_limit"]),
        component_ends=(),
    )
    limits, zone = dating.beyond_use(facts, start), timezone.get_default_timezone()
    binding = dating.binding(limits)
    results = ((_("Begin before"), moment_written(binding.ends_at, zone)),)
    set_by = _("Set by: %(limit)s.") % {"limit": binding.what}
    note = _("The end of each component’s own label counts too: the date is never later than the earliest.")
    return Answer(results, dating.working(limits, start, zone), (set_by, note))


def _hours(time: Quantity | None) -> Decimal | None:
    return None if time is None else number_in(time, "h")


def syringes(read: Read) -> Answer:
    """Return which syringes draw a volume; where none does, a dilution that serves if the stock is known."""
    demands = drawing.demands_of(current_policy(), read["hazardous"] == "yes")
    try:
        fills = drawing.fills_for(read["volume"], demands)
    except NotMeasurable as refused:
        if read["strength"] is None:
            raise
        return _diluted_first(read["volume"], read["strength"], demands, refused.sentence)
    results = [
        (_("Syringe %(number)s") % {"number": number}, _filled(fill)) for number, fill in enumerate(fills, 1)
    ]
    return Answer(tuple(results), tuple(_error_line(fill) for fill in fills))


def _diluted_first(volume: Quantity, strength: Quantity, demands: Demands, why: str) -> Answer:
    """Return the intermediate dilution that measures what is in a volume of stock."""
    content = strengths.content_of(volume, strength, strengths.base_of_strength(strength))
    ladder = dilution.find_ladder(content.amount, strength, demands)
    results = (
        (_("Stock"), _filled(ladder.stock)),
        (_("Diluent"), _filled(ladder.diluent)),
        (_("Of the mixture"), _filled(ladder.draw)),
    )
    error = Line("ladder", f"expected error of all of it {short_percent(ladder.expected)} %")
    return Answer(results, (*content.lines, *ladder.lines, error), (why,))


def _filled(fill: Fill) -> str:
    size = write(fill.size.syringe.size)
    return _("%(volume)s in a %(size)s syringe") % {"volume": write(of(fill.target, "mL")), "size": size}


def _error_line(fill: Fill) -> Line:
    error = fill.error
    parts = f"rounding {short_percent(error.rounding)} %, syringe {short_percent(error.instrument)} %"
    whole = f"expected {short_percent(error.expected)} %, worst {short_percent(error.worst)} %"
    drawn = f"{short(of(fill.required, 'mL'))} → {write(of(fill.target, 'mL'))}"
    return Line("draw", f"{drawn}, a mark each {write(fill.size.syringe.mark)}; {parts}: {whole}")
