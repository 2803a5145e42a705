"""A counted step on its screen: the unit that is being done, and the numbered places filling up."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _

from checklists.counting import items_left, rejected_draws, rejected_units, unread_items
from checklists.method.batch import Item, is_batch, items_of, shown_items
from checklists.models import Step
from checklists.worklists.screens import PlaceView, UnitsView
from compounding.reckoning.worksheet import FinalContainer, Worksheet


def item_now(step: Step, worksheet: Worksheet) -> Item:
    """Return what is counted next; the last, when all is done."""
    left = items_left(step, worksheet)
    return left[0] if left else items_of(step.about, worksheet)[-1]


def units_view(step: Step, worksheet: Worksheet) -> UnitsView:
    """Return a counted step as its screen shows it."""
    left = [item.number for item in items_left(step, worksheet)]
    here = {item.number: item for item in items_of(step.about, worksheet)}
    gone = rejected_units(step.preparation)
    of = int(step.about["of"])
    lost = {
        number for number in range(1, of + 1) if (here[number].unit if number in here else number) in gone
    }
    return UnitsView(
        number=item_now(step, worksheet).number,
        of=of,
        done=len(here) - len(left) - len(lost & set(here)),
        is_syringe=_is_of_syringes(step.kind, worksheet),
        places=places(of, now=left[:1], left=left[1:], lost=lost),
    )


def _is_of_syringes(kind: str, worksheet: Worksheet) -> bool:
    if kind == "gather_each":
        return False
    return kind != "label_units" or worksheet.final_container is FinalContainer.SYRINGE


def reading_view(step: Step, worksheet: Worksheet) -> UnitsView | None:
    """Return how far a checker has come with the syringes shown; None where there is only one."""
    items = shown_items(step.about["draws"], worksheet)
    if len(items) < 2:
        return None
    left = [item.number for item in unread_items(step, worksheet)]
    gone = rejected_draws(step.preparation, worksheet)
    lost = [item.number for item in items if item.draw in gone]
    here = {item.number for item in items}
    every = places(max(here), now=left[:1], left=left[1:], lost=lost)
    return UnitsView(
        number=left[0] if left else max(here),
        of=max(here) if is_batch(worksheet) else len(items),
        done=len(items) - len(left) - len(lost),
        is_syringe=True,
        places=tuple(place for place in every if place.number in here),
    )


def places(of: int, *, now: Iterable[int], left: Iterable[int], lost: Iterable[int]) -> tuple[PlaceView, ...]:
    """Return every numbered place with what is to be said of it."""
    states = dict.fromkeys(left, "left") | dict.fromkeys(now, "now") | dict.fromkeys(lost, "lost")
    words = {
        "done": _("done"),
        "now": _("now"),
        "left": _("not yet"),
        "lost": _("rejected"),
    }
    return tuple(
        PlaceView(number, states.get(number, "done"), words[states.get(number, "done")])
        for number in range(1, of + 1)
    )
