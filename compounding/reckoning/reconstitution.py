"""Reconstitution: a powder and its diluent become a solution of a strength.

The label's strength rules; only where none is printed is it content ÷ (diluent + displacement). Label figures
are rounded (cefazolin 330 mg/mL × 3 mL = 990 mg of 1,000 mg), and a vial may give less than its content: both
are said, neither is corrected. Source: standards.md section 10, worked_examples.md traps 8 and 9.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

from compounding.reckoning.quantities import Quantity, number_in, of, write
from compounding.reckoning.request import OrderedIngredient, SourceProduct
from compounding.reckoning.strengths import base_of, strength_of
from compounding.reckoning.working import Worked, short
from compounding.reckoning.worksheet import Line

_HUNDRED = Decimal(100)


def displaced_strength(content: Quantity, diluent: Quantity, displacement: Quantity) -> Worked:
    """Return content ÷ (diluent + displacement), for a powder whose label prints no strength.

    1 g in 9.6 mL with 0.4 mL displaced is 100 mg/mL. Raises NotConvertible.
    """
    total = of(number_in(diluent, "mL") + number_in(displacement, "mL"), "mL")
    strength = strength_of(content, total)
    text = f"{write(content)} ÷ ({write(diluent)} + {write(displacement)}) = {short(strength)}"
    return Worked(strength, (Line("reconstitution", text),))


def displacement(content: Quantity, strength: Quantity, diluent: Quantity) -> Quantity:
    """Return the volume a powder takes up by its label: content ÷ strength − diluent, in mL."""
    base = base_of(content)
    total = number_in(content, base) / number_in(strength, f"{base}/mL")
    return of(total - number_in(diluent, "mL"), "mL")


def containers_for(volume: Quantity, withdrawable: Quantity) -> int:
    """Return how many containers a volume takes: volume ÷ what one gives, up (containers always round up)."""
    share = number_in(volume, "mL") / number_in(withdrawable, "mL")
    return int(share.to_integral_value(ROUND_CEILING))


def label_rounding(product: SourceProduct) -> Decimal:
    """Return by how many percent a powder's stated strength is rounded: stated strength × volume against
    content.

    Nothing for a ready solution, nor where what can be drawn is less than what went in (then it is not the
    whole).
    """
    made = product.reconstitution
    if made is None or number_in(product.withdrawable, "mL") < number_in(made.volume, "mL"):
        return Decimal(0)
    base = base_of(product.content)
    content = number_in(product.content, base)
    stated = number_in(product.strength, f"{base}/mL") * number_in(product.withdrawable, "mL")
    return abs(content - stated) / content * _HUNDRED


def whole_vial_warning(ingredient: OrderedIngredient, content: Quantity, containers: int) -> str | None:
    """Say so when a dose is whole vials by content but does not fit what they give."""
    product = ingredient.product
    base = base_of(product.content)
    vials = number_in(content, base) / number_in(product.content, base)
    if vials != vials.to_integral_value() or containers <= vials:
        return None
    return (
        f"{write(content)} of {ingredient.substance} is the content of {vials.to_integral_value():f} × "
        f"{product.name}, but only {write(product.withdrawable)} comes out of each: it takes {containers}."
    )


def reconstitution_line(product: SourceProduct) -> Line | None:
    """Return the working of one powder's reconstitution as its label states it."""
    made = product.reconstitution
    if made is None:
        return None
    added = f"{write(made.volume)} {made.diluent_name}"
    text = f"{write(product.content)} + {added} gives {write(product.strength)} (label)"
    return Line("reconstitution", text)
