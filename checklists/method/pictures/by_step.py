"""Which picture a step shows, made from its own numbers: a table of small functions, one a kind."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from checklists.method.contents import content, most_held
from checklists.method.pictures.transfers import (
    Addition,
    IntoPicture,
    PlacesPicture,
    ProductPicture,
    SourcePicture,
    StepPicture,
    places_picture,
)
from checklists.method.pictures.vessels import AMPOULE, BAG, ROOM, VIAL_DOWN, VIAL_UP, Level, Vessel, level
from compounding.reckoning.quantities import number_in, write
from compounding.reckoning.worksheet import ContainerKind, Draw, FinalContainer, Purpose, Worksheet

About = Mapping[str, Any]

#: What a container is called in a picture, and how it stands while one draws from it. A prefilled syringe has
#: none: how it is joined is a step of its own.
KINDS = {
    ContainerKind.SOLUTION_VIAL: ("vial", VIAL_DOWN),
    ContainerKind.POWDER_VIAL: ("vial", VIAL_DOWN),
    ContainerKind.AMPOULE: ("ampoule", AMPOULE),
    ContainerKind.BAG: ("bag", BAG),
}


def picture_of(kind: str, about: About, worksheet: Worksheet) -> StepPicture | None:
    """Return the picture for a step of this kind, None where its drawing has no numbers.

    Never one for a step that is in a checker's sight: there no picture may give an amount.
    """
    return PICTURES[kind](worksheet, about) if kind in PICTURES else None


def _source(worksheet: Worksheet, about: About) -> StepPicture | None:
    draw = worksheet.draw(int(about["draw"]))
    first = draw.sources[0]
    container = worksheet.container(first.container)
    if container.kind not in KINDS:
        return None
    kind, vessel = KINDS[container.kind]
    alike = tuple(one.container for one in draw.sources if one.volume == first.volume)
    has_air = bool(number_in(draw.air, "mL")) and kind == "vial"
    return SourcePicture(
        kind=kind,
        names=alike,
        amount=write(first.volume),
        air=write(draw.air_into(first), 1) if has_air else "",
        level=_level(worksheet, first.container, vessel, kind, (draw.number - 1, draw.number)),
        is_closed=worksheet.hazardous and kind == "vial",
    )


def _level(worksheet: Worksheet, key: str, vessel: Vessel, kind: str, draws: tuple[int, int]) -> Level:
    """The surface before and after, when draws up to the first and the second number were done."""
    before, after = (number_in(content(worksheet, key, number, number), "mL") for number in draws)
    return level(vessel, before, after, number_in(most_held(worksheet, key), "mL") * ROOM[kind])


def _into(worksheet: Worksheet, about: About) -> StepPicture | None:
    draw = worksheet.draw(int(about["draw"]))
    is_bag = draw.destination.startswith("bag")
    kind, vessel = ("bag", BAG) if is_bag else ("vial", VIAL_UP)
    return IntoPicture(
        kind=kind,
        name=draw.destination,
        amount=write(draw.target),
        level=_level(worksheet, draw.destination, vessel, kind, (draw.number - 1, draw.number)),
    )


def _dissolved(worksheet: Worksheet, about: About) -> StepPicture | None:
    """The first of the vials: its diluent is in it, nothing has been drawn from it."""
    key = str(about["containers"][0])
    draws = [draw for draw in worksheet.draws if draw.destination == key]
    if not draws:
        return None
    change = _level(worksheet, key, VIAL_UP, "vial", (0, draws[-1].number))
    return IntoPicture("vial", key, write(draws[-1].target), Level(change.after, change.after))


def _product(worksheet: Worksheet, about: About) -> StepPicture | None:
    """What is in one unit: after this transfer where the step is about one, else after all."""
    last = _last_draw(worksheet, about)
    unit = int(about.get("unit", 1))
    is_syringe = worksheet.final_container is FinalContainer.SYRINGE
    drawn = [draw for draw in worksheet.draws if draw.number <= last and _goes_in(worksheet, draw, unit)]
    key = drawn[0].destination if drawn else "bag"
    volume = content(worksheet, key, last, last)
    return ProductPicture(
        kind="syringe" if is_syringe else "bag",
        volume=write(volume, 2),
        level=_level(worksheet, key, BAG, "bag", (0, last)),
        additions=tuple(
            Addition(write(draw.target), worksheet.transfer_of(draw.number).of_what) for draw in drawn
        ),
    )


def _last_draw(worksheet: Worksheet, about: About) -> int:
    until = int(about.get("transfer", len(worksheet.transfers)))
    return max(draw.number for one in worksheet.transfers if one.number <= until for draw in one.draws)


def _goes_in(worksheet: Worksheet, draw: Draw, unit: int) -> bool:
    purpose = worksheet.transfer_of(draw.number).purpose
    is_whole = purpose in (Purpose.DRUG, Purpose.FILL)
    return is_whole and (worksheet.units == 1 or draw.turn == unit)


def _places(worksheet: Worksheet, about: About) -> PlacesPicture | None:
    return places_picture(int(about["draw"]), len(worksheet.draws))


def _final_places(worksheet: Worksheet, about: About) -> PlacesPicture | None:
    return places_picture(int(about["unit"]), worksheet.units) if "unit" in about else None


PICTURES: dict[str, Callable[[Worksheet, About], StepPicture | None]] = {
    "draw": _source,
    "add_diluent_to_vial": _into,
    "add": _into,
    "dissolve": _dissolved,
    "mix": _product,
    "apply_label": _product,
    "cover_from_light": _product,
    "cap_syringe": _places,
    "cap_final": _final_places,
}
