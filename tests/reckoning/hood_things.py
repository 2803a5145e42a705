"""Two decks and the usual things that stand on them, for the tests of airflow; all in cm."""

from decimal import Decimal

from compounding.reckoning.airflow import Deck, Item, Placed

HORIZONTAL = Deck(Decimal(120), Decimal(60), "horizontal")
VERTICAL = Deck(Decimal(120), Decimal(60), "vertical")
TOP = (Decimal(0), Decimal(0))


def vial(number: int, width: str = "3") -> Item:
    return Item(f"vial {number}", f"Vial {number}", "disc", Decimal(width), Decimal(width), TOP)


def bag() -> Item:
    return Item("bag", "Bag", "box", Decimal(12), Decimal(18), (Decimal(0), Decimal(9)), stays=True)


def waste() -> Item:
    return Item("waste", "Waste", "box", Decimal(15), Decimal(15), is_waste=True)


def wipes() -> Item:
    return Item("wipes", "Wipes", "box", Decimal(10), Decimal(10))


def put(item: Item, x: str, y: str) -> Placed:
    return Placed(item, Decimal(x), Decimal(y))
