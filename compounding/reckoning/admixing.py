"""Admixing: what ends up in the container when additive and diluent meet.

Four methods: add only; withdraw an equal volume first; withdraw additive and overfill; fill an empty
container to volume. Local policy picks one of the first two: an additive above its percent of the labelled
volume (most quoted: 10 percent, second-hand) is made room for. Volumes are held to add up. Source:
standards.md section 6.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.refusals import (
    DoesNotFit,
    NothingToWithdraw,
    OutOfRange,
    TooConcentrated,
    TooDilute,
)
from compounding.reckoning.request import Method, Vehicle
from compounding.reckoning.strengths import base_of, base_of_strength
from compounding.reckoning.working import short, short_percent
from compounding.reckoning.worksheet import Line

_HUNDRED = Decimal(100)
_NONE = Decimal(0)


@dataclass(frozen=True)
class Admixture:
    """What ends up in one unit. `withdrawn` comes out first, `filled` goes in last; both may be nothing.

    `labelled` is the volume the label states, `true_volume` counts the overfill. Unrounded, in mL.
    """

    method: Method
    withdrawn: Quantity
    filled: Quantity
    labelled: Quantity
    true_volume: Quantity
    lines: tuple[Line, ...]


def method_for(method: Method | str, additive: Quantity, vehicle: Vehicle, over_percent: Decimal) -> Method:
    """Return the method meant: `policy` becomes add only, or withdraw equal above the policy's percent."""
    chosen = Method(method)
    if chosen is not Method.POLICY:
        return chosen
    share = number_in(additive, "mL") / number_in(vehicle.volume, "mL") * _HUNDRED
    return Method.WITHDRAW_EQUAL if share > over_percent else Method.ADD_ONLY


def into_bag(additive: Quantity, vehicle: Vehicle, method: Method | str, over_percent: Decimal) -> Admixture:
    """Return what ends up in a bag of diluent.

    Raises DoesNotFit (above the bag's capacity), NothingToWithdraw, OutOfRange (filling a bag that is full).
    """
    chosen = method_for(method, additive, vehicle, over_percent)
    if chosen is Method.FILL_TO_VOLUME:
        raise OutOfRange(
            what="The method for a bag of diluent",
            given="fill to volume",
            range="another method, or an empty bag",
        )
    added, bag = number_in(additive, "mL"), number_in(vehicle.volume, "mL")
    overfill = number_in(vehicle.overfill, "mL")
    out = _withdrawn(chosen, added, overfill)
    if out > bag + overfill:
        raise NothingToWithdraw(volume=short(of(out, "mL")), present=write(of(bag + overfill, "mL")))
    labelled = bag if out else bag + added
    true_volume = of(bag + overfill - out + added, "mL")
    _check_capacity(true_volume, "bag", vehicle.capacity)
    return Admixture(
        method=chosen,
        withdrawn=of(out, "mL"),
        filled=of(0, "mL"),
        labelled=of(labelled, "mL"),
        true_volume=true_volume,
        lines=(
            _share_line(added / bag * _HUNDRED, chosen, method, over_percent),
            *_bag_lines(chosen, additive, vehicle, of(out, "mL"), true_volume),
        ),
    )


def to_volume(additive: Quantity, final_volume: Quantity | None, capacity: Quantity | None) -> Admixture:
    """Return what ends up in an empty bag or syringe: the drug alone, or the drug filled up to a volume.

    Raises DoesNotFit when drug or total does not fit. Without a final volume nothing is filled.
    """
    added = number_in(additive, "mL")
    total = added if final_volume is None else number_in(final_volume, "mL")
    if added > total:
        raise DoesNotFit(volume=short(additive), container="final volume", capacity=write(of(total, "mL")))
    if capacity is not None:
        _check_capacity(of(total, "mL"), "container", capacity)
    filled = total - added
    lines: tuple[Line, ...] = ()
    if filled:
        text = f"{write(of(total, 'mL'))} − {short(additive)} = {short(of(filled, 'mL'))}"
        lines = (Line("diluent to fill with", text),)
    return Admixture(
        method=Method.FILL_TO_VOLUME if filled else Method.ADD_ONLY,
        withdrawn=of(0, "mL"),
        filled=of(filled, "mL"),
        labelled=of(total, "mL"),
        true_volume=of(total, "mL"),
        lines=lines,
    )


def concentration(content: Quantity, volume: Quantity) -> Quantity:
    """Return content ÷ volume, per mL, unrounded."""
    base = base_of(content)
    return of(number_in(content, base) / number_in(volume, "mL"), f"{base}/mL")


def check_concentration(
    substance: str, found: Quantity, on: str, limits: tuple[Quantity | None, Quantity | None]
) -> None:
    """Refuse a concentration outside (least, most); `on` says on which volume. Raises TooDilute,
    TooConcentrated.
    """
    least, most = limits
    unit = f"{base_of_strength(found)}/mL"
    amount = number_in(found, unit)
    if most is not None and amount > number_in(most, unit):
        raise TooConcentrated(substance=substance, concentration=short(found), on=on, limit=write(most))
    if least is not None and amount < number_in(least, unit):
        raise TooDilute(substance=substance, concentration=short(found), on=on, limit=write(least))


def _withdrawn(method: Method, added: Decimal, overfill: Decimal) -> Decimal:
    """Return what comes out of the bag first."""
    if method is Method.WITHDRAW_EQUAL:
        return added
    if method is Method.WITHDRAW_ADDITIVE_AND_OVERFILL:
        return added + overfill
    return _NONE


def _check_capacity(volume: Quantity, container: str, capacity: Quantity) -> None:
    if number_in(volume, "mL") > number_in(capacity, "mL"):
        raise DoesNotFit(volume=short(volume), container=container, capacity=write(capacity))


def _share_line(share: Decimal, chosen: Method, asked: Method | str, over_percent: Decimal) -> Line:
    """Return the working of which method is used and why."""
    percent = f"additive is {short_percent(share)} % of the labelled volume"
    if Method(asked) is not Method.POLICY:
        return Line("method", f"{percent}; {chosen} (order)")
    compare = "above" if chosen is Method.WITHDRAW_EQUAL else "not above"
    return Line("method", f"{percent}, {compare} {short_percent(over_percent)} %: {chosen} (policy)")


def _bag_lines(
    method: Method, additive: Quantity, vehicle: Vehicle, out: Quantity, true_volume: Quantity
) -> tuple[Line, ...]:
    """Return the working of the volumes in the bag."""
    bag, added, over = write(vehicle.volume), short(additive), write(vehicle.overfill)
    true = short(true_volume)
    if method is Method.ADD_ONLY:
        total = short(vehicle.volume + additive)
        return (
            Line("labelled volume", f"{bag} + {added} = {total}"),
            Line("true volume", f"{bag} + {over} overfill + {added} = {true}"),
        )
    if method is Method.WITHDRAW_EQUAL:
        return (
            Line("withdraw first", f"{short(out)} = the additive"),
            Line("labelled volume", f"{bag} − {short(out)} + {added} = {bag}"),
            Line("true volume", f"{bag} + {over} overfill − {short(out)} + {added} = {true}"),
        )
    return (
        Line("withdraw first", f"{added} + {over} overfill = {short(out)}"),
        Line("true volume", f"{bag} + {over} overfill − {short(out)} + {added} = {true}"),
    )
