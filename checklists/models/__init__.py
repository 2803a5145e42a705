"""Tables and their constraints, no behaviour. Only `checklists.run` writes what the record holds."""

from checklists.models.amounts import Disclosure, Reading, Recalculation, Sighting
from checklists.models.closings import Closing
from checklists.models.entries import Entry
from checklists.models.holds import Hold
from checklists.models.identities import FirstCode, FormerBadge, FormerPin, PinTries, SecurityEvent
from checklists.models.mishaps import Mishap, Serving, Waste
from checklists.models.people import Hood, Person
from checklists.models.preparations import Label, Material, Preparation, Step

__all__ = [
    "Closing",
    "Disclosure",
    "Entry",
    "FirstCode",
    "FormerBadge",
    "FormerPin",
    "Hold",
    "Hood",
    "Label",
    "Material",
    "Mishap",
    "Person",
    "PinTries",
    "Preparation",
    "Reading",
    "Recalculation",
    "SecurityEvent",
    "Serving",
    "Sighting",
    "Step",
    "Waste",
]
