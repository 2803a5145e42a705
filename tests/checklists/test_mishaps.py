"""Whatever goes wrong, at whatever stage: the work can be finished and released, or is properly ended.

Reasons and what follows from each: shared design 1 and common practice, no source. Rules of order: shared
design 5: shown before added, the last one drawn agreed, a container scanned before it is used.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cast import Cast, Hands, key, order
from checklists import run
from checklists.method.mishaps import MISHAPS, Consequence, offers
from checklists.method.step_kinds import KINDS
from checklists.models import Hood, Person
from checklists.refusals import Disclosed
from checklists.remains import Remains
from compounding.formulary import codes
from tests.checklists.walks import beside, undone

ORDERS = {
    "powder vials": ("vancomycin-nacl-250", "1100 mg"),
    "ampoules and diluent withdrawn": ("aminophylline-d5w-100", "350 mg"),
    "two additives": ("potassium-magnesium-nacl-1000", "20 mEq|2 g"),
    "a syringe": ("ketorolac-syringe", "30 mg"),
}
CHECKERS = ("pharmacist", "second pharmacist", "third pharmacist")


def say(work: Hands, reason: str, choice: str = "") -> None:
    run.report_mishap(code=work.code, person=work.technician, key=key(), reason=reason, choice=choice)


def with_a_fourth(work: Hands) -> Hands:
    """Add a pharmacist who only resolves holds."""
    work.cast.people["deciding"] = Person.objects.filter(badge="BZZZZZZ11").first() or (
        Person.objects.create_user(badge="BZZZZZZ11", name="Anneke Thole", role="pharmacist", pin="2468")
    )
    return work


def finish(work: Hands) -> None:
    """Go on as honest people would: holds carried on, warm-up waited for, a checker who may still read."""
    while work.step and work.preparation.state not in ("released", "discarded"):
        one_step(work)


def one_step(work: Hands) -> None:
    """Do the one thing that comes next."""
    step = work.step
    if step and work.preparation.state not in ("released", "discarded"):
        if work.preparation.state == "paused":
            run.resume(code=work.code, person=work.technician, key=key())
        elif work.preparation.holds.filter(resolved_at=None).exists():
            work.resolve("carry-on", work.cast["deciding"])
        elif step.kind == "show":
            read(work)
        else:
            assert work.preparation.hood or not KINDS[step.kind].is_in_hood, f"{step.kind} outside a hood"
            work.do(step)
            warm_up(work, step.kind)


def warm_up(work: Hands, kind: str) -> None:
    if kind == "restart_hood":
        since = work.preparation.opened_at - timedelta(hours=1)
        Hood.objects.filter(made_here=work.preparation).update(running_since=since)


def read(work: Hands) -> None:
    """Let whoever may still read the syringes of this step read them."""
    step = work.step
    for draw in step.about["draws"]:
        target = f"{Remains(work.preparation).draw(draw).target.magnitude:f}"
        for person in (*map(work.cast.people.__getitem__, CHECKERS), *further_pharmacists()):
            try:
                work.see(step, draw, target, person)
            except Disclosed:
                continue
            break


def further_pharmacists() -> Iterator[Person]:
    """Call pharmacists who have not seen anything yet, one after the other."""
    for number in range(20):
        badge = codes.make("B", 5000 + number)
        yield Person.objects.filter(badge=badge).first() or Person.objects.create_user(
            badge=badge, name=f"Further pharmacist {number}", role="pharmacist", pin="2468"
        )


def obeys_the_order(work: Hands) -> None:
    """What is added was shown since it was drawn; what is drawn from was scanned before."""
    scanned: set[str] = set()
    shown: set[int] = set()
    remains = Remains(work.preparation)
    for step in remains.steps:
        about = step.about
        if step.kind == "gather_container":
            scanned.add(about["container"])
        elif step.kind == "draw":
            shown.discard(about["draw"])
        elif step.kind == "show":
            shown |= set(about["draws"])
        elif step.kind in ("add", "add_diluent_to_vial"):
            assert about["draw"] in shown
        elif step.kind in ("open_ampoule", "dissolve", "swab_sites"):
            named = {about.get("container"), *about.get("containers", []), *about.get("sites", [])}
            assert named - {None} <= scanned
    for draw in remains.worksheet.draws:
        assert {portion.container for portion in remains.draw(draw.number).sources} <= scanned


@pytest.mark.parametrize("what", ORDERS)
def test_every_reason_at_every_step_ends_in_release_or_properly(everybody: Cast, what: str, times) -> None:
    """Every day: each reason at each stage with one of the four orders; long: at each kind with all."""
    turn, of = list(ORDERS).index(what), times(len(ORDERS), 1)
    work = with_a_fourth(beside(everybody, order(*ORDERS[what])))
    seen: list[tuple[str, str]] = []
    while (step := work.step) and step.kind not in ("final_check", "release"):
        now = Remains(work.preparation).situation()
        for offer in offers(now):
            this = (offer.mishap.code, step.kind if of == 1 else now.stage.value)
            if this not in seen:
                seen.append(this)
                if len(seen) % of == turn % of:
                    with undone():
                        one_mishap(work, offer.mishap.code, *offer.choices[:1])
        work.do(step)
    assert {"broken-container", "power-cut", "called-away", "particle"} <= {code for code, _where in seen}


def one_mishap(work: Hands, reason: str, choice: str = "") -> None:
    where = f"{reason} {choice} at {work.step.kind} {work.step.about}"
    say(work, reason, choice)
    kept = work.preparation.mishaps.get()
    assert (kept.code, kept.about) == (reason, choice), where
    said = work.preparation.entries.get(act="mishap").text
    assert f'"reason":"{reason}"' in said, where
    assert MISHAPS[reason].words in said, where
    finish(work)
    ended = "discarded" if MISHAPS[reason].consequence is Consequence.ABANDON else "released"
    assert work.preparation.state == ended, where
    if ended == "released":
        obeys_the_order(work)


@pytest.mark.parametrize("what", ["powder vials", "two additives"])
def test_one_mishap_after_another_still_ends_well(everybody: Cast, what: str, times) -> None:
    """Up to four mishaps, each some steps after the one before, whatever is offered there."""
    turns = st.lists(
        st.tuples(st.integers(0, 9), st.integers(0, 99), st.integers(0, 9)), min_size=2, max_size=4
    )
    start = with_a_fourth(beside(everybody, order(*ORDERS[what]))).to("identify_hood")

    @settings(max_examples=times(3, 60), suppress_health_check=list(HealthCheck), deadline=None)
    @given(turns)
    def stumble(turns: list[tuple[int, int, int]]) -> None:
        with undone():
            stumbles(start, turns)

    stumble()


def stumbles(work: Hands, turns: list[tuple[int, int, int]]) -> None:
    for further, which, about in turns:
        for _ in range(further):
            one_step(work)
        found = offers(Remains(work.preparation).situation())
        if found and work.preparation.state == "in-work":
            offer = found[which % len(found)]
            choice = offer.choices[about % len(offer.choices)] if offer.choices else ""
            say(work, offer.mishap.code, choice)
    finish(work)
    assert work.preparation.state in ("released", "discarded")
    if work.preparation.state == "released":
        obeys_the_order(work)
        gone, holds = Remains(work.preparation).gone(), Remains(work.preparation).holds
        assert all(volume <= holds[key] for key, volume in gone.items()), (
            "no container gave more than it holds"
        )
