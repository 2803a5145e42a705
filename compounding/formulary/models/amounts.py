"""An amount as a column: text in ISMP writing, read strictly before it is saved."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from compounding.reckoning import quantities
from compounding.reckoning.quantities import Kind, Quantity
from compounding.reckoning.refusals import Refusal

LONGEST = 40


class AmountField(models.CharField):  # type: ignore[type-arg]
    """`1.5 mL`, `25000 units`, `15 mg/kg`: never a float, and only of the kind the column is for."""

    description = "An amount with its unit"

    def __init__(self, kind: Kind | None = None, **options: Any) -> None:
        """Keep the kind; it concerns what is typed, not the column."""
        self.kind = kind
        super().__init__(**{"max_length": LONGEST, **options})

    def validate(self, value: Any, model_instance: models.Model | None) -> None:
        """Refuse a text that is not such an amount, in the reader's own sentence."""
        super().validate(value, model_instance)
        if value:
            try:
                quantities.read(value, self.kind)
            except Refusal as refusal:
                raise ValidationError(refusal.sentence, code=refusal.code) from refusal


def amount_or_none(text: str) -> Quantity | None:
    """Return the amount a column holds, None where it holds nothing."""
    return quantities.read(text) if text else None
