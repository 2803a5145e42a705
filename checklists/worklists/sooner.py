"""Why a step that must last ends sooner: the trade's own reasons, to be chosen with hands in the hood.

Common practice, no source. Another one is typed.
"""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

IT_LASTED = _("It has lasted long enough already")
CANNOT_WAIT = _("An emergency: it cannot wait")

#: What may have been seen before the time was over, by the kind of step.
SEEN = {
    "dissolve": _("All dissolved: clear, no particles"),
    "wash_hands": _("Washed with an agent that is quicker"),
    "deactivate": _("The agent's label asks for less"),
    "decontaminate": _("The agent's label asks for less"),
    "clean_surface": _("The agent's label asks for less"),
    "site_step": _("What it waits for has happened"),
}
DRY = _("Dry already, as far as can be seen")


def sooner(kind: str) -> tuple[str, ...]:
    """Return the reasons that are offered at a step of that kind, the likeliest first."""
    return tuple(str(one) for one in (SEEN.get(kind, DRY), IT_LASTED, CANNOT_WAIT))
