"""The arrangement in this very hood, as a picture and in words."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from checklists.dissolved import done_elsewhere, without_use
from checklists.method.arrangement import rounds_of
from checklists.method.pictures import hood_picture
from checklists.models import Preparation
from compounding.reckoning.airflow import Deck, NoRoomInHood
from compounding.reckoning.worksheet import Worksheet


def arrangement(preparation: Preparation, worksheet: Worksheet) -> dict[str, Any]:
    """Return the picture of the first introduction, and what comes in after it when not all fits at once."""
    hood = preparation.hood
    if hood is None:
        return {}
    deck = Deck(
        Decimal(hood.deck_width_cm),
        Decimal(hood.deck_depth_cm),
        "vertical" if hood.airflow == "vertical" else "horizontal",
    )
    try:
        first, *later = rounds_of(
            worksheet,
            deck,
            without_use(preparation, worksheet),
            done_elsewhere(preparation, worksheet),
        )
    except NoRoomInHood as refusal:
        return {"lines": (refusal.sentence,)}
    here = {one.item.key for one in first.placed}
    return {
        "hood": hood_picture(deck, first.placed),
        "lines": tuple(
            ", ".join(one.item.label for one in turn.placed if one.item.key not in here) for turn in later
        ),
    }
