"""Drawing: a volume becomes filled syringes, each at a mark, with what may be wrong with it stated.

Choice: fewest syringes within policy; then least expected error (to 0.1 percent); then a good fill; then the
smallest. Two sizes for one volume only when rounding to one mark breaks policy (21.7 mL = 21 mL + 0.7 mL).
Over the largest: fewest draws, equal where possible. Policy judges two things apart: rounding of the target
against the order, and the expected error of the instrument. Sources: standards.md section 5; the limits are
policy.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal

from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import Quantity, number_in, of, round_half_up, write
from compounding.reckoning.refusals import NotMeasurable
from compounding.reckoning.syringes import Size, budget, sizes_in_stock
from compounding.reckoning.working import short, short_percent
from compounding.reckoning.worksheet import ErrorBudget

_HUNDRED = Decimal(100)
_TENTH = Decimal("0.1")
_MOST_STEPS_DOWN = 20
_NO_LIMIT = Decimal(1_000_000)


@dataclass(frozen=True)
class Fill:
    """One syringe filled once; volumes in mL, `error` unrounded."""

    size: Size
    required: Decimal
    target: Decimal
    error: ErrorBudget

    @property
    def off(self) -> Decimal:
        """Return by how much the instrument may be off, in mL."""
        return self.error.instrument * self.target / _HUNDRED


@dataclass(frozen=True)
class Demands:
    """What a draw must meet: policy, the sizes of stock as they may be filled, and what is known of the drug.

    `strength_error` is the percent by which the stated strength is rounded; `instrument_limit` the
    formulation's own limit of the expected error, in percent.
    """

    policy: Policy
    sizes: tuple[Size, ...]
    strength_error: Decimal = Decimal(0)
    instrument_limit: Decimal | None = None

    @property
    def most_instrument(self) -> Decimal:
        """Return the limit of the expected error in percent: the formulation's own, else policy's."""
        return (
            self.policy.instrument_limit_percent if self.instrument_limit is None else self.instrument_limit
        )


def demands_of(policy: Policy, hazardous: bool = False) -> Demands:
    """Return what every draw of a preparation must meet."""
    return Demands(policy, sizes_in_stock(policy, hazardous))


def fills_for(volume: Quantity, demands: Demands) -> tuple[Fill, ...]:
    """Return the syringes that draw a volume, in the order of drawing. Raises NotMeasurable, saying why."""
    wanted = number_in(volume, "mL")
    most = demands.sizes[-1].most
    if wanted <= most or _nearest_of_largest(wanted, demands) <= most:
        found = one_fill(wanted, demands)
        fills = (found,) if found else two_sizes(wanted, demands)
    else:
        fills = several(wanted, demands)
    if not fills:
        raise _not_measurable(volume, wanted, demands)
    return fills


def one_fill(wanted: Decimal, demands: Demands) -> Fill | None:
    """Return the best single syringe for a volume in mL within policy, or None."""
    fitting = [fill for fill in _candidates(wanted, demands) if _within_policy(fill, demands)]
    return min(fitting, key=_preference, default=None)


def two_sizes(wanted: Decimal, demands: Demands) -> tuple[Fill, ...]:
    """Return a larger syringe with every whole mark it can and a smaller one with the rest, or nothing."""
    pairs = []
    for size in demands.sizes:
        pair = next(
            (pair for pair in _pairs(size, wanted, demands) if _pair_serves(pair, wanted, demands)), None
        )
        if pair:
            pairs.append(pair)
    return min(pairs, key=lambda pair: _pair_preference(pair, wanted), default=())


def several(wanted: Decimal, demands: Demands) -> tuple[Fill, ...]:
    """Return the fewest draws for a volume over the largest syringe: equal, else equal and two sizes for the
    rest, else equal but for the last; or nothing.

    One fewer than hold it all may do where each rounds down to its top mark (120.3 mL is two of 60 mL).
    """
    enough = int((wanted / demands.sizes[-1].most).to_integral_value(ROUND_CEILING))
    for count in range(max(2, enough - 1), min(enough + 3, demands.policy.most_draws + 1)):
        share = one_fill(wanted / count, demands)
        if share:
            return (share,) * count
        if count < enough:
            continue
        fills = _equal_and_two_sizes(wanted, count, demands) or _equal_and_rest(wanted, count, demands)
        if fills:
            return fills
    return ()


def _nearest_of_largest(wanted: Decimal, demands: Demands) -> Decimal:
    """Return the volume at the nearest mark of the largest syringe: 60.2 mL still is one of 60 mL."""
    return demands.sizes[-1].nearest_mark(wanted)


def _candidates(wanted: Decimal, demands: Demands) -> Iterator[Fill]:
    """Yield the volume at a mark of every size that may hold it."""
    for size in demands.sizes:
        target = size.nearest_mark(wanted)
        if size.may_hold(target):
            yield _fill(size, wanted, target, demands)


def _fill(size: Size, required: Decimal, target: Decimal, demands: Demands) -> Fill:
    return Fill(size, required, target, budget(size.top, required, target, demands.strength_error))


def _within_policy(fill: Fill, demands: Demands) -> bool:
    """Tell whether rounding and expected error, judged apart, are within policy."""
    return (
        fill.error.rounding <= demands.policy.rounding_limit_percent
        and fill.error.expected <= demands.most_instrument
    )


def _preference(fill: Fill) -> tuple[Decimal, bool, Decimal]:
    """Return the order of choice: least expected error to 0.1 percent, a good fill, the smallest."""
    return round_half_up(fill.error.expected, _TENTH), fill.target > fill.size.good, fill.size.top


def _pairs(size: Size, wanted: Decimal, demands: Demands) -> Iterator[tuple[Fill, Fill]]:
    """Yield a size at a whole mark, as full as may be first, with the best smaller syringe for the rest."""
    first = size.mark_below(min(wanted, size.most))
    for down in range(_MOST_STEPS_DOWN):
        target = first - down * size.mark
        rest = wanted - target
        if target < size.least or rest >= target:
            return
        smaller = [fill for fill in _candidates(rest, demands) if fill.size.top < size.top]
        if smaller:
            yield _fill(size, target, target, demands), min(smaller, key=_preference)


def _pair_serves(pair: tuple[Fill, Fill], wanted: Decimal, demands: Demands) -> bool:
    """Tell whether two syringes together are within policy, judged on the whole volume."""
    moved = abs(sum(fill.target for fill in pair) - wanted) / wanted * _HUNDRED
    if moved > demands.policy.rounding_limit_percent:
        return False
    whole = (moved**2 + _pair_error(pair, wanted) ** 2 + demands.strength_error**2).sqrt()
    return whole <= demands.most_instrument


def _pair_preference(pair: tuple[Fill, Fill], wanted: Decimal) -> tuple[bool, Decimal, Decimal]:
    """Return the order of choice: a first syringe that could hold nearly all, least error, the smallest."""
    first = pair[0].size
    error = round_half_up(_pair_error(pair, wanted), _TENTH)
    return first.mark_below(wanted) > first.most, error, first.top


def _pair_error(pair: tuple[Fill, Fill], wanted: Decimal) -> Decimal:
    """Return the expected instrument error of two syringes in percent of the whole."""
    return (pair[0].off ** 2 + pair[1].off ** 2).sqrt() / wanted * _HUNDRED


def _equal_and_rest(wanted: Decimal, count: int, demands: Demands) -> tuple[Fill, ...]:
    """Return `count` draws, all alike at a mark but the last: as nearly equal as one syringe measures the
    rest.
    """
    for size in reversed(demands.sizes):
        for alike in _marks_up(size, wanted / count):
            rest = one_fill(wanted - alike * (count - 1), demands)
            if rest:
                return (*(_fill(size, alike, alike, demands),) * (count - 1), rest)
    return ()


def _marks_up(size: Size, volume: Decimal) -> Iterator[Decimal]:
    """Yield the marks of a size that may be filled, from the one at or below a volume upwards."""
    mark = size.mark_below(volume)
    while mark <= size.most:
        if size.may_hold(mark):
            yield mark
        mark += size.mark


def _equal_and_two_sizes(wanted: Decimal, count: int, demands: Demands) -> tuple[Fill, ...]:
    """Return `count` draws, all alike at a mark but the last two, which are two sizes for the rest."""
    for size in reversed(demands.sizes):
        alike = size.mark_below(wanted / (count - 1))
        rest = two_sizes(wanted - alike * (count - 2), demands) if size.may_hold(alike) else ()
        if rest:
            return (*(_fill(size, alike, alike, demands),) * (count - 2), *rest)
    return ()


def _not_measurable(volume: Quantity, wanted: Decimal, demands: Demands) -> NotMeasurable:
    """Return the refusal with its reason."""
    closest = min(_candidates(wanted, demands), key=_preference, default=None)
    limit = demands.policy.rounding_limit_percent
    smallest = demands.sizes[0]
    if wanted > demands.sizes[-1].most * demands.policy.most_draws:
        why = f"it would take more than {demands.policy.most_draws} syringes"
    elif closest is None and wanted < smallest.least:
        least = write(of(smallest.least, "mL"))
        why = f"the smallest syringe ({write(smallest.syringe.size)}) is used from {least} up"
    elif closest is None:
        why = _no_set_of_draws(wanted, demands)
    elif closest.error.rounding > limit:
        mark = write(of(closest.target, "mL"))
        why = (
            f"the closest mark, {mark} in a {write(closest.size.syringe.size)} syringe, is "
            f"{short_percent(closest.error.rounding)} % off, policy allows {short_percent(limit)} %"
        )
    else:
        why = (
            f"the expected error is {short_percent(closest.error.expected)} %, "
            f"at most {short_percent(demands.most_instrument)} % is allowed"
        )
    return NotMeasurable(
        volume=short(volume), why=why, instead="Take a weaker product or make an intermediate dilution."
    )


def _no_set_of_draws(wanted: Decimal, demands: Demands) -> str:
    """Return why no syringes together serve: their error, or that no marks come near."""
    lenient = replace(demands, instrument_limit=_NO_LIMIT)
    fills = several(wanted, lenient) or two_sizes(wanted, lenient)
    if not fills:
        return (
            f"no set of draws rounds it by at most {short_percent(demands.policy.rounding_limit_percent)} %"
        )
    error = max(fill.error.expected for fill in fills)
    return (
        f"drawn in {len(fills)} syringes it has an expected error of up to {short_percent(error)} % each, "
        f"at most {short_percent(demands.most_instrument)} % is allowed"
    )
