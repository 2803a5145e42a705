"""Examples of powders: what they make, and how much diluent makes a strength."""

from __future__ import annotations

from compounding.reckoning import reconstitution, strengths
from compounding.reckoning.examples.dose_to_volume import volume_of_dose
from compounding.reckoning.examples.given import Given, Way
from compounding.reckoning.quantities import Quantity


def strength_made(given: Given) -> Quantity:
    """Return content in the volume that is there."""
    return strengths.strength_of(given.amount("content"), given.amount("volume"))


def with_displacement(given: Given) -> Quantity:
    """Return the strength, the powder's own volume counted."""
    content, diluent = given.amount("content"), given.amount("diluent")
    return reconstitution.displaced_strength(content, diluent, given.amount("displacement")).amount


def volume_made(given: Given) -> Quantity:
    """Return the volume that the whole content is in."""
    return strengths.volume_of(given.amount("content"), with_displacement(given)).amount


def diluent_for_strength(given: Given) -> Quantity:
    """Return what is missing to the volume of the wanted strength, beside what the powder takes up."""
    content, strength = given.amount("content"), given.amount("strength")
    return reconstitution.displacement(content, strength, given.amount("displacement"))


def from_another_line(given: Given) -> Quantity:
    """Return the diluent for a strength; what the powder takes up comes from another line of the label."""
    content, strength = given.amount("content"), given.amount("strength")
    known = reconstitution.displacement(
        content, given.amount("known_strength"), given.amount("known_diluent")
    )
    return reconstitution.displacement(content, strength, known)


def without_displacement(given: Given) -> Quantity:
    """Return the diluent for a strength where the powder takes up next to nothing."""
    return strengths.volume_of(given.amount("content"), given.amount("strength")).amount


WAYS: dict[str, Way] = {
    "strength made": strength_made,
    "strength with displacement": with_displacement,
    "volume made": volume_made,
    "diluent for a strength": diluent_for_strength,
    "diluent from another line": from_another_line,
    "diluent without displacement": without_displacement,
    "volume of a dose": volume_of_dose,
}
