"""What opening comes to: each preparation with containers of its own, beside a plan that lets them share.

A comparison of one size. The naive way is how work goes without a plan: nothing that stands open is taken up,
and what is left of every container is thrown away.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.quantities import Quantity, number_in, of
from compounding.reckoning.strengths import base_of
from compounding.reckoning.vial_stock import Need, OpenContainer, Provision, Size


@dataclass(frozen=True)
class Account:
    """Containers newly opened and what they held; of that and what stood open, what is wasted and kept.

    `price` is of the containers opened, `wasted_price` of what is thrown away.
    """

    containers: int
    opened: Quantity
    price: Decimal
    wasted: Quantity
    wasted_price: Decimal
    kept: Quantity


def each_its_own(needs: Sequence[Need], size: Size) -> Account:
    """Return the account of one new container for every need, its rest thrown away.

    A need is what comes from one container, so it is never more than one holds.
    """
    base = base_of(size.content)
    opened = len(needs) * number_in(size.content, base)
    wasted = opened - _sum((need.content for need in needs), base)
    return Account(
        containers=len(needs),
        opened=of(opened, base),
        price=len(needs) * size.price,
        wasted=of(wasted, base),
        wasted_price=wasted * size.price / number_in(size.content, base),
        kept=of(0, base),
    )


def as_planned(plan: Provision, size: Size, standing: Sequence[OpenContainer] = ()) -> Account:
    """Return the account of a plan; what it keeps in use is what is neither drawn nor wasted."""
    base = base_of(size.content)
    opened = len(plan.openings) * number_in(size.content, base)
    wasted = _sum((one.content for one in plan.wasted), base)
    taken = _sum((one.content for one in plan.takings), base)
    touched = {taking.container for taking in plan.takings} | {rest.container for rest in plan.wasted}
    stood = _sum((one.left for one in standing if one.name in touched), base)
    return Account(
        containers=len(plan.openings),
        opened=of(opened, base),
        price=len(plan.openings) * size.price,
        wasted=of(wasted, base),
        wasted_price=plan.cost,
        kept=of(stood + opened - taken - wasted, base),
    )


def _sum(amounts: Iterable[Quantity], base: str) -> Decimal:
    return sum((number_in(one, base) for one in amounts), Decimal(0))
