"""What the steps of clean hands, closed work and clean surfaces show beside their frame, one a kind."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext as _

from checklists.method.pictures import picture_of
from checklists.worklists import unit_details
from compounding.reckoning.quantities import write
from compounding.reckoning.worksheet import ContainerKind

if TYPE_CHECKING:
    from checklists.worklists.step_details import Case


def _hazard(case: Case) -> dict[str, Any]:
    """Say whether the drug is hazardous, what the unit is in, and how the air flows in this hood."""
    hood = case.preparation.hood
    return {
        "about": {
            "hazardous": "yes" if case.worksheet.hazardous else "",
            "final": case.worksheet.final_container.value,
            "airflow": hood.airflow if hood else "",
            "units": case.worksheet.units,
        }
    }


def _covers(case: Case) -> dict[str, Any]:
    hazardous = (_("second shoe covers, eye shield"),) if case.worksheet.hazardous else ()
    return {"lines": (_("shoe covers"), _("hair and beard covered"), _("face mask"), *hazardous)}


def _wash(case: Case) -> dict[str, Any]:
    return {"lines": (_("nails clean, nothing worn on hands"), _("soap and water, up to the elbows"))}


def _rub(case: Case) -> dict[str, Any]:
    gown = (
        _("chemotherapy gown, closed behind") if case.worksheet.hazardous else _("gown, closed at the cuffs")
    )
    return {"lines": (gown, _("alcohol over every part of both hands"))}


def _gloves(case: Case) -> dict[str, Any]:
    """Two pairs for hazardous drugs, tested against them: one under the cuff, one over it."""
    lines = (
        (_("inner pair under the cuff"), _("outer pair over the cuff"), _("no hole, no tear"))
        if case.worksheet.hazardous
        else (_("over the cuffs of the gown"), _("no hole, no tear"))
    )
    return {"lines": lines, **_hazard(case)}


def _devices(case: Case) -> dict[str, Any]:
    keys = case.step.about["containers"]
    bags = [key for key in keys if case.worksheet.container(key).kind is ContainerKind.BAG]
    on_vials = tuple(_("vial device on %(key)s") % {"key": key} for key in keys if key not in bags)
    return {"lines": (*on_vials, *(_("bag adapter on %(key)s") % {"key": key} for key in bags))}


def _joined(case: Case) -> dict[str, Any]:
    return {"about": {"syringe": str(case.draw.number), "container": str(case.step.about["container"])}}


def _pushed(case: Case) -> dict[str, Any]:
    """Say which drawn syringe goes into which final one: `syringe 2` there is `final syringe 2`."""
    draw = case.draw
    return {
        "about": {
            "syringe": str(draw.number),
            "container": _unit(case, draw.destination.rpartition(" ")[2]),
            "amount": write(draw.target),
            "what": case.worksheet.transfer_of(draw.number).of_what,
        }
    }


def _pushed_unit(case: Case) -> dict[str, Any]:
    """The same for a unit of a batch: its drawn syringe goes by the number of its place."""
    details = _pushed(case)
    return {"about": {**details["about"], "syringe": str(case.step.about["number"])}}


def _capped(case: Case) -> dict[str, Any]:
    unit = str(case.step.about["unit"])
    return {
        "about": {"container": _unit(case, unit), "place": unit},
        "picture": picture_of("cap_final", case.step.about, case.worksheet),
    }


def _unit(case: Case, number: str) -> str:
    return _("the final syringe") if case.worksheet.units == 1 else _("final syringe %(n)s") % {"n": number}


def _ports(case: Case) -> dict[str, Any]:
    """Name the ports where there is more than one."""
    sites = case.step.about.get("sites", [])
    return {"lines": tuple(sites) if len(sites) > 1 else ()}


def _own(case: Case) -> dict[str, Any]:
    about = case.step.about
    return {"about": {"text": about["text"], "why": about["why"], "seconds": about["seconds"]}}


def _needles(case: Case) -> dict[str, Any]:
    lines = tuple(_("Syringe %(number)d") % {"number": number} for number in case.step.about["draws"])
    return {"lines": lines, "about": {"to": case.step.about.get("to", "")}}


def _discarded(case: Case) -> dict[str, Any]:
    """Say what each syringe holds that goes to the waste; in the picture, where all hold the same."""
    held = {number: write(case.worksheet.draw(number).target) for number in case.step.about["draws"]}
    lines = tuple(
        _("Syringe %(number)d: %(amount)s") % {"number": number, "amount": amount}
        for number, amount in held.items()
    )
    amounts = set(held.values())
    return {"lines": lines, "about": {"amount": amounts.pop() if len(amounts) == 1 else ""}}


def _spill(case: Case) -> dict[str, Any]:
    return {"about": {"is_hazardous": "yes" if case.worksheet.hazardous else ""}}


def _controlled(case: Case) -> dict[str, Any]:
    names = {one.key: one.name for one in case.worksheet.containers}
    return {"lines": tuple(f"{key}: {names[key]}" for key in case.step.about["containers"])}


HANDWORK: dict[str, Callable[[Case], dict[str, Any]]] = {
    "put_on_covers": _covers,
    "wash_hands": _wash,
    "rub_hands": _rub,
    "put_on_gloves": _gloves,
    "wipe_surface": _hazard,
    "clean_spill": _spill,
    "attach_devices": _devices,
    "change_gloves": _hazard,
    "join_prefilled": _joined,
    "change_needle": _needles,
    "swab_port": _ports,
    "discard_diluent": _discarded,
    "push_over": _pushed,
    "push_units": unit_details.of_one(_pushed_unit),
    "cap_final": _capped,
    "cap_units": unit_details.of_one(_capped),
    "wipe_outside": _hazard,
    "seal_bag": _hazard,
    "dispose": _hazard,
    "account_waste": _controlled,
    "clean_up": _hazard,
    "site_step": _own,
}
