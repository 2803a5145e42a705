"""Tables and their constraints, no behaviour. Only `checklists.run` writes what the record holds."""

from checklists.models.amounts import Disclosure, Reading, Recalculation, Sighting
from checklists.models.closings import Closing
from checklists.models.containers import OpenedContainer
from checklists.models.daybook import DayTally
from checklists.models.duties import Duty, DutyDone
from checklists.models.entries import Entry
from checklists.models.garbings import Garbing
from checklists.models.holds import Hold
from checklists.models.identities import FirstCode, FormerBadge, FormerPin, PinTries, SecurityEvent
from checklists.models.mishaps import Mishap, Serving, Waste
from checklists.models.people import Hood, Person
from checklists.models.photographs import Photograph, Unreadable
from checklists.models.plans import RunPlan
from checklists.models.preparations import Label, Material, Preparation, Step
from checklists.models.qualifications import Qualification, QualificationKind
from checklists.models.stamps import Rejection, Stamp

__all__ = [
    "Closing",
    "DayTally",
    "Disclosure",
    "Duty",
    "DutyDone",
    "Entry",
    "FirstCode",
    "FormerBadge",
    "FormerPin",
    "Garbing",
    "Hold",
    "Hood",
    "Label",
    "Material",
    "Mishap",
    "OpenedContainer",
    "Person",
    "Photograph",
    "PinTries",
    "Preparation",
    "Qualification",
    "QualificationKind",
    "Reading",
    "Recalculation",
    "Rejection",
    "RunPlan",
    "SecurityEvent",
    "Serving",
    "Sighting",
    "Stamp",
    "Step",
    "Unreadable",
    "Waste",
]
