"""What a step moves, as pictures: out of a vial, into a bag, into a powder; what then is in the product."""

from __future__ import annotations

from dataclasses import dataclass

from checklists.method.pictures.vessels import Level


@dataclass(frozen=True)
class SourcePicture:
    """A container one draws from. `kind`: vial, ampoule or bag; `air` is empty where none goes in first.

    `names` are all containers of the draw that give the same; the first is drawn. `is_closed`: a closed
    transfer device sits on it, and the syringe locks on instead of a needle going in.
    """

    kind: str
    names: tuple[str, ...]
    amount: str
    air: str
    level: Level
    is_closed: bool = False


@dataclass(frozen=True)
class IntoPicture:
    """A syringe's content going into a container: its surface rises."""

    kind: str
    name: str
    amount: str
    level: Level


@dataclass(frozen=True)
class Addition:
    """One thing that went in."""

    amount: str
    what: str


@dataclass(frozen=True)
class ProductPicture:
    """The final container with what went in. `kind`: bag or syringe; `volume` is what is in it now."""

    kind: str
    volume: str
    level: Level
    additions: tuple[Addition, ...]


@dataclass(frozen=True)
class Place:
    """One numbered place for a capped syringe."""

    number: int
    is_filled: bool
    is_now: bool
    x: int
    y: int


@dataclass(frozen=True)
class PlacesPicture:
    """Numbered places for filled syringes; those before this one are taken."""

    places: tuple[Place, ...]
    width: int
    height: int


StepPicture = SourcePicture | IntoPicture | ProductPicture | PlacesPicture

PLACE_WIDTH, PLACE_HEIGHT, IN_A_COLUMN = 460, 104, 6


def places_picture(now: int, count: int) -> PlacesPicture:
    """Return the places of `count` syringes, at most six shown beside each other's neighbours.

    More than six are shown as the six around the one that is laid down.
    """
    first = min(max(1, now - 3), max(1, count - IN_A_COLUMN + 1))
    shown = range(first, min(count, first + IN_A_COLUMN - 1) + 1)
    places = tuple(
        Place(number, number < now, number == now, 10, 10 + row * PLACE_HEIGHT)
        for row, number in enumerate(shown)
    )
    return PlacesPicture(places, PLACE_WIDTH + 20, len(places) * PLACE_HEIGHT + 16)
