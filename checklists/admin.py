"""Upkeep of people and hoods. Nothing that the run writes can be edited here."""

from __future__ import annotations

import secrets
from typing import Any

from django import forms
from django.contrib import admin
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from checklists.models import Hood, Person
from compounding.formulary import codes
from compounding.reckoning.refusals import Refusal

SHORTEST_PIN = 4


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


class PersonForm(forms.ModelForm):  # type: ignore[type-arg]
    """A person, with a PIN that is typed and never shown again."""

    badge = OwnCodeField("B")
    pin = forms.CharField(
        label="New PIN",
        required=False,
        max_length=64,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        help_text="At least four digits. Leave it empty to keep the present one.",
    )

    class Meta:
        model = Person
        fields = ("name", "role", "badge", "is_active", "is_staff")

    def clean_pin(self) -> str:
        """Refuse a PIN that is no PIN, and a new person without one."""
        pin: str = self.cleaned_data["pin"]
        if not pin and self.instance.pk:
            return pin
        if not (pin.isascii() and pin.isdecimal() and len(pin) >= SHORTEST_PIN):
            raise ValidationError("Write at least four digits, and nothing else.")
        return pin

    def save(self, commit: bool = True) -> Person:
        """Keep the PIN as a hash."""
        person: Person = super().save(commit=False)
        if self.cleaned_data["pin"]:
            person.set_password(self.cleaned_data["pin"])
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


admin.site.site_header = "Upkeep"
admin.site.site_title = "Upkeep"
admin.site.index_title = "What the pharmacy knows and holds"
