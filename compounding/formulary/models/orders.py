"""Orders: one row each time something is asked for; a change is a new row that supersedes the old."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from compounding.formulary.models.amounts import AmountField
from compounding.formulary.models.formulations import Formulation, FormulationIngredient
from compounding.reckoning import quantities
from compounding.reckoning.quantities import Kind


class OrderState(models.TextChoices):
    """Whether an order still asks for something."""

    ACTIVE = "active"
    CANCELLED = "cancelled"
    SUPERSEDED = "superseded"


class Order(models.Model):
    """One order for a patient, or a batch for stock (no patient, more than one unit)."""

    number = models.CharField(max_length=9, unique=True)
    key = models.CharField(max_length=64, unique=True, null=True, blank=True, help_text="of the act, once")
    formulation = models.ForeignKey(Formulation, models.PROTECT, related_name="orders")
    patient_name = models.CharField(max_length=80, blank=True)
    patient_identifier = models.CharField(max_length=30, blank=True)
    born_on = models.DateField(null=True, blank=True)
    allergies = models.CharField(max_length=200, blank=True)
    route = models.CharField(max_length=40)
    body_weight = AmountField(Kind.BODY_WEIGHT, blank=True)
    weighed_on = models.DateField(null=True, blank=True)
    height = AmountField(Kind.LENGTH, blank=True)
    prescriber = models.CharField(max_length=80, blank=True)
    ward = models.CharField(max_length=60)
    units = models.PositiveSmallIntegerField(default=1)
    due_at = models.DateTimeField()
    state = models.CharField(max_length=12, choices=OrderState.choices, default=OrderState.ACTIVE)
    reason = models.CharField(max_length=200, blank=True)
    supersedes = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    entered_by = models.CharField(max_length=80)
    entered_at = models.DateTimeField()
    closed_by = models.CharField(max_length=80, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["due_at", "number"]
        indexes: ClassVar = [models.Index(fields=["state", "due_at"], name="orders_by_urgency")]
        constraints: ClassVar = [
            models.CheckConstraint(name="order_of_one_or_more", condition=Q(units__gte=1)),
            models.CheckConstraint(
                name="patient_has_two_identifiers",
                condition=Q(patient_name="", patient_identifier="", born_on__isnull=True, units__gt=1)
                | ~Q(patient_name="") & (~Q(patient_identifier="") | Q(born_on__isnull=False)),
            ),
            models.CheckConstraint(
                name="patient_has_allergies_stated", condition=Q(patient_name="") | ~Q(allergies="")
            ),
            models.CheckConstraint(
                name="weight_has_its_date",
                condition=Q(body_weight="", weighed_on__isnull=True)
                | ~Q(body_weight="") & Q(weighed_on__isnull=False),
            ),
            models.CheckConstraint(
                name="closed_order_says_why",
                condition=Q(state=OrderState.ACTIVE)
                | ~Q(reason="") & ~Q(closed_by="") & Q(closed_at__isnull=False),
            ),
            models.CheckConstraint(name="order_state_is_known", condition=Q(state__in=OrderState.values)),
        ]

    def __str__(self) -> str:
        return f"{self.number}: {self.formulation.title} for {self.for_whom}"

    @property
    def is_for_stock(self) -> bool:
        """Say whether this is a batch without a patient."""
        return not self.patient_name

    @property
    def for_whom(self) -> str:
        """Return whom it is for in a few words."""
        return f"stock, {self.units} units" if self.is_for_stock else self.patient_name


class OrderDose(models.Model):
    """What an order asks of one ingredient, as it was typed."""

    order = models.ForeignKey(Order, models.CASCADE, related_name="doses")
    ingredient = models.ForeignKey(FormulationIngredient, models.PROTECT, related_name="doses")
    dose = AmountField(Kind.DOSE)

    class Meta:
        ordering: ClassVar = ["order", "ingredient__position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "ingredient"], name="one_dose_an_ingredient")
        ]

    def __str__(self) -> str:
        return f"{self.ingredient.substance.written} {self.written}"

    @property
    def written(self) -> str:
        """Return the dose in ISMP writing: `25,000 units`."""
        return quantities.write(quantities.read(self.dose))
