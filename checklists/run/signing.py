"""Signing: the PIN again, at the very act it signs; what each signature means, shown and kept in words."""

from __future__ import annotations

from checklists.refusals import WrongPin
from checklists.run.pins import TriedPin

#: What a signature means: shown where it is asked for, and kept with it.
RELEASES = "I have checked this preparation and release it for this order."
RESOLVES = "I have seen why the work stopped, and decide how it goes on."
WITNESSES = "I have seen the amounts stated here destroyed."
ENTERS_PAPER = "I have compared what is entered here with the paper; it says the same."
AMENDS = "I set right what an entry of this record says; the entry itself stays as it is."


def refuse_wrong_pin(pin: TriedPin) -> None:
    """Refuse unless the PIN typed under the signature is the person's own."""
    if not pin.is_right:
        raise WrongPin()
