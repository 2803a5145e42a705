"""Scans that finish a step: a container that was gathered, the hood, the label put on."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.formats import date_format

from checklists import labelled
from checklists.counting import rejected_units
from checklists.models import Hood, Label, Material, OpenedContainer, Step
from checklists.refusals import (
    HoodNotCertified,
    HoodNotForHazardous,
    HoodNotWarm,
    LabelDiffers,
    LabelIsVoid,
    LabelOfAnother,
    LabelOfAnotherUnit,
    LabelOfRejected,
    LabelOutdated,
    NoSuchHood,
    NotALabel,
)
from checklists.run import gathered, sharing
from checklists.run.bench import Bench
from checklists.run.fitness import refuse_unqualified
from checklists.run.opening import occupy_hood
from compounding.formulary import codes, scanning
from compounding.formulary.models import Lot
from compounding.reckoning.worksheet import ContainerKind

Given = Mapping[str, str]


def container(bench: Bench, step: Step, given: Given) -> dict[str, object]:
    """Take the container that was scanned: the right product, a lot in stock, in date, each one once."""
    like = str(step.about.get("like", ""))
    key = str(step.about["container"])
    wanted = bench.worksheet.container(like or key)
    taken = gathered.scanned(bench, wanted, given.get("scan", ""))
    lot = taken.lot
    Material.objects.create(
        preparation=bench.preparation,
        container=key,
        stands_for=like,
        lot=lot,
        serial=taken.serial,
        opened=taken.opened,
        person=bench.person,
        at=bench.now,
    )
    if taken.opened and wanted.kind is ContainerKind.POWDER_VIAL:
        sharing.end_steps(bench, key, taken.opened)
    ends = _ends(lot, taken.opened)
    if ends < bench.preparation.beyond_use_at:
        bench.preparation.beyond_use_at = ends
        bench.preparation.save(update_fields=["beyond_use_at"])
    return {
        "container": key,
        "gtin": lot.product.gtin,
        "lot": lot.number,
        "expires": lot.expires_on.isoformat(),
        "serial": taken.serial,
        "opened": taken.opened.code if taken.opened else "",
    }


def _ends(lot: Lot, opened: OpenedContainer | None) -> datetime:
    """Return when a container may no longer be used: its lot ends, or its time since it was opened."""
    return opened.use_ends_at if opened else lot.expires_at


def hood(bench: Bench, step: Step, given: Given) -> dict[str, object]:
    """Take the hood that was scanned: free, certified, running long enough, right for this preparation."""
    code = scanning.read_own_code(given.get("scan", ""), "H")
    found = Hood.objects.select_for_update(no_key=True).filter(code=code).first()
    if found is None:
        raise NoSuchHood(code=codes.grouped(code))
    if bench.worksheet.hazardous and not found.takes_hazardous:
        raise HoodNotForHazardous(hood=found.name)
    if found.certified_until < timezone.localdate(bench.now):
        raise HoodNotCertified(hood=found.name, until=date_format(found.certified_until))
    _refuse_cold(bench, found)
    refuse_unqualified(bench.person, timezone.localdate(bench.now), hazardous=bench.worksheet.hazardous)
    occupy_hood(bench, found)
    return {"hood": found.name, "code": found.code, "airflow": found.airflow}


def _refuse_cold(bench: Bench, found: Hood) -> None:
    needed = timedelta(minutes=bench.policy.warm_up_minutes)
    if found.running_since is None or bench.now - found.running_since < needed:
        ready = timezone.localtime(found.running_since + needed) if found.running_since else None
        raise HoodNotWarm(
            hood=found.name,
            minutes=str(bench.policy.warm_up_minutes),
            ready=f"It is ready at {ready:%H:%M}." if ready else "It is not recorded as switched on.",
        )


def label(bench: Bench, step: Step, given: Given) -> dict[str, object]:
    """Take the label scanned back: the last one printed for this very unit of this preparation."""
    code = scanning.read_own_code(given.get("scan", ""), "L")
    found = Label.objects.select_related("preparation").filter(code=code).first()
    if found is None:
        raise NotALabel(code=codes.grouped(code))
    if found.preparation_id != bench.preparation.pk:
        raise LabelOfAnother(
            other=codes.grouped(found.preparation.code), this=codes.grouped(bench.preparation.code)
        )
    unit = int(step.about["unit"])
    if found.unit in rejected_units(bench.preparation):
        raise LabelOfRejected(unit=str(found.unit))
    if found.unit != unit:
        raise LabelOfAnotherUnit(found=str(found.unit), wanted=str(unit))
    if Label.objects.filter(
        preparation=bench.preparation, unit=unit, print_number__gt=found.print_number
    ).exists():
        raise LabelIsVoid(number=str(found.print_number))
    if _is_outdated(bench, found):
        raise LabelOutdated()
    for one in labelled.differences(found, labelled.text_of(bench.preparation, bench.worksheet, unit)):
        raise LabelDiffers(printed=one.printed or "nothing", wanted=one.wanted or "nothing")
    found.scanned_back_at = bench.now
    found.save(update_fields=["scanned_back_at"])
    return {"label": code, "unit": unit, "print": found.print_number}


def _is_outdated(bench: Bench, label: Label) -> bool:
    """Say whether a container gathered after the label was printed shortened the beyond-use time on it."""
    later = bench.preparation.materials.filter(at__gt=label.printed_at).select_related("lot", "opened")
    return any(_ends(one.lot, one.opened) == bench.preparation.beyond_use_at for one in later)
