"""Two people for a formulation: whoever wrote or changed a version does not approve it."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from compounding.formulary.models import Formulation
from compounding.formulary.models.formulations import FormulationState
from compounding.formulary.reasons import keep
from compounding.formulary.refusals import ApprovedAlready, ApprovedByItsAuthor

BETWEEN = "; "


def add_author(formulation: Formulation, by: str) -> None:
    """Keep that somebody wrote or changed this version, before it is saved."""
    authors = formulation.written_by.split(BETWEEN) if formulation.written_by else []
    if by not in authors:
        formulation.written_by = BETWEEN.join([*authors, by])


def approve(formulation: Formulation, *, by: str, at: datetime, why: str) -> None:
    """Approve a draft, and keep why. Refuses ApprovedAlready, NoReasonGiven, and ApprovedByItsAuthor for
    anyone who wrote a part of it.
    """
    with transaction.atomic():
        found = Formulation.objects.select_for_update().get(pk=formulation.pk)
        if found.state != FormulationState.DRAFT:
            raise ApprovedAlready(title=str(found))
        if by in found.written_by.split(BETWEEN):
            raise ApprovedByItsAuthor(title=str(found))
        keep(found, fields=["approved"], why=why, by=by)
        found.state, found.approved_by, found.approved_at = FormulationState.APPROVED, by, at
        found.save(update_fields=["state", "approved_by", "approved_at"])
