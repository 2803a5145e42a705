"""The second arithmetic: from the draws up, what physically enters the container, in exact fractions.

It starts from stored text, uses nothing of the first arithmetic (a contract of the house) and pours draw
after draw: out of containers that hold so much and no more, into vials that become solutions, into the unit.
What is then in the unit must be what the order says, within the rounding that the draws state. Raises
NotProved.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from compounding.reckoning.plain_amounts import in_ml, plain_number, told
from compounding.reckoning.proof_marks import Rules, check_draw, rules_of
from compounding.reckoning.proof_order import Plan, check_ingredients, plan_of
from compounding.reckoning.refusals import NotProved

Lines = tuple[tuple[str, str], ...]
_HALF_HUNDREDTH = Fraction(1, 200)


@dataclass
class _Pots:
    """What every container holds, in mL, as the draws are poured; `strengths` per mL of what is in a
    drug's.
    """

    held: dict[str, Fraction]
    drug: dict[str, int]
    dry: dict[str, Fraction]
    added: defaultdict[tuple[str, int], Fraction] = field(default_factory=lambda: defaultdict(Fraction))
    in_out: defaultdict[tuple[str, str], Fraction] = field(default_factory=lambda: defaultdict(Fraction))
    slack: defaultdict[str, Fraction] = field(default_factory=lambda: defaultdict(Fraction))


def prove(worksheet: dict[str, Any], request: dict[str, Any]) -> Lines:
    """Return the lines (about, text) of the second arithmetic. Both arguments are plain data. Raises
    NotProved.
    """
    plan = plan_of(request)
    check_ingredients(worksheet, request, plan)
    rules = rules_of(request["policy"], any(one["hazardous"] for one in request["ingredients"]))
    _check_transfers(worksheet, plan, rules)
    pots = _set_out(worksheet, plan)
    for transfer in worksheet["transfers"]:
        for draw in transfer["draws"]:
            check_draw(draw, rules)
            _check_air(draw, transfer, request)
            _pour(pots, transfer, draw, plan, rules.step(draw))
    _check_dissolved(pots, plan, rules)
    units = _units(worksheet, request)
    lines = [line for unit in units for line in _prove_unit(pots, unit, worksheet, request, plan)]
    _check_date(worksheet)
    return tuple(dict.fromkeys(lines))


def _check_transfers(worksheet: dict[str, Any], plan: Plan, rules: Rules) -> None:
    """Check that each transfer the order needs is there once, alike each time, and adds up."""
    expected: dict[tuple[str, int | None], Fraction] = {}
    for at, one in enumerate(plan.wanted, 1):
        expected["drug", at] = one.volume
        if one.diluent is not None:
            expected["reconstitute", at] = one.diluent
    if plan.withdrawn:
        expected["withdraw", None] = plan.withdrawn
    if plan.filled:
        expected["fill", None] = plan.filled
    found = [(one["purpose"], one["ingredient"]) for one in worksheet["transfers"]]
    if len(found) != len(expected) or set(found) != set(expected):
        raise NotProved(
            what="the transfers", found=_named(expected, plan), expected=_named(found, plan) or "none"
        )
    for transfer in worksheet["transfers"]:
        _check_transfer(transfer, expected[transfer["purpose"], transfer["ingredient"]], rules)


def _named(transfers: Iterable[tuple[str, int | None]], plan: Plan) -> str:
    """Return transfers as a sentence names them: what is done, and with which drug."""
    names = {at: f" {one.substance}" for at, one in enumerate(plan.wanted, 1)}
    return ", ".join(f"{purpose}{names.get(at or 0, '')}" for purpose, at in transfers)


def _check_transfer(transfer: dict[str, Any], required: Fraction, rules: Rules) -> None:
    """Check that each turn of a transfer measures the required volume within the rounding limit."""
    name = f"transfer {transfer['number']} ({transfer['of_what']})"
    turns: defaultdict[int, Fraction] = defaultdict(Fraction)
    for draw in transfer["draws"]:
        turns[draw["turn"]] += in_ml(draw["target"])
    if set(turns) != set(range(1, transfer["times"] + 1)):
        raise NotProved(what=f"the turns of {name}", found=str(len(turns)), expected=str(transfer["times"]))
    limit = required * rules.rounding_limit
    for total in turns.values():
        if abs(total - required) > limit:
            raise NotProved(what=name, found=told(required, "volume"), expected=told(total, "volume"))


def _set_out(worksheet: dict[str, Any], plan: Plan) -> _Pots:
    """Return the containers as they stand before the work."""
    pots = _Pots(held={}, drug={}, dry={})
    for box in worksheet["containers"]:
        key, at = box["key"], box["ingredient"]
        if key in pots.held:
            raise NotProved(what="the containers", found=f"{key} twice", expected="each once")
        if box["role"] == "drug":
            one = plan.wanted[at - 1]
            pots.drug[key] = at
            pots.held[key] = Fraction(0) if one.diluent is not None else one.withdrawable
            if one.diluent is not None:
                pots.dry[key] = Fraction(0)
        elif box["role"] == "bag":
            pots.held[key] = plan.bag + plan.overfill
        else:
            pots.held[key] = in_ml(box["volume"])
    return pots


def _pour(pots: _Pots, transfer: dict[str, Any], draw: dict[str, Any], plan: Plan, step: Fraction) -> None:
    """Take a draw from its containers and put it where it goes."""
    purpose, into = transfer["purpose"], draw["destination"]
    for portion in draw["sources"]:
        key, volume = portion["container"], in_ml(portion["volume"])
        if volume > pots.held.get(key, Fraction(0)):
            raise NotProved(what=f"what {key} gives", found=told(pots.held.get(key, Fraction(0)), "volume"),
                            expected=portion["volume"])  # fmt: skip
        pots.held[key] -= volume
        if purpose == "drug":
            if pots.drug.get(key) != transfer["ingredient"]:
                raise NotProved(
                    what=f"draw {draw['number']}", found=f"{key} holds something else", expected=key
                )
            pots.added[into, transfer["ingredient"]] += volume
        elif key in pots.drug:
            raise NotProved(what=f"draw {draw['number']}", found="a drug", expected=transfer["of_what"])
        elif purpose == "withdraw":
            _withdraw(pots, key, into, volume)
            pots.slack[key] += step / 2
    target = in_ml(draw["target"])
    if purpose == "reconstitute":
        _dissolve(pots, transfer, into, target, plan)
    else:
        pots.in_out[into, purpose] += target
        pots.slack[into] += step / 2


def _check_air(draw: dict[str, Any], transfer: dict[str, Any], request: dict[str, Any]) -> None:
    """Check that no more air goes in than liquid comes out, and less where the drug is hazardous."""
    most = in_ml(draw["target"])
    if transfer["purpose"] == "drug" and request["ingredients"][transfer["ingredient"] - 1]["hazardous"]:
        most = most * Fraction(request["policy"]["hazardous_air_percent"]) / 100
    if in_ml(draw["air"]) > most:
        raise NotProved(
            what=f"the air of draw {draw['number']}", found=told(most, "volume"), expected=draw["air"]
        )


def _withdraw(pots: _Pots, bag: str, into: str, volume: Fraction) -> None:
    """Take diluent out of a bag: to waste, and before any drug is in it."""
    if into != "waste" or any(unit == bag for unit, _ in pots.added):
        raise NotProved(what=f"what is withdrawn from {bag}", found="drug would be lost", expected="diluent")
    pots.in_out[bag, "withdraw"] += volume


def _dissolve(pots: _Pots, transfer: dict[str, Any], vial: str, volume: Fraction, plan: Plan) -> None:
    """Put diluent into a powder vial; with the label's volume it becomes the label's solution."""
    at = transfer["ingredient"]
    if pots.drug.get(vial) != at or vial not in pots.dry:
        raise NotProved(what="reconstituting", found=f"{vial} is no such powder", expected=vial)
    pots.dry[vial] += volume
    pots.held[vial] = plan.wanted[at - 1].withdrawable


def _check_dissolved(pots: _Pots, plan: Plan, rules: Rules) -> None:
    """Check that every powder got its label's diluent, once."""
    limit = rules.rounding_limit
    for vial, volume in pots.dry.items():
        label = plan.wanted[pots.drug[vial] - 1].diluent or Fraction(0)
        if abs(volume - label) > label * limit:
            raise NotProved(
                what=f"the diluent in {vial}", found=told(volume, "volume"), expected=told(label, "volume")
            )


