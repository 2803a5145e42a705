"""What is usual: a dose as it is ordered, and a concentration, beside the formulation's usual range.

Outside of it a pharmacist gives a reason. No concentration that was found is told, only the limit: from the
dose and the concentration a checker could work out the volume that is to be drawn.
"""

from __future__ import annotations

from collections.abc import Iterator

from compounding.reckoning.admixing import Admixture, concentration
from compounding.reckoning.mixture import ReckonedIngredient
from compounding.reckoning.quantities import Quantity, code_of, number_in, write
from compounding.reckoning.worksheet import Caution


def unusual(one: ReckonedIngredient, mixed: Admixture) -> Iterator[Caution]:
    """Yield a caution for each usual limit that an ingredient passes; a limit itself is usual.

    Raises NotConvertible for a limit in another kind of unit.
    """
    ordered = one.ordered
    dose = {f"{write(ordered.dose)} of {ordered.written}": ordered.dose}
    found = {
        f"{ordered.written} on the {on} volume": concentration(one.content, volume)
        for on, volume in (("labelled", mixed.labelled), ("true", mixed.true_volume))
    }
    judged = (
        ("dose-above-usual", _above(dose, ordered.usual_most), "is more than the usual"),
        ("dose-below-usual", _below(dose, ordered.usual_least), "is less than the usual"),
        (
            "concentration-above-usual",
            _above(found, ordered.usual_most_concentration),
            "is more concentrated than the usual",
        ),
        (
            "concentration-below-usual",
            _below(found, ordered.usual_least_concentration),
            "is more dilute than the usual",
        ),
    )
    for code, (what, limit), said in judged:
        if what:
            yield Caution(f"{code}-{one.number}", f"{what} {said} {limit}.")


def _above(amounts: dict[str, Quantity], limit: Quantity | None) -> tuple[str, str]:
    """Return the first of the amounts that is above the limit, by its words, and the limit as written."""
    if limit is None:
        return "", ""
    unit = code_of(limit)
    most = number_in(limit, unit)
    return next((what for what, one in amounts.items() if number_in(one, unit) > most), ""), write(limit)


def _below(amounts: dict[str, Quantity], limit: Quantity | None) -> tuple[str, str]:
    """Return the first of the amounts that is below the limit, by its words, and the limit as written."""
    if limit is None:
        return "", ""
    unit = code_of(limit)
    least = number_in(limit, unit)
    return next((what for what, one in amounts.items() if number_in(one, unit) < least), ""), write(limit)
