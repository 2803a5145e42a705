"""Powder vials that were dissolved for one preparation and serve the next.

How a vial was dissolved is looked up in the record of the preparation that did it, each time it matters: when
it is gathered, before each draw from it, and at release. Nothing about it is copied and then believed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Q, QuerySet

from checklists.agreeing import Amounts, amounts_of
from checklists.clocks import taken_from
from checklists.models import Material, OpenedContainer, Preparation, Step
from compounding.formulary.models import Lot
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import ContainerKind, Draw, Purpose, Worksheet, from_plain


@dataclass(frozen=True)
class Vial:
    """A vial that was dissolved for another preparation, at the place `key` of this one's worksheet."""

    here: Preparation
    worksheet: Worksheet
    key: str
    opened: OpenedContainer

    @property
    def there(self) -> Preparation:
        """Return the preparation that it was dissolved for."""
        return self.opened.opened_for

    @cached_property
    def worksheet_there(self) -> Worksheet:
        """Return that preparation's worksheet."""
        return from_plain(self.there.worksheet)

    @property
    def key_there(self) -> str:
        """Return what it was called there."""
        return str(self.opened.first.container)

    @property
    def place_there(self) -> str:
        """Return whose place in that worksheet it took."""
        return str(self.opened.first.stands_for or self.opened.first.container)

    @cached_property
    def draws(self) -> tuple[Draw, ...]:
        """Return the draws of this worksheet that would dissolve it."""
        return diluent_draws(self.worksheet, self.key)

    @cached_property
    def amounts(self) -> tuple[Amounts, ...]:
        """Return the amounts of the draws that dissolved it, as they stand there."""
        draws = diluent_draws(self.worksheet_there, self.place_there)
        return tuple(amounts_of(self.there, draw) for draw in draws)

    @cached_property
    def steps_there(self) -> list[Step]:
        """Return the finished steps there that put the diluent in and dissolved it."""
        done = self.there.steps.filter(kind__in=("add_diluent_to_vial", "dissolve")).exclude(finished_at=None)
        return [one for one in done if self.key_there in _containers(one)]

    @property
    def diluent_lots(self) -> QuerySet[Lot]:
        """Return the lots that it was dissolved in."""
        numbers = [one.draw.number for one in self.amounts]
        taken = [taken_from(self.there, self.worksheet_there, number) for number in numbers]
        keys = [key for places in taken for key in places.values()]
        return Lot.objects.filter(used_in__preparation=self.there, used_in__container__in=keys).distinct()

    @property
    def is_drawn_late(self) -> bool:
        """Say whether something was drawn from it here after its time had ended or it was in the waste."""
        ends = min(filter(None, (self.opened.use_ends_at, self.opened.discarded_at)))
        numbers = [
            one.number for one in self.worksheet.draws if self.key in _taken(self.here, self.worksheet, one)
        ]
        return self.here.readings.filter(draw__in=numbers, at__gt=ends).exists()


def _taken(here: Preparation, worksheet: Worksheet, draw: Draw) -> Iterable[str]:
    return taken_from(here, worksheet, draw.number).values()


def diluent_draws(worksheet: Worksheet, place: str) -> tuple[Draw, ...]:
    """Return the draws that dissolve the vial at that place of a worksheet."""
    return tuple(
        draw
        for transfer in worksheet.transfers
        if transfer.purpose is Purpose.RECONSTITUTE
        for draw in transfer.draws
        if draw.destination == place
    )


def vials(preparation: Preparation, worksheet: Worksheet) -> tuple[Vial, ...]:
    """Return the vials of a preparation that were dissolved for another, without those spoiled since."""
    spoiled = set(preparation.waste.filter(draw=None).values_list("container", flat=True))
    return tuple(vial for vial in _ever(preparation, worksheet) if vial.key not in spoiled)


def done_elsewhere(preparation: Preparation, worksheet: Worksheet) -> set[int]:
    """Return the draws of diluent that vials dissolved for another took the place of, also of spoiled ones.

    Once such a vial was replaced and the draw was done here, it is no longer among them.
    """
    done = {draw.number for vial in _ever(preparation, worksheet) for draw in vial.draws}
    return done - set(preparation.readings.filter(draw__in=done).values_list("draw", flat=True))


def _ever(preparation: Preparation, worksheet: Worksheet) -> tuple[Vial, ...]:
    taken = preparation.materials.exclude(opened=None).order_by("pk")
    found = taken.select_related("opened__first", "opened__opened_for", "opened__lot__product")
    return tuple(_vial(one, worksheet) for one in found if is_powder(worksheet, one.container))


def _vial(material: Material, worksheet: Worksheet) -> Vial:
    assert material.opened is not None
    return Vial(material.preparation, worksheet, material.container, material.opened)


def is_powder(worksheet: Worksheet, key: str) -> bool:
    """Say whether a powder vial of the worksheet itself stands at that place."""
    kinds = {one.key: one.kind for one in worksheet.containers}
    return kinds.get(key) is ContainerKind.POWDER_VIAL


def without_use(preparation: Preparation, worksheet: Worksheet) -> set[str]:
    """Return the diluents that are not gathered, because nothing here is dissolved in them any more."""
    done = done_elsewhere(preparation, worksheet)
    if not _ever(preparation, worksheet):
        return set()
    draws = (draw for draw in worksheet.draws if draw.number not in done)
    used = {key for draw in draws for key in _taken(preparation, worksheet, draw)}
    scanned = set(preparation.materials.values_list("container", flat=True))
    return {one.key for one in worksheet.containers if one.role == "diluent"} - used - scanned


def serves_again(opened: OpenedContainer, worksheet: Worksheet, policy: Policy) -> bool:
    """Say whether an opened container may serve a further preparation: multi-dose, or a powder by policy.

    A powder that is hazardous never does, nor one whose rest is destroyed before a witness.
    """
    product = opened.lot.product
    if product.container is not ContainerKind.POWDER_VIAL:
        return bool(product.is_multi_dose)
    is_shared = policy.shares_dissolved and not product.is_controlled
    return bool(product.is_multi_dose or is_shared) and not worksheet.hazardous


def preparations_with(lot: Lot) -> list[int]:
    """Return every preparation that holds a lot, also in a vial that was dissolved in it for another."""
    holding = set(lot.used_in.values_list("preparation", flat=True))
    borrowed = Preparation.objects.filter(materials__opened__opened_for__in=holding).distinct()
    in_a_vial = {one.pk for one in borrowed if any(lot in v.diluent_lots for v in _vials_of(one))}
    return sorted(holding | in_a_vial)


def lots_of(preparation: Preparation) -> QuerySet[Lot]:
    """Return every lot in a preparation, those too in which its vials were dissolved for another."""
    its = Q(used_in__preparation=preparation)
    for vial in _vials_of(preparation):
        its |= Q(pk__in=vial.diluent_lots.values("pk"))
    return Lot.objects.filter(its).distinct()


def _vials_of(preparation: Preparation) -> tuple[Vial, ...]:
    if not preparation.materials.exclude(opened=None).exists():
        return ()  # asked at every step: most worksheets need not be read for it
    return vials(preparation, from_plain(preparation.worksheet))


def _containers(step: Step) -> Iterable[str]:
    return step.about.get("containers") or (step.about.get("container"),)
