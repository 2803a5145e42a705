"""What is said to a device that did steps without network and sends them."""

from __future__ import annotations

from compounding.reckoning.refusals import Refusal


class DoneWithoutNetwork(Refusal):
    """A step done without network that cannot stand as it was done."""


class NotADeviceTime(DoneWithoutNetwork):
    """A device that does not say when it did a step, or says what cannot be."""

    wording = "This device does not say when the step was done. Set its clock, and do the step again."


class NotGoingOnAlone(DoneWithoutNetwork):
    """A step that waits for the network, sent as if it had been done without."""

    wording = "This step is not done without network: it waits until the program can answer. Do it again."


class DoneWhileLapsed(DoneWithoutNetwork):
    """A step done when gloves, surface or hands had to be seen to first."""

    wording = (
        "It was done without network after the time of gloves or surface had run out. A pharmacist decides "
        "whether what was made can be used."
    )