def _units(worksheet: dict[str, Any], request: dict[str, Any]) -> list[str]:
    """Return the units that were ordered, once it is sure that drug and filling went into these and no
    others.
    """
    count = request["units"]
    if request["final_container"] == "syringe":
        units = [f"syringe {number}" for number in range(1, count + 1)]
    else:
        units = [box["key"] for box in worksheet["containers"] if box["role"] == "bag"]
    into = {
        draw["destination"]
        for transfer in worksheet["transfers"]
        if transfer["purpose"] in ("drug", "fill")
        for draw in transfer["draws"]
    }
    if len(units) != count or worksheet["units"] != count or into != set(units):
        raise NotProved(what="the units", found=", ".join(sorted(into)), expected=", ".join(units))
    return units


def _prove_unit(
    pots: _Pots, unit: str, worksheet: dict[str, Any], request: dict[str, Any], plan: Plan
) -> list[tuple[str, str]]:
    """Return the lines of one unit: contents and volumes."""
    name = unit if worksheet["units"] == 1 else "each unit"
    limit = Fraction(request["policy"]["rounding_limit_percent"]) / 100
    lines = []
    for at, one in enumerate(plan.wanted, 1):
        volume = pots.added[unit, at]
        content = volume * one.strength
        off = abs(content - one.content)
        if off > one.content * limit or off > pots.slack[unit] * one.strength:
            raise NotProved(
                what=f"{one.substance} in {unit}",
                found=told(content, one.kind),
                expected=told(one.content, one.kind),
            )
        lines.append((
            f"{one.substance} in {name}",
            f"{told(volume, 'volume')} × {told(one.strength, one.kind)}/mL = {told(content, one.kind)}; "
            f"ordered {told(one.content, one.kind)}, {plain_number(off / one.content * 100, 2)} % off",
        ))  # fmt: skip
    return [*lines, _prove_volume(pots, unit, worksheet, request, plan)]


