"""Second arithmetic of the order: content, volume and concentration of each ingredient, straight from what
was asked.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from compounding.reckoning.plain_amounts import Measured, in_ml, measured, root, told
from compounding.reckoning.refusals import NotProved


@dataclass(frozen=True)
class Wanted:
    """What one unit needs of one ingredient: content in base units, strength per mL, volume in mL."""

    substance: str
    kind: str
    content: Fraction
    strength: Fraction
    withdrawable: Fraction
    diluent: Fraction | None

    @property
    def volume(self) -> Fraction:
        """Return the unrounded volume, in mL."""
        return self.content / self.strength


@dataclass(frozen=True)
class Plan:
    """What one unit takes by the order: volumes in mL."""

    wanted: tuple[Wanted, ...]
    withdrawn: Fraction
    filled: Fraction
    bag: Fraction
    overfill: Fraction
    labelled: Fraction


def plan_of(request: dict[str, Any]) -> Plan:
    """Return what one unit takes, computed from the order alone."""
    wanted = tuple(_wanted(one, request) for one in request["ingredients"])
    additive = sum((one.volume for one in wanted), Fraction(0))
    vehicle = request["vehicle"]
    if request["final_container"] != "bag":
        total = in_ml(request["final_volume"]) if request["final_volume"] else additive
        return Plan(wanted, Fraction(0), total - additive, Fraction(0), Fraction(0), total)
    bag, overfill = in_ml(vehicle["volume"]), in_ml(vehicle["overfill"])
    out = _withdrawn(request, additive, bag, overfill)
    return Plan(wanted, out, Fraction(0), bag, overfill, bag if out else bag + additive)


def check_ingredients(worksheet: dict[str, Any], request: dict[str, Any], plan: Plan) -> None:
    """Check that the worksheet states the order's own contents, strengths, flags and concentrations."""
    stated = worksheet["ingredients"]
    if len(stated) != len(plan.wanted):
        raise NotProved(what="the ingredients", found=str(len(plan.wanted)), expected=str(len(stated)))
    for said, one, asked in zip(stated, plan.wanted, request["ingredients"], strict=True):
        for fact, found in (("substance", asked["substance"]), ("hazardous", asked["hazardous"])):
            if said[fact] != found:
                raise NotProved(
                    what=f"“{fact}” of {one.substance}", found=str(found), expected=str(said[fact])
                )
        _agree(f"the content of {one.substance}", (one.content, (one.kind,)), said["dose"])
        _agree(f"the strength of {one.substance}", (one.strength, (one.kind, "volume")), said["strength"])
        _agree(f"the volume of {one.substance}", (one.volume, ("volume",)), said["volume"])
        exact = one.content / plan.labelled
        _agree(
            f"the concentration of {one.substance}",
            (exact, (one.kind, "volume")),
            said["concentration"],
            2000,
        )


def _wanted(one: dict[str, Any], request: dict[str, Any]) -> Wanted:
    content, kind = _content(one["dose"], request)
    product = one["product"]
    made = product["reconstitution"]
    strength, kinds = measured(made["strength"] if made else product["strength"])
    if kinds != (kind, "volume"):
        raise NotProved(what=f"the strength of {one['substance']}", found=product["strength"], expected=kind)
    diluent = in_ml(made["volume"]) if made else None
    return Wanted(one["substance"], kind, content, strength, in_ml(product["withdrawable"]), diluent)


def _content(dose: str, request: dict[str, Any]) -> tuple[Fraction, str]:
    """Return the ordered content for this patient, in base units, and what it measures."""
    number, kinds = measured(dose)
    if len(kinds) == 1:
        return number, kinds[0]
    weight = measured(request["body_weight"])[0]
    if kinds[1] == "body weight":
        return number * weight, kinds[0]
    return number * root(measured(request["height"])[0] * weight / 3600), kinds[0]


def _withdrawn(request: dict[str, Any], additive: Fraction, bag: Fraction, overfill: Fraction) -> Fraction:
    """Return what comes out of the bag first, by the method that the order or local policy names."""
    method = request["method"]
    if method == "policy":
        over = additive * 100 > bag * Fraction(request["policy"]["withdraw_over_percent"])
        method = "withdraw equal" if over else "add only"
    return {
        "add only": Fraction(0),
        "withdraw equal": additive,
        "withdraw additive and overfill": additive + overfill,
    }[method]


def _agree(what: str, exact: Measured, stated: str, one_in: int = 10**10) -> None:
    """Check that a stored amount is the exact one, to one part in so many."""
    number, kinds = measured(stated)
    if kinds != exact[1] or abs(number - exact[0]) * one_in > exact[0]:
        raise NotProved(what=what, found=told(exact[0], exact[1][0]), expected=stated)
