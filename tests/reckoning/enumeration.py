"""Every way to open containers for a small shift, tried one after the other: the oracle of provisioning."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction

from compounding.reckoning.provisioning import Need, OpenContainer, Sharing, Size, StockLot
from compounding.reckoning.quantities import number_in

Answer = tuple[Fraction, int, Decimal]


@dataclass(frozen=True)
class Shift:
    """One small case."""

    needs: tuple[Need, ...]
    sizes: tuple[Size, ...]
    lots: tuple[StockLot, ...]
    standing: tuple[OpenContainer, ...]
    is_whole: bool = False


@dataclass(frozen=True)
class Glass:
    """An open container of the oracle; `order` says where it comes in drawing."""

    size: Size
    left: Decimal
    ends: datetime
    patient: str
    order: tuple[datetime, Fraction, int]


def best_by_enumeration(shift: Shift) -> Answer | None:
    """Return waste, punctures and price of the best plan; None when there is none."""
    needs = sorted(shift.needs, key=lambda need: need.at)
    standing = [glass for one in shift.standing if (glass := _standing(one, shift, needs[0].at))]
    counts = tuple(lot.count for lot in shift.lots)
    return min(_plans(shift, needs, 0, standing, counts), default=None)


def _plans(
    shift: Shift, needs: list[Need], number: int, standing: list[Glass], counts: tuple[int, ...]
) -> Iterator[Answer]:
    last = needs[-1].at
    if number == len(needs):
        lost = [one for one in standing if not (_is_kept(one.size) and one.ends > last)]
        yield sum((Fraction(one.left) * _worth(one.size) for one in lost), Fraction(0)), 0, Decimal(0)
        return
    need = needs[number]
    for opened in _openings(shift, need, standing, counts, last):
        glasses = sorted(standing, key=lambda one: (one.order, one.left)) + [glass for glass, _ in opened]
        after, drawn = _drawn(glasses, need)
        if after is None or any(after[-1 - n].left == opened[-1 - n][0].left for n in range(len(opened))):
            continue
        left = [counts[n] - sum(lot == n for _, lot in opened) for n in range(len(counts))]
        price = sum((glass.size.price for glass, _ in opened), Decimal(0))
        kept = [_after_use(one) for one in after]
        for waste, punctures, paid in _plans(shift, needs, number + 1, kept, tuple(left)):
            yield waste, punctures + drawn, paid + price


def _openings(
    shift: Shift, need: Need, standing: list[Glass], counts: tuple[int, ...], last: datetime
) -> Iterator[list[tuple[Glass, int]]]:
    """Yield every set that could be opened, in the order of drawing, the first to end of a size first."""
    wanted = number_in(need.content, "mg")
    growing: list[tuple[int, ...]] = [()]
    seen: set[tuple[int, ...]] = set()
    while growing:
        lots = growing.pop()
        if lots in seen:
            continue
        seen.add(lots)
        glasses = sorted(
            ((_opened(shift, lot, need, last), lot) for lot in lots), key=lambda one: (one[0].order, one[1])
        )
        yield glasses
        if sum(glass.left for glass, _ in glasses) < wanted:
            growing += [tuple(sorted((*lots, lot))) for lot in _next(shift, lots, counts, need.at)]


def _next(shift: Shift, lots: tuple[int, ...], counts: tuple[int, ...], at: datetime) -> Iterator[int]:
    for one in shift.sizes:
        there = [n for n, lot in enumerate(shift.lots) if lot.size == one.code and lot.ends_at > at]
        there = [n for n in there if counts[n] > lots.count(n)]
        yield from sorted(there, key=lambda n: shift.lots[n].ends_at)[:1]


def _opened(shift: Shift, lot: int, need: Need, last: datetime) -> Glass:
    one = next(size for size in shift.sizes if size.code == shift.lots[lot].size)
    ends = min(need.at + one.in_use, shift.lots[lot].ends_at)
    patient = "" if one.sharing is Sharing.ANYONE else need.patient
    # what is opened in the run and outlasts it ends with it, for the order of drawing
    shown = min(ends, last + timedelta(microseconds=1))
    order = (shown, -_worth(one), shift.sizes.index(one))
    return Glass(one, number_in(one.content, "mg"), ends, patient, order)


def _standing(container: OpenContainer, shift: Shift, start: datetime) -> Glass | None:
    one = next(size for size in shift.sizes if size.code == container.size)
    if one.sharing is Sharing.NOBODY or container.ends_at < start:
        return None
    patient = container.patient if one.sharing is Sharing.PATIENT else ""
    order = (container.ends_at, -_worth(one), shift.sizes.index(one))
    return Glass(one, number_in(container.left, "mg"), container.ends_at, patient, order)


def _drawn(glasses: list[Glass], need: Need) -> tuple[list[Glass] | None, int]:
    wanted, after, drawn = number_in(need.content, "mg"), [], 0
    for one in glasses:
        may = one.ends >= need.at and one.patient in ("", need.patient)
        takes = min(wanted, one.left) if may else Decimal(0)
        wanted, drawn = wanted - takes, drawn + bool(takes)
        after.append(replace(one, left=one.left - takes))
    return (None if wanted else after), drawn


def _after_use(one: Glass) -> Glass:
    """What nobody may have has no patient that could come."""
    return replace(one, patient="nobody at all") if one.size.sharing is Sharing.NOBODY else one


def _is_kept(one: Size) -> bool:
    return one.is_kept and one.sharing is not Sharing.NOBODY


def _worth(one: Size) -> Fraction:
    return Fraction(one.price) / Fraction(number_in(one.content, "mg"))
