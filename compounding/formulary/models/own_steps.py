"""Steps that a formulation adds to the procedure, without code."""

from __future__ import annotations

from typing import ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator
from django.db import models

from compounding.formulary.models.formulations import Formulation

MOST_WORDS = 14
LONGEST_SECONDS = 7200


class FormulationStep(models.Model):
    """One step of the site's own, at the edge of a stage. Opened preparations keep it as it was."""

    class Stage(models.TextChoices):
        """The stages of the work, by the names that the procedure gives them; nothing follows a release."""

        RECKON = "reckon", "reckon"
        GATHER = "gather", "gather"
        CHECK = "check", "first check"
        STAGE = "stage", "stage"
        ENTER = "enter", "enter the hood"
        READY = "ready", "make ready"
        DRAW = "draw", "draw"
        SHOW = "show", "show"
        ADD = "add", "add"
        LABEL = "label", "label"
        DISPOSE = "dispose", "dispose"
        HAND_OVER = "hand-over", "hand over"

    EDGES: ClassVar = [(True, "before the stage begins"), (False, "after the stage has ended")]
    NOWHERE: ClassVar = {(Stage.RECKON, True), (Stage.HAND_OVER, False)}

    formulation = models.ForeignKey(Formulation, models.CASCADE, related_name="own_steps")
    position = models.PositiveSmallIntegerField(help_text="their order, where several stand at one place")
    text = models.CharField(max_length=120, help_text="what is done: one phrase of at most 14 words")
    why = models.CharField(max_length=200, help_text="the reason behind it; opens on the screen")
    stage = models.CharField(max_length=10, choices=Stage)
    is_before = models.BooleanField(choices=EDGES, default=True)
    seconds = models.PositiveSmallIntegerField(
        default=0,
        validators=[MaxValueValidator(LONGEST_SECONDS)],
        help_text="how long it lasts at least; 0: no matter how long",
    )

    class Meta:
        ordering: ClassVar = ["formulation", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["formulation", "position"], name="own_step_position_once"),
        ]

    def __str__(self) -> str:
        return self.text

    def clean(self) -> None:
        """Refuse an instruction too long for a glance, and a place where nobody is at work."""
        if len(self.text.split()) > MOST_WORDS:
            raise ValidationError({"text": f"Write at most {MOST_WORDS} words: it is read at a glance."})
        if (self.stage, self.is_before) in self.NOWHERE:
            sentence = "Nobody is at work there: the worksheet is read first, and the hood is freed last."
            raise ValidationError({"stage": sentence})
