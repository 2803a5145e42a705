"""Pictures made from a step's own numbers: pure geometry, drawn by `templates/pictures/*.svg`.

`syringe` puts the plunger's edge at the mark, true to scale; `hood` shows an arrangement from above;
`scale` sets three amounts beside the tolerance. Lengths are units of the drawing's own view box.
"""

from checklists.method.pictures.hood import HoodItem, HoodPicture, hood_picture
from checklists.method.pictures.scale import Pointer, ScalePicture, scale_picture
from checklists.method.pictures.syringe import (
    CloseUp,
    Graduation,
    SyringePicture,
    moving_syringe,
    syringe_picture,
)

__all__ = [
    "CloseUp",
    "Graduation",
    "HoodItem",
    "HoodPicture",
    "Pointer",
    "ScalePicture",
    "SyringePicture",
    "hood_picture",
    "moving_syringe",
    "scale_picture",
    "syringe_picture",
]
