"""What the steps of a batch show beside their frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from checklists.counting import one_of
from checklists.method.batch import is_batch
from checklists.method.pictures import picture_of
from checklists.worklists.batches import batch_view
from checklists.worklists.units import item_now, reading_view, units_view

if TYPE_CHECKING:
    from checklists.worklists.step_details import Case

Detail = Callable[["Case"], dict[str, Any]]


def of_one(detail: Detail) -> Detail:
    """Return what a counted step shows: the detail of the unit that is being done, and every place."""

    def shown(case: Case) -> dict[str, Any]:
        one = replace(case, step=one_of(case.step, item_now(case.step, case.worksheet)))
        return {**detail(one), "units": units_view(case.step, case.worksheet)}

    return shown


def of_one_draw(detail: Detail) -> Detail:
    """Return what drawing a batch shows: the draw of the syringe that is being filled, and every place."""

    def shown(case: Case) -> dict[str, Any]:
        details = of_one(detail)(case)
        item = item_now(case.step, case.worksheet)
        has_filter = "yes" if case.step.about["has_filter_needle"] else ""
        return {
            **details,
            "draw": replace(details["draw"], place=""),
            "picture": picture_of("draw", {"draw": item.draw}, case.worksheet),
            "about": {"has_filter_needle": has_filter},
        }

    return shown


def of_one_addition(detail: Detail) -> Detail:
    """Return what adding to each bag shows: the syringe and the bag whose turn it is, and every place."""

    def shown(case: Case) -> dict[str, Any]:
        item = item_now(case.step, case.worksheet)
        details = of_one(detail)(case)
        return {
            **details,
            "about": {**details["about"], "syringe": str(item.number)},
            "picture": picture_of("add", {"draw": item.draw}, case.worksheet),
        }

    return shown


def being_read(case: Case) -> dict[str, Any]:
    """Return how far a checker has come with a batch; nothing of a single unit."""
    view = reading_view(case.step, case.worksheet)
    return {"units": view} if view and is_batch(case.worksheet) else {}


def reconciling(case: Case) -> dict[str, Any]:
    """Return the batch as it is known before it is counted."""
    return {
        "batch": batch_view(case.preparation, case.worksheet),
        "about": {"final": case.worksheet.final_container.value},
    }
