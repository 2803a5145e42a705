"""A shift's orders by the product that they are drawn from: what provisioning is told of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from compounding.formulary import in_use, worksheets
from compounding.formulary.models import Order, Product
from compounding.formulary.models.products import LotState
from compounding.formulary.stock import strength
from compounding.reckoning import quantities, strengths
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import Quantity, number_in, of
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.vial_stock import Need, Size, StockLot
from compounding.reckoning.worksheet import Worksheet

#: The price of a product that has none: what is wasted is then least by volume.
UNPRICED = Decimal(1)


@dataclass(frozen=True)
class Group:
    """The orders that are drawn from one product. A need is what one container gives; its name is the order.

    `lots` are as many as could be needed, the program does not count what is on the shelf.
    """

    product: Product
    strength: Quantity
    size: Size
    lots: tuple[StockLot, ...]
    needs: tuple[Need, ...]

    @property
    def base(self) -> str:
        """Return the unit that contents are reckoned in."""
        return strengths.base_of(self.size.content)

    def volume(self, content: Quantity) -> Quantity:
        """Return the volume, as drawn, that holds a content."""
        return of(number_in(content, self.base) / number_in(self.strength, f"{self.base}/mL"), "mL")

    def content(self, volume: Decimal) -> Quantity:
        """Return what a volume in mL, as drawn, holds."""
        return strengths.content_of(of(volume, "mL"), self.strength, self.base).amount


@dataclass(frozen=True)
class LeftOut:
    """An order that no worksheet can be made for, and why."""

    order: Order
    why: str


@dataclass(frozen=True)
class Shift:
    """All groups by the product's name, and what is left out."""

    groups: tuple[Group, ...]
    left_out: tuple[LeftOut, ...]


def shift_of(orders: Iterable[Order], at: datetime, policy: Policy) -> Shift:
    """Return the orders' needs by product, as the worksheet of each would have them now.

    Each is drawn at its due time, or now where that has passed.
    """
    asked: dict[str, list[tuple[Order, Quantity]]] = defaultdict(list)
    left_out = []
    for order in orders:
        try:
            worksheet = worksheets.for_order(order, at, policy)
        except Refusal as refusal:
            left_out.append(LeftOut(order, refusal.sentence))
            continue
        for gtin, volume in _portions(worksheet):
            asked[gtin].append((order, volume))
    products = Product.objects.filter(gtin__in=asked).select_related("substance").order_by("name", "gtin")
    groups = tuple(_group(product, asked[product.gtin], at, policy) for product in products)
    return Shift(groups, tuple(left_out))


def _portions(worksheet: Worksheet) -> Iterator[tuple[str, Quantity]]:
    """Yield for each container of a drug its product, and how much the whole worksheet draws from it."""
    for container in worksheet.containers:
        if container.role == "drug":
            drawn = [
                number_in(portion.volume, "mL")
                for draw in worksheet.draws
                for portion in draw.sources
                if portion.container == container.key
            ]
            yield container.product, of(sum(drawn, Decimal(0)), "mL")


def _group(product: Product, asked: list[tuple[Order, Quantity]], at: datetime, policy: Policy) -> Group:
    drawn_at = strength(product)
    base = strengths.base_of(quantities.read(product.content))
    needs = tuple(
        Need(
            name=order.number,
            patient=order.patient_identifier or order.patient_name,
            at=max(at, order.due_at),
            content=strengths.content_of(volume, drawn_at, base).amount,
        )
        for order, volume in asked
    )
    size = Size(
        code=product.gtin,
        content=strengths.content_of(quantities.read(product.withdrawable), drawn_at, base).amount,
        price=product.price or UNPRICED,
        sharing=in_use.sharing_of(product, policy),
        in_use=in_use.lasts(product, policy),
        is_kept=product.is_multi_dose,
    )
    usable = product.lots.filter(state=LotState.AVAILABLE)
    lots = (StockLot(product.gtin, lot.number, lot.expires_at, len(needs)) for lot in usable)
    return Group(product, drawn_at, size, tuple(lot for lot in lots if lot.ends_at > at), needs)
