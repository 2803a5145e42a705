"""Pictures made from a step's own numbers: pure geometry, drawn by `templates/pictures/*.svg`.

`syringe` puts the plunger's edge at the mark, true to scale; `by_step` chooses what else a step shows
(what is left in a vial, what goes into a bag); `hood` shows an arrangement from above; `scale` sets three
amounts beside the tolerance. Lengths are units of the drawing's own view box.
"""

from checklists.method.pictures.by_step import picture_of
from checklists.method.pictures.hood import HoodPicture, hood_picture
from checklists.method.pictures.hood_names import HoodItem
from checklists.method.pictures.scale import Pointer, ScalePicture, scale_picture
from checklists.method.pictures.syringe import (
    CloseUp,
    Graduation,
    SyringePicture,
    moving_syringe,
    syringe_picture,
)
from checklists.method.pictures.transfers import StepPicture

__all__ = [
    "CloseUp",
    "Graduation",
    "HoodItem",
    "HoodPicture",
    "Pointer",
    "ScalePicture",
    "StepPicture",
    "SyringePicture",
    "hood_picture",
    "moving_syringe",
    "picture_of",
    "scale_picture",
    "syringe_picture",
]
