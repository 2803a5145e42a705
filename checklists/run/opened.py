"""Containers from their first puncture to the waste: how long and how much of each may still be used."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from checklists.dissolved import serves_again
from checklists.models import Material, OpenedContainer, Person, Preparation
from checklists.refusals import NoSuchContainer
from checklists.run.bench import Bench
from compounding.formulary import codes, in_use
from compounding.formulary.models import Product
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import number_in, read
from compounding.reckoning.worksheet import ContainerKind, Draw

#: What is punctured to be drawn from; a bag is the preparation itself.
DRAWN_FROM = (ContainerKind.SOLUTION_VIAL, ContainerKind.POWDER_VIAL, ContainerKind.AMPOULE)


def use_ends(product: Product, opened_at: datetime, expires_at: datetime, policy: Policy) -> datetime:
    """Return when an opened container may no longer be used, never after its lot expires."""
    return min(opened_at + in_use.lasts(product, policy), expires_at)


def note_draw(bench: Bench, number: int) -> None:
    """Note that containers were entered for this draw: opened if they were not, and less left in them."""
    its = bench.preparation.materials.select_related("lot__product", "opened").order_by("pk")
    materials = {one.container: one for one in its}
    served = dict(bench.preparation.servings.filter(draw=number).values_list("container", "served_by"))
    for place, volume in _entered(bench.worksheet.draw(number)):
        key = served.get(place, place)
        if key in materials and materials[key].lot.product.container in DRAWN_FROM:
            _take(_opened(bench, materials[key]), volume)


def _entered(draw: Draw) -> Iterable[tuple[str, Decimal]]:
    """Yield each container that the draw enters and how much it takes; diluent put into a vial opens it."""
    yield draw.destination, Decimal(0)
    for portion in draw.sources:
        yield portion.container, number_in(portion.volume, "mL")


def _opened(bench: Bench, material: Material) -> OpenedContainer:
    known = material.opened or OpenedContainer.objects.filter(first=material).first()
    return known or _first_puncture(bench, material)


def _first_puncture(bench: Bench, material: Material) -> OpenedContainer:
    product = material.lot.product
    return OpenedContainer.objects.create(
        code=codes.make("C", secrets.token_bytes(5)),
        lot=material.lot,
        serial=material.serial,
        first=material,
        opened_for=bench.preparation,
        opened_at=bench.now,
        opened_by=bench.person,
        hood=bench.preparation.hood,
        use_ends_at=use_ends(product, bench.now, material.lot.expires_at, bench.policy),
        left_ml=number_in(read(product.withdrawable or product.volume), "mL"),
    )


def note_loss(bench: Bench, key: str, volume: Decimal) -> None:
    """Note that this much of a container was drawn and lost before it was declared: that opened it too."""
    material = _material(bench, key)
    if material and material.lot.product.container in DRAWN_FROM:
        _take(_opened(bench, material), volume)


def destroy(bench: Bench, key: str) -> None:
    """Declare an opened container spoiled: it serves nobody any more."""
    found = _of_place(bench, key)
    if found and found.discarded_at is None:
        _discard(found, bench.person, bench.now)


def _of_place(bench: Bench, key: str) -> OpenedContainer | None:
    material = _material(bench, key)
    if material is None:
        return None
    return material.opened or OpenedContainer.objects.filter(first=material).first()


def _material(bench: Bench, key: str) -> Material | None:
    its = bench.preparation.materials.filter(container=key)
    return its.select_related("lot__product", "opened").first()


def moment(at: datetime) -> str:
    """Return a time as a refusal writes it."""
    local = timezone.localtime(at)
    return f"{local.day} {local:%b %H:%M}"


def _take(opened: OpenedContainer, volume: Decimal) -> None:
    opened.left_ml = max(Decimal(0), opened.left_ml - volume)
    opened.save(update_fields=["left_ml"])


def of(preparation: Preparation) -> Q:
    """Return what finds the containers that a preparation opened or took up again."""
    return Q(opened_for=preparation) | Q(taken_again__preparation=preparation)


def put_away(bench: Bench) -> None:
    """Declare to the waste what serves one preparation only, and what is empty; the others stay."""
    for opened in OpenedContainer.objects.filter(of(bench.preparation), discarded_at=None).distinct():
        if not (opened.left_ml and serves_again(opened, bench.worksheet, bench.policy)):
            _discard(opened, bench.person, bench.now)


def discard_container(*, code: str, person: Person) -> None:
    """Declare an opened container put to the waste."""
    with transaction.atomic(durable=True):
        opened = OpenedContainer.objects.select_for_update().filter(code=code).first()
        if opened is None:
            raise NoSuchContainer(code=codes.grouped(code) if len(code) == codes.LENGTH else code)
        if opened.discarded_at is None:
            _discard(opened, person, timezone.now())


def _discard(opened: OpenedContainer, person: Person, at: datetime) -> None:
    opened.discarded_at, opened.discarded_by = at, person
    opened.save(update_fields=["discarded_at", "discarded_by"])
