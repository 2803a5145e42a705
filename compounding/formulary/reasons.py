"""A change of the formulary is kept with its reason: asked on every upkeep page, and at an approval."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.admin.helpers import ActionForm
from django.db.models import Model
from django.http import HttpRequest
from django.utils import timezone

from compounding.formulary.models import FormularyChange
from compounding.formulary.refusals import NoReasonGiven

LONGEST_WHY = 300
WANTED = "Write why: it is kept with the change, with your name and the time."


class ReasonForm(forms.ModelForm):  # type: ignore[type-arg]
    """A row of the formulary, and why it is made or changed."""

    why = forms.CharField(
        label="Why", max_length=LONGEST_WHY, help_text=WANTED, error_messages={"required": WANTED}
    )


class ApprovalForm(ActionForm):
    """What is done with the rows chosen, and why."""

    why = forms.CharField(label="Why", max_length=LONGEST_WHY, required=False)


class SaysWhy:
    """An upkeep page that asks why, with `ReasonForm`, and keeps it."""

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        """Save the row, and why."""
        super().save_model(request, obj, form, change)  # type: ignore[misc]
        keep(obj, fields=form.changed_data, why=form.cleaned_data["why"], by=signed(request))


def signed(request: HttpRequest) -> str:
    """Return who acts, told apart from anybody of the same name."""
    return f"{request.user} ({request.user.pk})"


def keep(row: Model, *, fields: list[str], why: str, by: str) -> None:
    """Keep one change. Refuses NoReasonGiven."""
    reason = " ".join(why.split())[:LONGEST_WHY]
    if not reason:
        raise NoReasonGiven()
    names = ", ".join(name.replace("_", " ") for name in fields if name != "why")
    what = f"{row._meta.verbose_name} {row}"
    FormularyChange.objects.create(what=what[:200], fields=names[:500], why=reason, by=by, at=timezone.now())
