"""Formulations: how one preparation is made, approved and versioned."""

from __future__ import annotations

from typing import ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from compounding.formulary.models.amounts import AmountField, amount_or_none
from compounding.formulary.models.products import Product, Substance
from compounding.reckoning import quantities
from compounding.reckoning.quantities import Kind, Quantity
from compounding.reckoning.refusals import Refusal
from compounding.reckoning.request import Method
from compounding.reckoning.worksheet import FinalContainer


class Storage(models.TextChoices):
    """Where the finished preparation is kept."""

    ROOM = "room", "room temperature, 20 to 25 °C"
    FRIDGE = "fridge", "refrigerator, 2 to 8 °C"
    FREEZER = "freezer", "freezer, -25 to -10 °C"


def listed(text: str) -> tuple[str, ...]:
    """Return the words of a column that separates them by commas."""
    return tuple(word.strip() for word in text.split(",") if word.strip())


class FormulationState(models.TextChoices):
    """Whether a version may be ordered."""

    DRAFT = "draft"
    APPROVED = "approved"


class Formulation(models.Model):
    """One version of a master formulation record. An approved version is never changed, only followed."""

    CONTAINERS: ClassVar = [(kind.value, kind.value.replace("-", " ")) for kind in FinalContainer]
    METHODS: ClassVar = [(method.value, method.value) for method in Method]
    CATEGORIES: ClassVar = [(1, "category 1"), (2, "category 2"), (3, "category 3")]

    code = models.SlugField(max_length=40)
    version = models.PositiveSmallIntegerField(default=1)
    title = models.CharField(max_length=120)
    final_container = models.CharField(max_length=12, choices=CONTAINERS)
    diluent = models.ForeignKey(Product, models.PROTECT, null=True, blank=True, related_name="diluent_of")
    empty_bag = models.ForeignKey(Product, models.PROTECT, null=True, blank=True, related_name="filled_by")
    method = models.CharField(max_length=40, choices=METHODS, default=Method.POLICY.value)
    final_volume = AmountField(Kind.VOLUME, blank=True)
    routes = models.CharField(max_length=120, help_text="one or more, separated by commas")
    category = models.PositiveSmallIntegerField(choices=CATEGORIES, default=2)
    storage = models.CharField(max_length=10, choices=Storage.choices, default=Storage.ROOM)
    stability_hours = models.PositiveIntegerField()
    stability_source = models.CharField(max_length=300)
    own_limit_hours = models.PositiveIntegerField(null=True, blank=True)
    own_limit_reason = models.CharField(max_length=200, blank=True)
    mixing = models.CharField(max_length=300)
    rate = models.CharField(max_length=200, blank=True, help_text="as the label says it")
    run_minutes = models.PositiveIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(14_400)],
        help_text="over how long one unit runs; rates are worked out from it",
    )
    most_units = models.PositiveSmallIntegerField(default=1, help_text="the largest batch")
    light_cover = models.BooleanField(default=False)
    state = models.CharField(max_length=10, choices=FormulationState.choices, default=FormulationState.DRAFT)
    effective_from = models.DateField()
    written_by = models.TextField(blank=True, editable=False)
    approved_by = models.CharField(max_length=120, blank=True, editable=False)
    approved_at = models.DateTimeField(null=True, editable=False)
    source = models.CharField(max_length=300)

    class Meta:
        ordering: ClassVar = ["code", "-version"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code", "version"], name="formulation_version_once"),
            models.CheckConstraint(name="batch_of_one_or_more", condition=models.Q(most_units__gte=1)),
            models.CheckConstraint(
                name="bag_names_its_diluent",
                condition=models.Q(final_container=FinalContainer.SYRINGE.value)
                | models.Q(diluent__isnull=False),
                violation_error_message="A preparation in a bag names the bag or diluent it is made in.",
            ),
            models.CheckConstraint(
                name="empty_bag_is_named_and_filled",
                condition=~models.Q(final_container=FinalContainer.EMPTY_BAG.value)
                | models.Q(empty_bag__isnull=False) & ~models.Q(final_volume=""),
                violation_error_message="A filled bag names the empty bag and the volume it is filled to.",
            ),
            models.CheckConstraint(
                name="own_limit_says_why",
                condition=models.Q(own_limit_hours__isnull=True) | ~models.Q(own_limit_reason=""),
                violation_error_message="A limit of our own needs its reason.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title} (version {self.version})"

    @property
    def container(self) -> FinalContainer:
        """Return what the finished preparation is in."""
        return FinalContainer(self.final_container)

    @property
    def route_list(self) -> tuple[str, ...]:
        """Return the routes it may be ordered for."""
        return listed(self.routes)

    @staticmethod
    def is_peripheral(route: str) -> bool:
        """Say whether a route may use a small vein: an intravenous one not named central (our own rule)."""
        words = route.lower()
        return "intravenous" in words and "central" not in words


class FormulationIngredient(models.Model):
    """One active ingredient of a formulation, with what may be ordered of it.

    `least_dose` and `most_dose` bound the dose as it is ordered (in `dose_unit`); `least_amount` and
    `most_amount` bound what ends up in one unit, for a dose that is ordered per kg. These, the
    concentrations, `most_rate` and `diluents` are hard; outside what is usual (the dose as it is ordered, the
    concentration) a pharmacist gives a reason.
    """

    formulation = models.ForeignKey(Formulation, models.CASCADE, related_name="ingredients")
    position = models.PositiveSmallIntegerField()
    substance = models.ForeignKey(Substance, models.PROTECT, related_name="ingredients")
    allowed_products = models.ManyToManyField(
        Product, blank=True, related_name="ingredients", help_text="empty: any product of the substance"
    )
    dose_unit = models.CharField(max_length=20, help_text="mg, mg/kg, mEq, units")
    usual_dose = AmountField(Kind.DOSE, blank=True)
    least_dose = AmountField(Kind.DOSE)
    most_dose = AmountField(Kind.DOSE)
    least_amount = AmountField(Kind.CONTENT, blank=True)
    most_amount = AmountField(Kind.CONTENT, blank=True)
    least_concentration = AmountField(Kind.STRENGTH, blank=True)
    most_concentration = AmountField(Kind.STRENGTH, blank=True)
    most_rate = AmountField(Kind.DOSE_RATE, blank=True, help_text="10 mEq/h, 4 mg/min, 5 mcg/kg/min")
    diluents = models.CharField(
        max_length=200,
        blank=True,
        help_text="it may be mixed in, separated by commas: sodium chloride 0.9 %; empty: any",
    )
    usual_least = AmountField(Kind.DOSE, blank=True)
    usual_most = AmountField(Kind.DOSE, blank=True)
    usual_least_concentration = AmountField(Kind.STRENGTH, blank=True)
    usual_most_concentration = AmountField(Kind.STRENGTH, blank=True)
    source = models.CharField(max_length=300)

    class Meta:
        ordering: ClassVar = ["formulation", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["formulation", "position"], name="ingredient_position_once"),
            models.UniqueConstraint(fields=["formulation", "substance"], name="ingredient_substance_once"),
        ]

    def __str__(self) -> str:
        return f"{self.substance.written} in {self.formulation.title}"

    def clean(self) -> None:
        """Refuse a limit in another kind of unit than the dose is ordered in, and a rate without its time."""
        for name in ("usual_dose", "least_dose", "most_dose", "usual_least", "usual_most"):
            self._refuse_other_unit(name, amount_or_none(getattr(self, name)), self.dose_unit)
        most_rate = amount_or_none(self.most_rate)
        if most_rate is None:
            return
        content, _, _per = quantities.code_of(most_rate).partition("/")
        self._refuse_other_unit("most_rate", quantities.of(1, content), self.dose_unit.partition("/")[0])
        if self.formulation.run_minutes is None:
            sentence = "A rate needs its time: write the minutes over which the preparation runs."
            raise ValidationError({"most_rate": sentence})

    @staticmethod
    def _refuse_other_unit(name: str, amount: Quantity | None, unit: str) -> None:
        try:
            if amount is not None:
                quantities.number_in(amount, unit)
        except (Refusal, KeyError) as error:
            sentence = f"This must be in {unit}, or in a unit that becomes it."
            raise ValidationError({name: sentence}) from error

    @property
    def field(self) -> str:
        """Return the name under which its dose is typed in an order: `dose-1`."""
        return f"dose-{self.position}"

    @property
    def is_per_weight(self) -> bool:
        """Say whether the dose is ordered per kg of body weight."""
        return "/kg" in self.dose_unit

    @property
    def is_per_surface(self) -> bool:
        """Say whether the dose is ordered per square metre of body surface."""
        return "/m2" in self.dose_unit
