"""What each kind of step shows beside its frame: a table of small functions, one a kind."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from checklists.dissolved import without_use
from checklists.method import plunger
from checklists.method.batch import is_batch
from checklists.method.pictures import moving_syringe, picture_of, syringe_picture
from checklists.method.step_kinds import KINDS, Takes
from checklists.models import Preparation, Step
from checklists.remains import Remains
from checklists.worklists import photographs, unit_details
from checklists.worklists.arrangement import arrangement
from checklists.worklists.handwork import HANDWORK
from checklists.worklists.opened import kept_of
from checklists.worklists.order_view import order_view
from checklists.worklists.screens import ContainerView, DrawView, DwellView, PortionView, WorkingLine
from checklists.worklists.sooner import sooner
from compounding.formulary.models import Lot
from compounding.formulary.policy import current_policy
from compounding.reckoning.quantities import number_in, write
from compounding.reckoning.worksheet import Draw, Worksheet

DATE = "beyond-use date"

#: Lines of the working that are for the record rather than for the bench.
LEFT_OUT = ("containers", "true volume", "with overfill", "labelled volume", "osmolarity", "pairs looked up")


@dataclass(frozen=True)
class Case:
    """What a detail is written from."""

    preparation: Preparation
    worksheet: Worksheet
    step: Step
    now: datetime

    @property
    def draw(self) -> Draw:
        """Return the draw this step is about."""
        return Remains(self.preparation).draw(int(self.step.about["draw"]))


def of(case: Case) -> dict[str, Any]:
    """Return the fields of the step's screen that its kind fills."""
    details = DETAILS[case.step.kind](case) if case.step.kind in DETAILS else {}
    details.setdefault("picture", picture_of(case.step.kind, case.step.about, case.worksheet))
    if KINDS[case.step.kind].takes is Takes.DWELL:
        details["dwell"] = dwell(case)
        details["wants_reason"] = details["dwell"].left > 0
    return details


def dwell(case: Case) -> DwellView:
    """Return how long the step lasts and how much of it is left."""
    seconds = int(case.step.about["seconds"])
    passed = int((case.now - case.step.started_at).total_seconds()) if case.step.started_at else 0
    return DwellView(seconds, max(0, seconds - passed), sooner(case.step.kind))


def shown(case: Case) -> tuple[str, ...]:
    """Return what lies before the checker, never how much: `Syringe 1 beside vial 1 and vial 2`."""
    if is_batch(case.worksheet) and len(case.step.about.get("draws", [])) > 1:
        return (_("Each in its numbered place, capped"),)
    remains = Remains(case.preparation)
    return tuple(
        _("Syringe %(number)d beside %(containers)s")
        % {
            "number": number,
            "containers": _(" and ").join(p.container for p in remains.draw(number).sources),
        }
        for number in case.step.about.get("draws", [])
    )


def _worksheet_lines(case: Case) -> dict[str, Any]:
    """Return the order beside the lines a technician compares with it; the record holds every line."""
    lines = [line for line in case.worksheet.working if not line.about.endswith(LEFT_OUT)]
    dates = [line for line in lines if line.about == DATE]
    return {
        "order": order_view(case.preparation.order),
        "working": tuple(
            # The error budget behind a draw is for the record.
            WorkingLine(line.about, line.text.partition("; rounding")[0])
            for line in lines
            if line not in dates[:-1]
        ),
        # The first sentence: what to do about it is the pharmacist's, at the first check.
        "cautions": tuple(
            f"{one.text.removesuffix('.').partition('. ')[0]}." for one in case.worksheet.cautions
        ),
    }


def _container(case: Case) -> dict[str, Any]:
    containers = case.worksheet.containers
    key = str(case.step.about["container"])
    wanted = case.worksheet.container(str(case.step.about.get("like", key)))
    lots = Lot.objects.filter(
        product__gtin=wanted.product, state="available", expires_on__gte=timezone.localdate()
    )
    return {
        "container": ContainerView(
            key=key,
            kind=wanted.kind.value,
            name=wanted.name,
            gtin=wanted.product,
            lots=tuple(lot.number for lot in lots.order_by("expires_on")[:4]),
            number=containers.index(wanted) + 1,
            of=len(containers),
        )
    }


def _supplies(case: Case) -> dict[str, Any]:
    return {"lines": tuple(f"{supply.count} × {supply.name}" for supply in case.worksheet.supplies)}


def _label(case: Case) -> dict[str, Any]:
    code = case.preparation.code
    return {
        "about": {
            "print_url": reverse("print_labels", args=[code]),
            "label_url": reverse("label", args=[code]),
            "print_key": secrets.token_hex(16),
            "prints": str(case.preparation.labels.filter(unit=1).count()),
            "labels": case.worksheet.units,
        }
    }


def _items(case: Case) -> dict[str, Any]:
    if case.step.about.get("items"):
        return {"lines": tuple(case.step.about["items"])}
    unused = without_use(case.preparation, case.worksheet)
    containers = (one.key for one in case.worksheet.containers if one.key not in unused)
    return {"lines": (*containers, *(s.name for s in case.worksheet.supplies))}


def _sites(case: Case) -> dict[str, Any]:
    return {"lines": tuple(case.step.about["sites"])}


