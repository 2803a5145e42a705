"""The site's limits: every change is a new row with its reason; rows are never changed."""

from __future__ import annotations

from decimal import Decimal
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from compounding.formulary.models.amounts import AmountField
from compounding.reckoning import quantities
from compounding.reckoning.quantities import Kind, Quantity
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.worksheet import Syringe


def _percent(least: int, most: int) -> models.DecimalField:  # type: ignore[type-arg]
    bounds = [MinValueValidator(Decimal(least)), MaxValueValidator(Decimal(most))]
    return models.DecimalField(max_digits=5, decimal_places=2, validators=bounds)


def _count(least: int, most: int, default: int | None = None) -> models.PositiveSmallIntegerField:  # type: ignore[type-arg]
    bounds = [MinValueValidator(least), MaxValueValidator(most)]
    if default is None:
        return models.PositiveSmallIntegerField(validators=bounds)
    return models.PositiveSmallIntegerField(validators=bounds, default=default)


def read_syringes(text: str) -> tuple[Syringe, ...]:
    """Return the sizes in stock of a text such as `1 mL/0.01 mL, 3 mL/0.1 mL`, in order of size."""
    pairs = [pair.strip().partition("/") for pair in text.split(",")]
    found = [Syringe(_volume(size), _volume(mark)) for size, _, mark in pairs]
    return tuple(sorted(found, key=lambda syringe: syringe.size))


def _volume(text: str) -> Quantity:
    return quantities.read(text, Kind.VOLUME)


class SitePolicy(models.Model):
    """One set of limits. The bounds keep a site from switching a safeguard off."""

    version = models.PositiveIntegerField(unique=True)
    withdraw_over_percent = _percent(0, 100)
    rounding_limit_percent = _percent(0, 5)
    instrument_limit_percent = _percent(1, 20)
    agreement_percent = _percent(0, 10)
    least_fill_percent = _percent(0, 50)
    hazardous_fill_percent = _percent(50, 75)
    good_fill_percent = _percent(50, 100)
    hazardous_air_percent = _percent(0, 75)
    most_draws = _count(1, 200)
    half_marks_from = AmountField(Kind.VOLUME)
    syringes = models.CharField(max_length=300, help_text="size/mark, …: 1 mL/0.01 mL, 3 mL/0.1 mL")
    single_dose_hours = _count(0, 12)
    multi_dose_days = _count(0, 28)
    shares_dissolved = models.BooleanField(
        "lets a dissolved powder vial serve further preparations within its hours", default=False
    )
    peripheral_limit = AmountField(Kind.STRENGTH)
    alcohol_dry_seconds = _count(10, 300)
    warm_up_minutes = _count(0, 240)
    surface_minutes = _count(5, 30)
    glove_minutes = _count(5, 30)
    in_process_hours = _count(1, 12)
    always_by_plunger = models.CharField(
        max_length=10, choices=[(each, each) for each in ("never", "high-alert", "always")]
    )
    weight_days = _count(1, 365)
    second_reader = models.CharField(
        "a second pharmacist reads",
        max_length=30,
        default="never",
        choices=[(each, each) for each in ("never", "hazardous", "high-alert", "hazardous or high-alert")],
    )
    wants_photograph = models.BooleanField("wants a photograph of every draw", default=False)
    hand_wash_seconds = _count(30, 300, default=30)
    hand_rub_seconds = _count(10, 120, default=20)
    garb_hours = _count(0, 12, default=0)
    deactivate_seconds = _count(30, 1800, default=120)
    decontaminate_seconds = _count(10, 1800, default=60)
    clean_seconds = _count(10, 1800, default=30)
    shows_individuals = models.BooleanField("shows supervisors times by person", default=False)
    reason = models.CharField(max_length=300)
    changed_by = models.CharField(max_length=80)
    at = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-version"]
        verbose_name_plural = "site policies"
        constraints: ClassVar = [
            models.CheckConstraint(name="policy_says_why", condition=~models.Q(reason="")),
        ]

    def __str__(self) -> str:
        return f"Version {self.version}: {self.reason}"

    def clean(self) -> None:
        """Refuse a stock of syringes that cannot be read, or whose marks do not fit their size."""
        try:
            marks_fit = all(syringe.mark < syringe.size for syringe in read_syringes(self.syringes))
        except Refusal as refusal:
            raise ValidationError({"syringes": refusal.sentence}) from refusal
        if not marks_fit:
            raise ValidationError({"syringes": "A mark is smaller than its syringe. Write size/mark."})
