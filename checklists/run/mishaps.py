"""What went wrong, said at the bench: one act, and what follows from the reason."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from checklists.method import mishaps, putting_right
from checklists.method.allotting import Allotment
from checklists.method.mishaps import Asks, Consequence, Offer
from checklists.method.planned import PlannedStep
from checklists.models import Hold, Hood, Mishap, Serving, Waste
from checklists.refusals import NoSuchReason, NotSaidWhich
from checklists.remains import Remains, next_attempt
from checklists.run import opened
from checklists.run.bench import Bench, act
from checklists.run.guards import refuse_on_hold, refuse_unless_working
from checklists.run.labels import print_anew
from checklists.run.opening import give_up, put_aside
from compounding.reckoning.quantities import number_in, of, write

PAST_THE_MARK = "past-the-mark"
#: What is lost is kept as exactly as the table can, in the record alike. In mL.
LEAST = Decimal("0.000001")


@dataclass
class Case:
    """A reason being acted on: what it is about, how things stand, and the row that is kept of it."""

    bench: Bench
    offer: Offer
    choice: str
    remains: Remains
    consequence: Consequence
    kept: Mishap

    @cached_property
    def words(self) -> str:
        """Return the reason in words, with what it is about."""
        named = {Asks.SYRINGE: f"syringe {self.choice}", Asks.UNIT: f"unit {self.choice}"}
        is_alone = self.offer.mishap.asks is Asks.UNIT and self.bench.worksheet.units == 1
        about = "" if is_alone else named.get(self.offer.mishap.asks, self.choice)
        return f"{self.offer.mishap.words}: {about}" if about else self.offer.mishap.words


@act
def report_mishap(bench: Bench, *, reason: str, choice: str = "") -> None:
    """Say what went wrong, by the code of its reason, and about which syringe or container."""
    refuse_unless_working(bench)
    remains = Remains(bench.preparation)
    now = remains.situation()
    offer = mishaps.offer_of(reason, now)
    if offer is None:
        refuse_on_hold(bench)
        raise NoSuchReason()
    about = _about(offer, choice)
    consequence = mishaps.consequence_of(offer.mishap, about, now)
    kept = Mishap.objects.create(
        preparation=bench.preparation,
        step=bench.step,
        code=offer.mishap.code,
        about=about,
        consequence=consequence.value,
        person=bench.person,
        at=bench.now,
    )
    case = Case(bench, offer, about, remains, consequence, kept)
    bench.write(
        "mishap",
        reason=offer.mishap.code,
        about=about,
        words=case.words,
        stage=now.stage.value,
        consequence=consequence.value,
    )
    FOLLOWS[consequence](case)


def _about(offer: Offer, choice: str) -> str:
    if not offer.choices:
        return ""
    if len(offer.choices) == 1:
        return offer.choices[0]
    if choice not in offer.choices:
        raise NotSaidWhich(choices=", ".join(offer.choices))
    return choice


def _new_syringe(case: Case) -> None:
    """A syringe is lost with what was in it: drawn again from what is left, or from a further container."""
    number = int(case.choice)
    _waste(case, [number])
    _draw_anew(case, [number])


def _new_container(case: Case) -> None:
    """A container is spoiled: a further one takes its place, in every draw that is still to come."""
    remains, spoiled = case.remains, case.choice
    taking = [number for number in remains.in_hand if spoiled in _sources(remains, number)]
    lost = [n for n in taking if _is_lost(case, n)]
    _waste(case, lost)
    kept = sum(
        (volume for key, volume in Remains(case.bench.preparation).gone().items() if key == spoiled),
        Decimal(0),
    )
    _destroyed(case, spoiled, max(Decimal(0), remains.holds[spoiled] - kept))
    _draw_anew(case, lost, spoiled)


def _is_lost(case: Case, number: int) -> bool:
    """Say whether a syringe is lost with the container it was filled from, or is being filled from."""
    is_bag = case.offer.mishap.asks is Asks.BAG
    return case.offer.mishap.is_foul or is_bag or number == case.remains.at_draw


def _sources(remains: Remains, number: int) -> list[str]:
    return [portion.container for portion in remains.draw(number).sources]


def _waste(case: Case, draws: Iterable[int]) -> None:
    """Account for what was in these syringes: what was declared; before that, as much as was to be drawn, and
    past the mark as much as the syringe holds, though never more than its container did.
    """
    for number in draws:
        reading = case.remains.live.get(number)
        if reading is None or number == case.remains.at_draw:
            draw = case.remains.worksheet.draw(number)
            is_past = case.offer.mishap.code == PAST_THE_MARK
            volume = number_in(draw.syringe.size if is_past else draw.target, "mL")
            attempt = next_attempt(case.bench.preparation, number)
        else:
            volume, attempt = reading.volume_ml, reading.attempt
        _keep_waste(case, number, attempt, volume, is_declared=attempt == getattr(reading, "attempt", 0))


def _keep_waste(case: Case, number: int, attempt: int, volume: Decimal, *, is_declared: bool) -> None:
    gone = {} if is_declared else Remains(case.bench.preparation).gone()
    parts = [
        (key, min(part, case.remains.holds[key] - gone.get(key, Decimal(0))).quantize(LEAST))
        for key, part in case.remains.portions(number, volume)
    ]
    Waste.objects.bulk_create(
        Waste(
            preparation=case.bench.preparation,
            mishap=case.kept,
            container=key,
            draw=number,
            attempt=attempt,
            volume_ml=part,
        )
        for key, part in parts
    )
    for key, part in parts if not is_declared else ():
        opened.note_loss(case.bench, key, part)
    drawn = {key: write(of(part, "mL")) for key, part in parts}
    case.bench.write("waste", draw=number, attempt=attempt, volumes=drawn)


def _destroyed(case: Case, key: str, volume: Decimal) -> None:
    lost = volume.quantize(LEAST)
    Waste.objects.create(preparation=case.bench.preparation, mishap=case.kept, container=key, volume_ml=lost)
    opened.destroy(case.bench, key)
    case.bench.write("waste", container=key, volumes={key: write(of(lost, "mL"))})


def _draw_anew(case: Case, lost: list[int], spoiled: str = "") -> None:
    """Find what the lost draws, and those that the spoiled container would have served, come from now."""
    bench, remains = case.bench, Remains(case.bench.preparation)
    scene = case.remains.scene()
    bereft = [n for n in remains.to_draw if n not in lost and spoiled in _sources(remains, n)]
    again = [n for n in case.remains.emptied if _withdrew(case, n, spoiled)]
    _waste(case, again)
    allotment = Allotment(remains.stock({*lost, *bereft, *again}), spoiled)
    allotment.give([*again, *lost, *bereft])
    if spoiled and remains.is_bag(spoiled) and not allotment.furthers:
        allotment.open(remains.likes.get(spoiled, spoiled))
    diluents = _diluents(case, allotment)
    planned = putting_right.drawn_anew(allotment, [*again, *lost], diluents, scene, bench.policy)
    _serve(case, allotment)
    if spoiled:
        _rename(case, spoiled, allotment)
    if planned:
        bench.put_in_now(planned)


def _withdrew(case: Case, number: int, spoiled: str) -> bool:
    """Say whether that diluent was withdrawn from the bag that is spoiled: the next bag loses as much."""
    return case.remains.worksheet.draw(number).destination == "waste" and spoiled in _sources(
        case.remains, number
    )


def _diluents(case: Case, allotment: Allotment) -> list[int]:
    """Give further powder vials their diluent; what went into the old ones is gone."""
    diluents = putting_right.vials_anew(allotment, case.remains.scene())
    _waste(case, [number for number in diluents if number not in case.remains.elsewhere])
    apart = Remains(case.bench.preparation).stock(diluents)
    second = Allotment(apart, allotment.spoiled, dict(allotment.furthers))
    second.give(diluents)
    allotment.furthers, allotment.moved = second.furthers, {**allotment.moved, **second.moved}
    return diluents


def _serve(case: Case, allotment: Allotment) -> None:
    Serving.objects.bulk_create(
        Serving(preparation=case.bench.preparation, mishap=case.kept, draw=draw, container=key, served_by=by)
        for (draw, key), by in allotment.moved.items()
    )
    if allotment.moved or allotment.furthers:
        served = {f"draw {draw} from {key}": by for (draw, key), by in allotment.moved.items()}
        case.bench.write("further container", containers=allotment.furthers, serving=served)


def _rename(case: Case, spoiled: str, allotment: Allotment) -> None:
    """Let the steps still to come name the further container where they named the spoiled one."""
    like = case.remains.likes.get(spoiled, spoiled)
    new = next((key for key, other in allotment.furthers.items() if other == like), "")
    for step in case.remains.left:
        about = putting_right.renamed(step.about, spoiled, new) if new else step.about
        if about != step.about:
            step.about = about
            step.save(update_fields=["about"])


def _put_in(case: Case, planned: Iterable[PlannedStep]) -> None:
    case.bench.put_in_now(planned)


def _new_gloves(case: Case) -> None:
    _put_in(case, putting_right.new_gloves(case.bench.policy))


def _clean(case: Case) -> None:
    is_swabbed = case.remains.scene().is_swabbed
    _put_in(case, putting_right.after_spill(case.remains.sites(), is_swabbed, case.bench.policy))


def _restart(case: Case) -> None:
    """The hood stands still until somebody says that it runs: its warm-up is counted from there."""
    Hood.objects.filter(occupied_by=case.bench.preparation).update(running_since=None)
    is_swabbed = case.remains.scene().is_swabbed
    _put_in(case, putting_right.after_stop(case.remains.sites(), is_swabbed, case.bench.policy))
    if mishaps.needs_decision(case.offer.mishap, case.remains.situation()):
        _hold(case)


def _reprint(case: Case) -> None:
    print_anew(case.bench, case.words, [int(case.choice)])


def _pause(case: Case) -> None:
    put_aside(case.bench, case.words)


def _abandon(case: Case) -> None:
    give_up(case.bench, case.words)


def _hold(case: Case) -> None:
    why = mishaps.why_decided(case.offer.mishap, case.choice, case.remains.situation())
    case.bench.open_hold(Hold.Cause.SOMETHING_WRONG, note=f"{case.words}. {why}".strip())
    case.kept.hold = case.bench.preparation.holds.order_by("pk").last()
    case.kept.save(update_fields=["hold"])


FOLLOWS: dict[Consequence, Callable[[Case], None]] = {
    Consequence.REPLACE_SYRINGE: _new_syringe,
    Consequence.REPLACE_CONTAINER: _new_container,
    Consequence.NEW_GLOVES: _new_gloves,
    Consequence.CLEAN: _clean,
    Consequence.RESTART: _restart,
    Consequence.REPRINT: _reprint,
    Consequence.PAUSE: _pause,
    Consequence.HOLD: _hold,
    Consequence.ABANDON: _abandon,
}
