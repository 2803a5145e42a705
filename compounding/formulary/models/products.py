"""Substances, the products that hold them, and the lots on the shelf."""

from __future__ import annotations

from datetime import datetime, time
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models.functions import Length
from django.db.models.lookups import Exact
from django.utils import timezone

from compounding.formulary.gtins import refuse_bad_gtin
from compounding.formulary.models.amounts import AmountField
from compounding.reckoning.quantities import Kind
from compounding.reckoning.worksheet import ContainerKind

LAST_SECOND = time(23, 59, 59)


class Substance(models.Model):
    """An active substance; `written` carries its tall-man letters."""

    name = models.CharField(max_length=80, unique=True)
    written = models.CharField(max_length=80)
    is_hazardous = models.BooleanField(default=False)
    is_high_alert = models.BooleanField(default=False)
    protect_from_light = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.written


class Product(models.Model):
    """One kind of container as the maker sells it, known by its GTIN.

    `content` is what one container holds, `strength` what is drawn from it (a powder has none until it
    is dissolved), `withdrawable` the most that can be drawn from one. `solution` names what a diluent is as
    tables of pairs and lists of diluents name it, without its container.
    """

    KINDS: ClassVar = [(kind.value, kind.value.replace("-", " ")) for kind in ContainerKind]
    WAYS: ClassVar = [("swirl", "swirl"), ("shake", "shake")]

    gtin = models.CharField(max_length=14, unique=True, validators=[refuse_bad_gtin])
    name = models.CharField(max_length=120)
    maker = models.CharField(max_length=80)
    substance = models.ForeignKey(Substance, models.PROTECT, null=True, blank=True, related_name="products")
    is_diluent = models.BooleanField(default=False)
    solution = models.CharField(
        max_length=80, blank=True, help_text="what a diluent is: sodium chloride 0.9 %, dextrose 5 %"
    )
    kind = models.CharField(max_length=20, choices=KINDS)
    content = AmountField(Kind.CONTENT, blank=True, help_text="in one container: 1 g, 20 mEq, 10000 units")
    volume = AmountField(Kind.VOLUME, blank=True, help_text="labelled; none for a powder or an empty bag")
    strength = AmountField(Kind.STRENGTH, blank=True, help_text="as drawn; empty for a powder")
    withdrawable = AmountField(Kind.VOLUME, blank=True, help_text="the most that can be drawn from one")
    osmolarity = AmountField(Kind.STRENGTH, blank=True, help_text="as its label prints it: 308 mOsmol/L")
    is_multi_dose = models.BooleanField(default=False)
    is_controlled = models.BooleanField(
        default=False, help_text="what is left of it is destroyed before a witness"
    )
    overfill = AmountField(Kind.VOLUME, blank=True, help_text="a bag's usual excess over its label")
    capacity = AmountField(Kind.VOLUME, blank=True, help_text="the most a bag holds")
    reconstitution_diluent = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="dissolves"
    )
    reconstitution_volume = AmountField(Kind.VOLUME, blank=True)
    reconstitution_strength = AmountField(Kind.STRENGTH, blank=True)
    reconstitution_way = models.CharField(max_length=10, choices=WAYS, blank=True)
    reconstitution_seconds = models.PositiveSmallIntegerField(default=0)
    price = models.DecimalField(
        max_digits=9, decimal_places=2, null=True, blank=True, help_text="of one container; empty if unknown"
    )
    source = models.CharField(max_length=300, help_text="where these facts were read")

    class Meta:
        ordering: ClassVar = ["name", "gtin"]
        constraints: ClassVar = [
            models.CheckConstraint(
                name="price_is_above_nothing",
                condition=models.Q(price__isnull=True) | models.Q(price__gt=0),
                violation_error_message="Write a price above 0, or leave it empty.",
            ),
            models.CheckConstraint(
                name="gtin_has_14_digits",
                condition=Exact(Length("gtin"), 14),
                violation_error_message="A GTIN has 14 digits.",
            ),
            models.CheckConstraint(
                name="product_is_drug_or_diluent",
                condition=models.Q(is_diluent=True, substance__isnull=True)
                | models.Q(is_diluent=False, substance__isnull=False),
                violation_error_message="A diluent has no active substance; any other product has one.",
            ),
            models.CheckConstraint(
                name="powder_says_how_to_dissolve",
                condition=~models.Q(kind=ContainerKind.POWDER_VIAL.value)
                | models.Q(reconstitution_diluent__isnull=False, reconstitution_seconds__gt=0)
                & ~models.Q(reconstitution_volume="")
                & ~models.Q(reconstitution_strength="")
                & ~models.Q(reconstitution_way=""),
                violation_error_message="A powder needs its diluent, volume, strength, way and seconds.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.maker})"

    def clean(self) -> None:
        """Refuse a solution without volume or strength, a bag without capacity, a diluent without name."""
        if self.kind == ContainerKind.BAG:
            self._require("capacity")
        elif self.kind != ContainerKind.POWDER_VIAL:
            self._require("volume")
        if self.is_diluent and self.volume:
            self._require("solution")
        if not self.is_diluent:
            self._require("content", "withdrawable")
            if self.kind != ContainerKind.POWDER_VIAL:
                self._require("strength")

    def _require(self, *names: str) -> None:
        missing = {name: "This kind of product needs it." for name in names if not getattr(self, name)}
        if missing:
            raise ValidationError(missing)

    @property
    def container(self) -> ContainerKind:
        """Return what the product comes in."""
        return ContainerKind(self.kind)


class LotState(models.TextChoices):
    """Whether a lot may be used."""

    AVAILABLE = "available"
    QUARANTINED = "quarantined"
    RECALLED = "recalled"


class Lot(models.Model):
    """One lot of a product on the shelf."""

    product = models.ForeignKey(Product, models.PROTECT, related_name="lots")
    number = models.CharField(max_length=20)
    expires_on = models.DateField()
    state = models.CharField(max_length=12, choices=LotState.choices, default=LotState.AVAILABLE)
    received_on = models.DateField()

    class Meta:
        ordering: ClassVar = ["product", "expires_on", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["product", "number"], name="lot_number_once_a_product"),
            models.CheckConstraint(name="lot_state_is_known", condition=models.Q(state__in=LotState.values)),
        ]

    def __str__(self) -> str:
        return f"{self.product.name}, lot {self.number}"

    @property
    def expires_at(self) -> datetime:
        """Return the last second of the expiry date in the site's time zone."""
        return timezone.make_aware(
            datetime.combine(self.expires_on, LAST_SECOND), timezone.get_default_timezone()
        )

    def is_in_date(self, at: datetime) -> bool:
        """Say whether the lot has not expired at that moment."""
        return at <= self.expires_at

    def is_usable(self, at: datetime) -> bool:
        """Say whether the lot may be used at that moment: available and in date."""
        return self.state == LotState.AVAILABLE and self.is_in_date(at)