def _arrangement(case: Case) -> dict[str, Any]:
    return arrangement(case.preparation, case.worksheet)


def _peel(case: Case) -> dict[str, Any]:
    if case.step.about.get("draws"):
        anew = [case.worksheet.draw(number) for number in case.step.about["draws"]]
        return {
            "lines": tuple(
                _("%(size)s syringe with needle") % {"size": write(one.syringe.size)} for one in anew
            )
        }
    wrapped = [
        supply for supply in case.worksheet.supplies if "syringe" in supply.name or "needle" in supply.name
    ]
    return {"lines": tuple(f"{supply.count} × {supply.name}" for supply in wrapped)}


def _draw(case: Case) -> dict[str, Any]:
    draw, transfer = case.draw, case.worksheet.transfer_of(case.draw.number)
    size, mark = draw.syringe.size, draw.syringe.mark
    policy = current_policy()
    return {
        "draw": DrawView(
            number=draw.number,
            of=len(case.worksheet.draws),
            place=draw.destination,
            of_what=transfer.of_what,
            amount=write(draw.target),
            number_only=write(draw.target).split(" ")[0],
            syringe=_("%(size)s syringe") % {"size": write(size)},
            air=_air(draw),
            is_hazardous=case.worksheet.hazardous,
            portions=tuple(PortionView(p.container, write(p.volume)) for p in draw.sources),
            picture=syringe_picture(
                number_in(size, "mL"), number_in(mark, "mL"), number_in(draw.target, "mL")
            ),
            moving=moving_syringe(number_in(size, "mL"), number_in(mark, "mL")),
            size=write(size).split(" ")[0],
            moves_by=write(plunger.step_of(draw.syringe, policy)).split(" ")[0],
            is_by_plunger=plunger.is_asked(case.worksheet, draw.number, policy),
        )
    }


def _air(draw: Draw) -> str:
    """Say how much air goes first into each container; empty where none does."""
    if not number_in(draw.air, "mL"):
        return ""
    shares = [(portion.container, write(draw.air_into(portion), 1)) for portion in draw.sources]
    if len(shares) == 1:
        return shares[0][1]
    if len({amount for _container, amount in shares}) == 1:
        return _("%(amount)s into each") % {"amount": shares[0][1]}
    return ", ".join(f"{amount} {container}" for container, amount in shares)


def _about_draw(case: Case) -> dict[str, Any]:
    draw, transfer = case.draw, case.worksheet.transfer_of(case.draw.number)
    return {
        "about": {
            "syringe": str(draw.number),
            "what": transfer.of_what,
            "amount": write(draw.target),
            "place": draw.destination,
            "container": str(case.step.about.get("container", draw.destination)),
            "has_filter_needle": "yes" if case.step.about.get("has_filter_needle") else "",
        }
    }


def _draws(case: Case) -> dict[str, Any]:
    return {
        "lines": tuple(_("Syringe %(number)d") % {"number": number} for number in case.step.about["draws"])
    }


def _ampoule(case: Case) -> dict[str, Any]:
    return {"about": {"container": str(case.step.about["container"])}}


def _dissolve(case: Case) -> dict[str, Any]:
    return {"lines": tuple(case.step.about["containers"]), "about": {"how": str(case.step.about["how"])}}


def _mix(case: Case) -> dict[str, Any]:
    return {"lines": (case.worksheet.mixing,)}


def _unit(case: Case) -> dict[str, Any]:
    code = case.preparation.code
    return {
        "about": {
            "unit": str(case.step.about["unit"]),
            "units": str(case.worksheet.units),
            "final": case.worksheet.final_container.value,
            "label_url": reverse("label", args=[code]),
        }
    }


def _final(case: Case) -> dict[str, Any]:
    return {"about": {"final": case.worksheet.final_container.value, "storage": case.worksheet.storage}}


def _show(case: Case) -> dict[str, Any]:
    return {**unit_details.being_read(case), "about": photographs.at_the_hood(case.preparation, case.step)}


def _kept(case: Case) -> dict[str, Any]:
    return {"kept": kept_of(case.preparation)}


def _apart(case: Case) -> dict[str, Any]:
    return {**HANDWORK["dispose"](case), **_kept(case)}


DETAILS: dict[str, Callable[[Case], dict[str, Any]]] = {
    "read_worksheet": _worksheet_lines,
    "gather_container": _container,
    "gather_each": unit_details.of_one(_container),
    "gather_supplies": _supplies,
    "print_label": _label,
    "wipe_items": _items,
    "arrange": _arrangement,
    "peel_wraps": _peel,
    "show": _show,
    "swab_sites": _sites,
    "open_ampoule": _ampoule,
    "draw": _draw,
    "draw_units": unit_details.of_one_draw(_draw),
    "add_diluent_to_vial": _about_draw,
    "dissolve": _dissolve,
    "change_needle": _draws,
    "add": _about_draw,
    "add_units": unit_details.of_one_addition(_about_draw),
    "cap_syringe": _about_draw,
    "mix": _mix,
    "apply_label": _unit,
    "label_units": unit_details.of_one(_unit),
    "cover_from_light": _final,
    "reconcile": unit_details.reconciling,
    "hand_over": _final,
    **HANDWORK,
    "dispose": _apart,
}
