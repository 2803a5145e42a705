"""Upkeep of people and hoods. Nothing that the run writes can be edited here."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from typing import Any, ClassVar, cast

from django import forms
from django.contrib import admin
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from checklists.models import Duty, Hood, Person, QualificationKind
from checklists.run.events import note
from checklists.run.identities import refuse_used_badge, retire_badge
from checklists.run.pins import give_pin, refuse_unfit
from compounding.formulary import codes
from compounding.reckoning.refusals import Refusal


class OwnCodeField(forms.CharField):
    """A code of ours of one kind; left empty, a new one is made."""

    def __init__(self, letter: str, **options: Any) -> None:
        self.letter = letter
        super().__init__(required=False, help_text="Leave it empty for a new one.", **options)

    def clean(self, value: Any) -> str:
        """Return the code without spaces, or a new one."""
        text = super().clean(value)
        if not text:
            return codes.make(self.letter, secrets.token_bytes(5))
        try:
            found = codes.read(text)
        except Refusal as refusal:
            raise ValidationError(refusal.sentence, code=refusal.code) from refusal
        if found.letter != self.letter:
            raise ValidationError("This code stands on something else.")
        return found.code


def _or_invalid(refuse: Callable[..., None], *given: Any) -> None:
    """Say a refusal beside the field."""
    try:
        refuse(*given)
    except Refusal as refusal:
        raise ValidationError(refusal.sentence, code=refusal.code) from refusal


class PersonForm(forms.ModelForm):  # type: ignore[type-arg]
    """A person, with a PIN that is typed and never shown again."""

    badge = OwnCodeField("B")
    pin = forms.CharField(
        label="New PIN",
        required=False,
        max_length=64,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        help_text="Digits only, to be changed at their first sign-in. Leave it empty to keep theirs.",
    )

    class Meta:
        model = Person
        fields = ("name", "role", "team", "badge", "is_active", "is_staff")

    def clean_pin(self) -> str:
        """Refuse a PIN that is no PIN, and a new person without one."""
        pin: str = self.cleaned_data["pin"]
        if not pin and self.instance.pk:
            return pin
        _or_invalid(refuse_unfit, self.instance if self.instance.pk else None, pin)
        return pin

    def clean_badge(self) -> str:
        """Refuse a badge that anybody had before."""
        badge: str = self.cleaned_data["badge"]
        _or_invalid(refuse_used_badge, badge)
        return badge

    def save(self, commit: bool = True) -> Person:
        """Keep the PIN as a hash, to be changed at the first sign-in; and the badge they had as theirs."""
        person: Person = super().save(commit=False)
        if self.cleaned_data["pin"]:
            give_pin(person, self.cleaned_data["pin"], at=None)
        if person.pk and "badge" in self.changed_data:
            retire_badge(person, self.initial["badge"])
        person.is_superuser = person.is_staff
        if commit:
            person.save()
        return person


@admin.register(Person)
class PersonAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    """People are never deleted: what they did stays theirs."""

    form = PersonForm
    list_display = ("name", "role", "badge", "is_active")
    list_filter = ("role", "is_active")
    search_fields = ("name",)

    def save_model(self, request: HttpRequest, obj: Person, form: Any, change: bool) -> None:
        """Keep that a person was added or changed, by whom, and what of them."""
        super().save_model(request, obj, form, change)
        changed = ", ".join("PIN" if name == "pin" else name.replace("_", " ") for name in form.changed_data)
        what = f"changed {changed}" if change else "added a person"
        note(what[:60], person=cast("Person", request.user), about=obj.name)

    def has_delete_permission(self, request: HttpRequest, obj: Person | None = None) -> bool:
        """Nobody; make them inactive instead."""
        return False


class HoodForm(forms.ModelForm):  # type: ignore[type-arg]
    """A hood with its code."""

    code = OwnCodeField("H")

    class Meta:
        model = Hood
        fields = (
            "name",
            "code",
            "airflow",
            "takes_hazardous",
            "deck_width_cm",
            "deck_depth_cm",
            "certified_until",
        )


@admin.register(Hood)
class HoodAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    """Hoods; whether one runs is noted where the work is."""

    form = HoodForm
    list_display = ("name", "airflow", "takes_hazardous", "certified_until")

    def has_delete_permission(self, request: HttpRequest, obj: Hood | None = None) -> bool:
        """Nobody; preparations were made in it."""
        return False


@admin.register(QualificationKind)
class QualificationKindAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    """What is asked of people; results are recorded where they are looked after."""

    list_display = ("name", "role", "months", "only_hazardous", "is_asked")
    prepopulated_fields: ClassVar = {"code": ("name",)}

    def has_delete_permission(self, request: HttpRequest, obj: QualificationKind | None = None) -> bool:
        """Nobody; ask it no more instead."""
        return False


@admin.register(Duty)
class DutyAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    """Regular duties; what was done is recorded where it is done."""

    list_display = ("name", "kind", "hood", "every_hours", "is_active")

    def has_delete_permission(self, request: HttpRequest, obj: Duty | None = None) -> bool:
        """Nobody; make it inactive instead."""
        return False


admin.site.site_header = "Upkeep"
admin.site.site_title = "Upkeep"
admin.site.index_title = "What the pharmacy knows and holds"
