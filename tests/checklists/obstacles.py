"""What can stand in the way of a release: each put directly into the database, with the gate's sentence."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from cast import Hands, usable_lot
from checklists import record
from checklists.models import Hold, Label, OpenedContainer, Sighting
from compounding.formulary import codes
from compounding.formulary.models import Lot, Order


@dataclass(frozen=True)
class Obstacle:
    """One thing in the way: how it comes there, which blocker sees it, and what is said."""

    what: str
    code: str
    sentence: str
    put: Callable[[Hands], object]
    later: timedelta = timedelta(0)

    def when(self) -> datetime:
        """Return the moment of the attempt."""
        return timezone.now() + self.later


def _hold(work: Hands) -> None:
    Hold.objects.create(
        preparation=work.preparation,
        cause=Hold.Cause.SOMETHING_WRONG,
        opened_by=work.technician,
        opened_at=timezone.now(),
    )


def _order_is(state: str) -> Callable[[Hands], object]:
    closed = {"reason": "no longer wanted", "closed_by": "Dr Lena Abara"}
    return lambda work: Order.objects.filter(pk=work.order.pk).update(
        state=state, closed_at=timezone.now(), **closed
    )


def _state_is(state: str) -> Callable[[Hands], object]:
    return lambda work: type(work.preparation).objects.filter(code=work.code).update(state=state)


def _sightings(draw: int) -> Callable[[Hands], object]:
    return lambda work: Sighting.objects.filter(reading__preparation__code=work.code, reading__draw=draw)


def _last_reading_is_not_seen(work: Hands) -> None:
    """The draw was drawn again after it was seen."""
    reading = work.preparation.readings.get(draw=3)
    reading.pk, reading.attempt = None, 2
    reading.save()


def _seen_last_differs(work: Hands) -> None:
    """A later reading by another checker differs from the first, which agreed."""
    seen = _sightings(3)(work).get()
    seen.pk, seen.agrees, seen.person = None, False, work.cast["third pharmacist"]
    seen.step = work.preparation.steps.filter(kind="show").first()
    seen.save()


def _caution(work: Hands) -> None:
    """A caution that nobody was asked about at the first check."""
    preparation = work.preparation
    preparation.worksheet["cautions"] = [{"code": "weight-old", "text": "The body weight is 41 days old."}]
    preparation.save(update_fields=["worksheet"])


def _not_scanned(work: Hands) -> None:
    missing = work.preparation.materials.filter(container="vial 2")
    OpenedContainer.objects.filter(first__in=missing).delete()
    missing.delete()


def _drawn_late(work: Hands) -> None:
    """A draw taken with outer gloves worn for too long, which nobody changed since."""
    facts = {"draw": 2, "attempt": 1, "drawn": "22 mL", "at_mark": True, "lapsed": ["outer gloves"]}
    record.append(
        work.preparation, "draw", person=work.technician, at=timezone.now(), key="late", facts=facts
    )


def _no_reading(work: Hands) -> None:
    _sightings(3)(work).delete()
    work.preparation.readings.filter(draw=3).delete()


def _lot_of_vial(**changes: object) -> Callable[[Hands], object]:
    def change(work: Hands) -> None:
        lot = work.preparation.materials.get(container="vial 1").lot
        Lot.objects.filter(pk=lot.pk).update(**changes)

    return change


def _yesterday(work: Hands) -> None:
    _lot_of_vial(expires_on=timezone.localdate() - timedelta(days=1))(work)


def _wrong_product(work: Hands) -> None:
    bag = work.preparation.materials.get(container="bag").lot.product
    other = Lot.objects.filter(product__kind="bag", number="BN5011").exclude(product=bag).get()
    work.preparation.materials.filter(container="bag").update(lot=usable_lot(other.product.gtin))


def _printed_again(work: Hands) -> None:
    Label.objects.create(
        preparation=work.preparation,
        code=codes.make("L", 77),
        unit=1,
        print_number=2,
        reason="smudged",
        printed_by=work.technician,
        printed_at=timezone.now(),
    )


def _entry_changed(work: Hands) -> None:
    entry = work.preparation.entries.get(number=5)
    work.preparation.entries.filter(number=5).update(text=entry.text.replace("vial", "bial", 1))


def _volume_changed(work: Hands) -> None:
    """The number itself was changed, and the verdict beside it left standing."""
    _sightings(3)(work).update(volume_ml="20")


VIAL = "vancomycin 1 g powder vial, lot HV2298"

OBSTACLES = (
    Obstacle("an open hold", "hold-open", "A hold is open: something is wrong.", _hold),
    Obstacle("a cancelled order", "order-not-active", "The order was cancelled.", _order_is("cancelled")),
    Obstacle("a superseded order", "order-not-active", "The order was superseded.", _order_is("superseded")),
    Obstacle("work not handed over", "not-handed-over", "It is not handed over yet.", _state_is("in-work")),
    Obstacle("paused work", "not-handed-over", "It is not handed over yet.", _state_is("paused")),
    Obstacle("work released before", "ended-already", "It is released already.", _state_is("released")),
    Obstacle("discarded work", "ended-already", "It is discarded already.", _state_is("discarded")),
    Obstacle(
        "a first check missing",
        "first-check-missing",
        "The first check of vancomycin is missing.",
        lambda work: work.preparation.recalculations.filter(transfer=2).delete(),
    ),
    Obstacle(
        "a first check that differs",
        "first-check-missing",
        "The first check of vancomycin differs.",
        lambda work: work.preparation.recalculations.filter(transfer=2).update(agrees=False),
    ),
    Obstacle(
        "a caution without a reason",
        "caution-without-reason",
        "No reason is recorded for this: The body weight is 41 days old.",
        _caution,
    ),
    Obstacle("a drawn amount missing", "amount-missing", "Draw 3 has no drawn amount.", _no_reading),
    Obstacle(
        "a seen amount missing",
        "amount-missing",
        "Draw 3 was not seen by a checker.",
        lambda work: _sightings(3)(work).delete(),
    ),
    Obstacle(
        "a draw drawn again and not seen again",
        "amount-missing",
        "Draw 3 was not seen by a checker.",
        _last_reading_is_not_seen,
    ),
    Obstacle(
        "amounts that disagree",
        "amounts-disagree",
        "The three amounts of draw 2 disagree.",
        lambda work: _sightings(2)(work).update(agrees=False),
    ),
    Obstacle(
        "a later reading that disagrees",
        "amounts-disagree",
        "The three amounts of draw 3 disagree.",
        _seen_last_differs,
    ),
    Obstacle(
        "a seen amount changed under its verdict",
        "amounts-disagree",
        "The three amounts of draw 3 disagree.",
        _volume_changed,
    ),
    Obstacle(
        "a draw after a clock had run out",
        "clock-not-mended",
        "Draw 2 was taken when a time was over (outer gloves), and nothing mended it.",
        _drawn_late,
    ),
    Obstacle(
        "a container not scanned",
        "material-unfit",
        "Vial 2 was not scanned.",
        _not_scanned,
    ),
    Obstacle("an expired lot", "material-unfit", f"{VIAL} has expired.", _yesterday),
    Obstacle(
        "a quarantined lot", "material-unfit", f"{VIAL} is quarantined.", _lot_of_vial(state="quarantined")
    ),
    Obstacle("a recalled lot", "material-unfit", f"{VIAL} is recalled.", _lot_of_vial(state="recalled")),
    Obstacle(
        "a wrong product",
        "material-unfit",
        "Bag is sodium chloride 0.9 % 50 mL bag, not sodium chloride 0.9 % 250 mL bag.",
        _wrong_product,
    ),
    Obstacle(
        "a label not scanned back",
        "label-not-scanned-back",
        "The label was not scanned back.",
        lambda work: work.preparation.labels.update(scanned_back_at=None),
    ),
    Obstacle(
        "a label printed again since",
        "label-not-scanned-back",
        "The label was not scanned back.",
        _printed_again,
    ),
    Obstacle(
        "no label at all",
        "label-not-scanned-back",
        "The label was not printed.",
        lambda work: work.preparation.labels.all().delete(),
    ),
    Obstacle(
        "a beyond-use time that is over",
        "beyond-use-lapsed",
        "Its beyond-use time ended ",
        lambda work: Lot.objects.update(expires_on=timezone.localdate() + timedelta(days=900)),
        later=timedelta(days=11),
    ),
    Obstacle(
        "a changed entry",
        "record-broken",
        "Entry 5 of its record is not as it was written.",
        _entry_changed,
    ),
)
