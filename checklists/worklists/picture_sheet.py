"""Forty pictures on one page, across sizes and cases: to be looked at by whoever changes how they are drawn.

The amounts are chosen, not a patient's: the least and the most of each syringe, half a mark, close marks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from checklists.method.pictures import hood_picture, moving_syringe, syringe_picture
from checklists.method.pictures.transfers import (
    Addition,
    IntoPicture,
    ProductPicture,
    SourcePicture,
    places_picture,
)
from checklists.method.pictures.vessels import AMPOULE, BAG, VIAL_DOWN, VIAL_UP, Level, Vessel, level
from compounding.reckoning.airflow import Deck, Flow, Item, place
from compounding.reckoning.airflow.deck import Side
from compounding.reckoning.quantities import of, write

# trade table: the local stock of syringes with the amounts at which each is looked at
SYRINGES = (
    ("1", "0.01", "0.07"),
    ("1", "0.01", "0.63"),
    ("1", "0.01", "1"),
    ("3", "0.1", "0.25"),
    ("3", "0.1", "2.9"),
    ("5", "0.2", "4.1"),
    ("10", "0.2", "0.2"),
    ("10", "0.2", "7.4"),
    ("20", "1", "16.5"),
    ("30", "1", "22"),
    ("60", "1", "2"),
    ("60", "1", "44.5"),
)
MOVING = (("1", "0.01"), ("20", "1"))

#: kind, names, drawn, air, held before, room in it: mL.
SOURCES = (
    ("vial", ("vial 1",), "10", "10", "20", "25"),
    ("vial", ("vial 1", "vial 2"), "11", "11", "20", "25"),
    ("vial", ("vial 3",), "2.4", "2.4", "2.5", "25"),
    ("vial", ("vial 1",), "8", "", "10", "12.5"),
    ("ampoule", ("ampoule 1",), "7", "", "10", "10.5"),
    ("ampoule", ("ampoule 1", "ampoule 2"), "2", "", "2", "2.1"),
    ("bag", ("bag",), "22", "", "250", "338"),
)
#: kind, name, what goes in, held before, room in it: mL.
INTO = (
    ("bag", "bag", "22", "228", "338"),
    ("bag", "bag", "0.5", "50", "68"),
    ("vial", "vial 1", "20", "0", "25"),
    ("vial", "diluted vial 1", "3.6", "0.4", "5"),
)
ADDITIONS = (
    Addition("22 mL", "vancomycin"),
    Addition("10 mL", "potassium chloride"),
    Addition("4 mL", "magnesium sulfate"),
    Addition("0.63 mL", "heparin"),
    Addition("0.07 mL", "ketorolac"),
)
#: picture, kind of container, how many things are in it.
PRODUCTS = (
    ("mix", "bag", 1),
    ("mix", "bag", 5),
    ("label", "bag", 2),
    ("label_syringe", "syringe", 1),
    ("cover", "bag", 3),
)
PLACES = ((1, 2), (5, 12), (12, 12))
#: airflow, where waste is, width and depth of the deck in cm, vials, syringes.
HOODS: tuple[tuple[Flow, Side, int, int, int, int], ...] = (
    ("horizontal", "right", 120, 60, 2, 1),
    ("horizontal", "left", 180, 75, 3, 3),
    ("horizontal", "right", 180, 75, 10, 2),
    ("vertical", "right", 120, 60, 2, 1),
    ("vertical", "left", 180, 75, 4, 3),
)
STILL = ("ampoule", "needle")


@dataclass(frozen=True)
class SheetPicture:
    """One picture of the sheet: its template, what it is given, and how large it stands on the tablet.

    `size`: `tall` (a syringe), `slim` (what comes before a draw), `square`, or `wide` (a hood).
    """

    title: str
    template: str
    size: str
    given: object = None
    source: str = ""


def sheet() -> tuple[SheetPicture, ...]:
    """Return the forty pictures, numbered by their order."""
    return (*_syringes(), *_sources(), *_into(), *_products(), *_places(), *_still(), *_hoods())


def _syringes() -> Iterator[SheetPicture]:
    for size, mark, target in SYRINGES:
        picture = syringe_picture(Decimal(size), Decimal(mark), Decimal(target))
        title = f"{target} mL in {size} mL"
        yield SheetPicture(title, "pictures/syringe.svg", "tall", picture, "vial 1")
    for size, mark in MOVING:
        moving = moving_syringe(Decimal(size), Decimal(mark))
        yield SheetPicture(f"{size} mL, to be moved", "pictures/syringe_moving.svg", "tall", moving)


def _sources() -> Iterator[SheetPicture]:
    vessels = {"vial": VIAL_DOWN, "ampoule": AMPOULE, "bag": BAG}
    for kind, names, drawn, air, before, room in SOURCES:
        change = _level(vessels[kind], before, -Decimal(drawn), room)
        given = SourcePicture(kind, names, _ml(drawn), _ml(air) if air else "", change)
        title = f"{drawn} mL out of {kind}, {before} mL in it"
        yield SheetPicture(title, "pictures/before_draw.svg", "slim", given)


def _into() -> Iterator[SheetPicture]:
    for kind, name, amount, before, room in INTO:
        change = _level(BAG if kind == "bag" else VIAL_UP, before, Decimal(amount), room)
        given = IntoPicture(kind, name, _ml(amount), change)
        template = "straight" if kind == "bag" else "diluent"
        yield SheetPicture(f"{amount} mL into {kind}", f"pictures/{template}.svg", "square", given)


def _products() -> Iterator[SheetPicture]:
    for picture, kind, count in PRODUCTS:
        change = _level(BAG, "250", Decimal(12 * count), "338")
        given = ProductPicture(kind, "", change, ADDITIONS[:count])
        yield SheetPicture(f"{picture}: {count} in it", f"pictures/{picture}.svg", "square", given)


def _places() -> Iterator[SheetPicture]:
    for now, count in PLACES:
        title = f"place {now} of {count}"
        yield SheetPicture(title, "pictures/capped.svg", "square", places_picture(now, count))


def _still() -> Iterator[SheetPicture]:
    for name in STILL:
        yield SheetPicture(name, f"pictures/{name}.svg", "square")


def _hoods() -> Iterator[SheetPicture]:
    for flow, side, width, depth, vials, syringes in HOODS:
        deck = Deck(Decimal(width), Decimal(depth), flow, side)
        first = place(_things(vials, syringes), deck)[0]
        title = f"{flow}, waste {side}, {vials} vials"
        yield SheetPicture(title, "pictures/hood.svg", "wide", hood_picture(deck, first.placed))


def _things(vials: int, syringes: int) -> tuple[Item, ...]:
    middle = Decimal(0)
    return (
        *(_vial(f"vial {number}", (middle, middle)) for number in range(1, vials + 1)),
        *(_syringe(f"syringe {number}") for number in range(1, syringes + 1)),
        Item("bag", "bag", "box", Decimal(9), Decimal(14), site=(middle, Decimal(7)), stays=True),
        Item("waste", "waste", "box", Decimal(14), Decimal(14), is_waste=True),
    )


def _vial(name: str, site: tuple[Decimal, Decimal]) -> Item:
    return Item(name, name, "disc", Decimal(4), Decimal(4), site=site)


def _syringe(name: str) -> Item:
    return Item(name, name, "box", Decimal(14), Decimal(4), site=(Decimal(-7), Decimal(0)))


def _level(vessel: Vessel, before: str, change: Decimal, room: str) -> Level:
    return level(vessel, Decimal(before), Decimal(before) + change, Decimal(room))


def _ml(number: str) -> str:
    return write(of(number, "mL"))