def _prove_volume(
    pots: _Pots, unit: str, worksheet: dict[str, Any], request: dict[str, Any], plan: Plan
) -> tuple[str, str]:
    """Return the line of one unit's true volume: what was in it, less what came out, and what went in."""
    out, drug, fill = (pots.in_out[unit, purpose] for purpose in ("withdraw", "drug", "fill"))
    true = plan.bag + plan.overfill - out + drug + fill
    slack = pots.slack[unit] + _HALF_HUNDREDTH
    stated, labelled = in_ml(worksheet["true_volume"]), in_ml(worksheet["final_volume"])
    if abs(true - stated) > slack:
        raise NotProved(
            what=f"the true volume of {unit}", found=told(true, "volume"), expected=told(stated, "volume")
        )
    if abs(plan.labelled - labelled) > _HALF_HUNDREDTH:
        raise NotProved(
            what=f"the volume of {unit}",
            found=told(plan.labelled, "volume"),
            expected=told(labelled, "volume"),
        )
    _check_capacity(unit, stated, request)
    start = told(plan.bag + plan.overfill, "volume")
    moved = f"{start} − {told(out, 'volume')} + {told(drug, 'volume')} + {told(fill, 'volume')}"
    name = unit if worksheet["units"] == 1 else "each unit"
    return f"true volume of {name}", f"{moved} = {told(true, 'volume')}"


def _check_capacity(unit: str, volume: Fraction, request: dict[str, Any]) -> None:
    """Check that what is in a unit fits it."""
    in_bag = request["final_container"] == "bag"
    capacity = request["vehicle"]["capacity"] if in_bag else request["empty_capacity"]
    if capacity and volume - _HALF_HUNDREDTH > in_ml(capacity):
        raise NotProved(what=f"the capacity of {unit}", found=capacity, expected=told(volume, "volume"))


def _check_date(worksheet: dict[str, Any]) -> None:
    """Check that the beyond-use date is the earliest of all limits, and that one binds."""
    ends = [limit["ends_at"] for limit in worksheet["limits"]]
    binding = [limit["ends_at"] for limit in worksheet["limits"] if limit["binding"]]
    if binding != [worksheet["beyond_use_at"]] or min(ends) != worksheet["beyond_use_at"]:
        raise NotProved(what="the beyond-use date", found=min(ends), expected=worksheet["beyond_use_at"])
