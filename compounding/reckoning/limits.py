"""What a formulation allows: hard limits refuse, outside what is usual a pharmacist gives a reason.

Hard: how fast one unit runs, what it is mixed in, pairs that must not meet (the dose: dosing; concentration
and capacity: admixing). Soft: a dose or a concentration that is not usual (usual), an osmolarity above the
policy's limit for a small vein (peripheral), an old body weight, pairs that ask for a reason. The figures are
the formulation's and the site's own, reviewed with their sources.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from itertools import chain

from compounding.reckoning.admixing import Admixture
from compounding.reckoning.body import surface
from compounding.reckoning.incompatibility import Conflict, conflicts, plain_name, refuse_stops
from compounding.reckoning.infusion import content_per_hour, dose_rate_over
from compounding.reckoning.mixture import ReckonedIngredient
from compounding.reckoning.peripheral import osmolarity_in, too_osmotic
from compounding.reckoning.quantities import Quantity, code_of, number_in, of, write
from compounding.reckoning.refusals import DiluentNotAllowed, MissingFact, TooFast
from compounding.reckoning.request import OrderedIngredient, Request, Vehicle
from compounding.reckoning.strengths import base_of
from compounding.reckoning.usual import unusual
from compounding.reckoning.working import Worked, short
from compounding.reckoning.worksheet import Caution, Line

_MINUTES = Decimal(60)


@dataclass(frozen=True)
class Judged:
    """What was worked out to judge a request, and what needs a pharmacist's reason."""

    lines: tuple[Line, ...]
    cautions: tuple[Caution, ...]


def judged(request: Request, ingredients: tuple[ReckonedIngredient, ...], mixed: Admixture) -> Judged:
    """Return the working and the cautions of a request that keeps within every hard limit.

    Raises TooFast, DiluentNotAllowed, Incompatible; MissingFact for a limit that lacks its time or its
    patient; NotConvertible for a limit in another kind of unit.
    """
    rates = [_rate(one, most, request) for one in ingredients if (most := one.ordered.most_rate) is not None]
    for one in ingredients:
        _refuse_diluent(one, request.vehicle)
    osmolarity = osmolarity_in(request, ingredients, mixed)
    met = _met(request)
    refuse_stops(met)
    return Judged(
        lines=(*rates, *(osmolarity.lines if osmolarity else ()), *_looked_up(request, met)),
        cautions=(
            *chain.from_iterable(unusual(one, mixed) for one in ingredients),
            *too_osmotic(osmolarity, request.policy.peripheral_limit),
            *_old_weight(request),
            *(Caution(f"pair-{number}", one.sentence) for number, one in enumerate(met, 1)),
        ),
    )


def _rate(one: ReckonedIngredient, most: Quantity, request: Request) -> Line:
    """Return the working of how fast an ingredient runs, at most at the formulation's rate."""
    minutes = request.run_minutes
    if minutes is None:
        why = f"{one.ordered.substance} is given at {write(most)} at most"
        raise MissingFact(fact="The time over which it runs", why=why)
    area = (
        surface(request.height, request.body_weight).amount
        if request.height and request.body_weight
        else None
    )
    time, patient = of(minutes, "min"), (request.body_weight, area)
    rate = dose_rate_over(one.content, time, code_of(most), *patient)
    least = _least_minutes(one.content, content_per_hour(most, *patient).amount)
    if least > minutes:
        raise _too_fast(one, time, rate, most, of(least, "min"))
    return Line(f"{one.ordered.written} rate", f"{rate.lines[-1].text}, at most {write(most)}")


def _least_minutes(content: Quantity, hourly: Quantity) -> Decimal:
    """Return the fewest whole minutes over which a content may run.

    Multiplied first and divided once: 20 min are 0.333… h, and a limit that is met exactly is met.
    """
    base = base_of(content)
    exact = number_in(content, base) * _MINUTES / number_in(hourly, f"{base}/h")
    return exact.to_integral_value(ROUND_CEILING)


def _too_fast(
    one: ReckonedIngredient, time: Quantity, rate: Worked, most: Quantity, least: Quantity
) -> TooFast:
    return TooFast(
        content=short(one.content),
        substance=one.ordered.substance,
        time=write(time),
        rate=short(rate.amount),
        limit=write(most),
        least=write(least),
    )


def _refuse_diluent(one: ReckonedIngredient, vehicle: Vehicle | None) -> None:
    """Refuse a diluent that is not on the ingredient's list, neither as a solution nor as a product."""
    allowed = one.ordered.diluents
    if vehicle is None or not allowed:
        return
    names = {plain_name(name) for name in (vehicle.solution, vehicle.name, vehicle.product)}
    if names.isdisjoint(map(plain_name, allowed)):
        raise DiluentNotAllowed(
            substance=one.ordered.substance, diluent=vehicle.contents, allowed=" or ".join(allowed)
        )


def _present(request: Request) -> tuple[str, ...]:
    """Return everything that meets in the container: drugs, what dissolved them, the diluent."""
    made = (one.product.reconstitution for one in request.ingredients)
    dissolving = (one.contents for one in made if one is not None)
    drugs = (one.substance for one in request.ingredients)
    diluent = [request.vehicle.contents] if request.vehicle else []
    return tuple(dict.fromkeys((*drugs, *dissolving, *diluent)))


def _met(request: Request) -> tuple[Conflict, ...]:
    return conflicts(_present(request), "", request.pairs) if request.pairs else ()


def _looked_up(request: Request, met: tuple[Conflict, ...]) -> Iterator[Line]:
    """Yield what was looked up in the table of pairs and what it says; silence is not a promise."""
    present = _present(request)
    if request.pairs is None or len(present) < 2:
        return
    found = f"{len(met)} listed, with a reason to be given" if met else "no pair is listed"
    yield Line("pairs looked up", f"{', '.join(present)}: {found}; an absent row is not a promise")


def _old_weight(request: Request) -> Iterator[Caution]:
    """Yield a caution for a body weight that the amounts rest on and that is older than the policy's days."""
    days, most = request.weighed_days, request.policy.weight_days
    if days is not None and days > most and any(map(_rests_on_weight, request.ingredients)):
        asked = "Have the patient weighed, or say why it still holds."
        yield Caution("weight-old", f"The body weight is {days} days old, more than {most} days. {asked}")


def _rests_on_weight(one: OrderedIngredient) -> bool:
    amounts = [one.dose] if one.most_rate is None else [one.dose, one.most_rate]
    return any("/kg" in code_of(amount) or "/m2" in code_of(amount) for amount in amounts)
