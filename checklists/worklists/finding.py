"""Where a code that was scanned leads: a preparation's own, or one of its labels'."""

from __future__ import annotations

from django.urls import reverse

from checklists.method.step_kinds import Actor, row_of
from checklists.models import Label, Person, Preparation
from checklists.refusals import NoSuchPreparation, NothingWaits
from checklists.worklists import bench
from checklists.worklists.words import STAGES
from compounding.formulary import codes, scanning
from compounding.formulary.codes import OwnCode
from compounding.formulary.refusals import OtherCodeWanted

WANTED = "the code of a preparation, or a label"


def address_of(text: str, person: Person) -> str:
    """Return the page of the scanned preparation for this person: the check that waits, or the step.

    Refuses OtherCodeWanted, NoSuchPreparation, and NothingWaits where a pharmacist has nothing to do there.
    """
    preparation = _preparation(text)
    if person.role == Person.Role.TECHNICIAN:
        return reverse("step", args=[preparation.code])
    return _check(preparation) if person.role == Person.Role.PHARMACIST else reverse("now")


def _preparation(text: str) -> Preparation:
    found = scanning.read(text)
    if not isinstance(found, OwnCode):
        raise OtherCodeWanted(scanned="a product’s code", wanted=WANTED)
    if found.letter == codes.Kind.LABEL:
        label = Label.objects.select_related("preparation").filter(code=found.code).first()
        if label is None:
            raise NoSuchPreparation(code=codes.grouped(found.code))
        return label.preparation
    if found.letter != codes.Kind.PREPARATION:
        raise OtherCodeWanted(scanned=codes.NAMES[codes.Kind(found.letter)], wanted=WANTED)
    return bench.find(found.code)


def _check(preparation: Preparation) -> str:
    hold = preparation.holds.filter(resolved_at=None).first()
    if hold:
        return reverse("hold", args=[preparation.code, hold.pk])
    step = bench.current_step(preparation)
    if step and step.started_at and row_of(step).actor is Actor.CHECKER:
        return reverse("check", args=[preparation.code, step.place])
    where = str(STAGES[row_of(step).stage]) if step else preparation.get_state_display()
    raise NothingWaits(code=codes.grouped(preparation.code), where=where)
