"""What runs out during the work: said at once, mended by a step of its own, or refused in words.

Limits: work surface every 30 minutes, single-dose vial 12 h in ISO 5, multi-dose 28 d (USP <797>
2023, memory); the time in process is the site's own, no source. The server's clock judges.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from cast import Cast, Hands, key, order
from checklists import clocks, run
from checklists.audit import first_fault
from checklists.clocks import Name
from checklists.models import Hood, Preparation
from checklists.refusals import BeyondUseOver, InProcessOver, NotReleasable
from compounding.formulary.policy import current_policy
from compounding.reckoning.refusals import Refusal
from tests.checklists.walks import at_drug_show, beside, everything, sign_in, words

MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


@pytest.fixture(scope="module")
def drawing(house: Cast) -> Hands:
    """At the first of three draws, the diluent's."""
    return beside(house, order("vancomycin-nacl-250", "1100 mg")).to("draw")


def until(work: Hands, name: Name, now: datetime | None = None) -> datetime:
    """Return when that clock of the work runs out."""
    found = clocks.running(work.preparation, current_policy(), now or timezone.now())
    return next(clock.until for clock in found if clock.name is name)


def names(work: Hands, now: datetime) -> set[Name]:
    found = clocks.running(work.preparation, current_policy(), now)
    return {clock.name for clock in clocks.over(found, now)}


def kinds_left(work: Hands) -> list[str]:
    return list(work.preparation.steps.filter(finished_at=None).values_list("kind", flat=True))


def refused(work: Hands, kind: type[Refusal], at: datetime, **given: str) -> str:
    """Return the sentence of a refusal that changed nothing."""
    before = everything()
    with time_machine.travel(at, tick=False), pytest.raises(kind) as refusal:
        work.finish(work.step, **given)
    assert everything() == before
    return refusal.value.sentence


# --- the surface


def test_a_surface_is_over_to_the_second(everybody: Cast, drawing: Hands) -> None:
    ends = until(drawing, Name.SURFACE)
    assert ends - drawing.preparation.hood.surface_wiped_at == 30 * MINUTE
    assert names(drawing, ends - timedelta(seconds=1)) == set()
    assert names(drawing, ends) == {Name.SURFACE}


def test_a_transfer_under_way_is_finished_and_the_surface_wiped_before_the_next(
    everybody: Cast, drawing: Hands
) -> None:
    at = until(drawing, Name.SURFACE) + MINUTE
    with time_machine.travel(at, tick=True):
        assert drawing.step.kind == "draw"
        while drawing.step.kind != "wipe_surface":
            drawing.do()
        # Diluent drawn, shown, added and dissolved; then the sites are made ready for the drug.
        assert drawing.done[-1] == "dissolve"
        assert kinds_left(drawing)[:3] == ["wipe_surface", "disinfect_gloves", "swab_sites"]
        drawing.do()
        assert names(drawing, timezone.now()) == set()
        assert drawing.to_release().preparation.state == "released"
    assert drawing.done.count("wipe_surface") == 1 + 1
    assert first_fault(drawing.preparation) is None


def test_a_draw_taken_meanwhile_says_so_in_the_record(everybody: Cast, drawing: Hands) -> None:
    with time_machine.travel(until(drawing, Name.SURFACE) + MINUTE, tick=True):
        drawing.do()
    entry = drawing.preparation.entries.filter(act="draw").last()
    assert '"lapsed":["surface"]' in entry.text


def test_a_draw_in_time_says_nothing_of_it(everybody: Cast, drawing: Hands) -> None:
    drawing.do()
    assert "lapsed" not in drawing.preparation.entries.filter(act="draw").last().text


def test_a_surface_that_nobody_wiped_since_a_draw_shuts_the_gate(everybody: Cast, drawing: Hands) -> None:
    with time_machine.travel(until(drawing, Name.SURFACE) + MINUTE, tick=True):
        drawing.to("release")
        drawn = drawing.preparation.entries.filter(act="draw").first().at
        wiped = drawing.preparation.steps.filter(kind__in=("wipe_surface", "clean_up"))
        wiped.filter(finished_at__gt=drawn).update(finished_at=drawn - HOUR)
        with pytest.raises(NotReleasable) as shut:
            drawing.release()
    assert [(one.code, one.sentence) for one in shut.value.reasons] == [
        (
            "clock-not-mended",
            f"Draw {number} was taken when a time was over (surface), and nothing mended it.",
        )
        for number in (1, 2)
    ]


def test_the_reason_for_the_step_stands_on_it(everybody: Cast, drawing: Hands) -> None:
    with time_machine.travel(until(drawing, Name.SURFACE) + MINUTE, tick=True):
        drawing.to("wipe_surface")
        page = words(sign_in(drawing.technician).get(reverse("step", args=[drawing.code])))
    assert "The surface was wiped more than 30 minutes ago: wipe it, then go on." in page


def test_a_pause_at_the_wiping_enters_a_cleared_hood_anew(everybody: Cast, drawing: Hands) -> None:
    with time_machine.travel(until(drawing, Name.SURFACE) + MINUTE, tick=True):
        drawing.to("wipe_surface")
        run.pause(code=drawing.code, person=drawing.technician, key=key(), reason="called away")
        run.clear_hood(code=drawing.code, person=drawing.technician, key=key())
        run.resume(code=drawing.code, person=drawing.technician, key=key())
        garb = ["put_on_covers", "wash_hands", "rub_hands", "put_on_gloves"]
        assert kinds_left(drawing)[:5] == [*garb, "identify_hood"]
        assert {"arrange", "swab_sites", "peel_wraps"} <= set(kinds_left(drawing))
        assert drawing.to_release().preparation.state == "released"


# --- outer gloves at hazardous work: changed after 30 minutes (USP <800>, memory)


@pytest.fixture(scope="module")
def hazardous(house: Cast) -> Hands:
    return beside(house, order("fluorouracil-nacl-500", "800 mg")).to("draw")


def test_a_draw_pressed_after_the_gloves_time_is_not_taken_before_they_are_changed(
    everybody: Cast, hazardous: Hands
) -> None:
    ends, step = until(hazardous, Name.GLOVES), hazardous.step
    with time_machine.travel(ends + MINUTE, tick=True):
        hazardous.finish(step, stands="1")
        assert not hazardous.preparation.readings.exists()
        ways = ["wipe_surface", "disinfect_gloves", "change_gloves", "disinfect_gloves", "draw"]
        assert kinds_left(hazardous)[:5] == ways
        hazardous.to("change_gloves")
        page = words(sign_in(hazardous.technician).get(reverse("step", args=[hazardous.code])))
        assert "worn for 30 minutes: change them, then go on" in page
        hazardous.do()
        hazardous.do()
        assert (hazardous.step.kind, hazardous.step.place) == ("draw", step.place)
        assert until(hazardous, Name.GLOVES) - timezone.now() > 29 * MINUTE
        assert hazardous.to_release().preparation.state == "released"
    assert first_fault(hazardous.preparation) is None


def test_gloves_worn_out_while_a_checker_reads_are_changed_before_the_add(
    everybody: Cast, hazardous: Hands
) -> None:
    hazardous.to("show")
    with time_machine.travel(until(hazardous, Name.GLOVES) + MINUTE, tick=True):
        hazardous.do()
        assert kinds_left(hazardous)[:2] == ["change_gloves", "disinfect_gloves"]


def test_gloves_have_no_clock_at_other_work(everybody: Cast, drawing: Hands) -> None:
    found = clocks.running(drawing.preparation, current_policy(), timezone.now())
    assert Name.GLOVES not in {clock.name for clock in found}


# --- in process, and beyond use


def test_work_too_long_in_process_stops_until_a_pharmacist_decides(everybody: Cast, drawing: Hands) -> None:
    drawing.to("show")
    ends = until(drawing, Name.IN_PROCESS)
    first = drawing.preparation.readings.order_by("at")[0].at
    assert ends - first == 6 * HOUR
    with time_machine.travel(ends + MINUTE, tick=True):
        drawing.do()  # reading is the checker's, and spoils nothing
        said = refused(drawing, InProcessOver, ends + 2 * MINUTE)
        assert "more than 6 h ago. Nothing more is drawn or added" in said
        run.raise_hold(code=drawing.code, person=drawing.technician, key=key(), note="6 h are over")
        drawing.resolve("carry-on")
        assert drawing.to_release().preparation.state == "released"


def test_what_is_beyond_its_use_is_neither_made_nor_released(everybody: Cast, drawing: Hands) -> None:
    soon, printed = timezone.now() + 20 * MINUTE, drawing.preparation.beyond_use_at
    kept = Preparation.objects.filter(code=drawing.code)
    kept.update(beyond_use_at=soon)
    assert "can never be released" in refused(drawing, BeyondUseOver, soon, stands="1")
    kept.update(beyond_use_at=printed)  # as its label says
    drawing.to("release")
    kept.update(beyond_use_at=soon)
    with time_machine.travel(soon, tick=False), pytest.raises(NotReleasable) as shut:
        drawing.release()
    assert "beyond-use-lapsed" in [reason.code for reason in shut.value.reasons]


# --- what the tablet hears and shows


def test_the_tablet_hears_by_itself_that_a_clock_ran_out(everybody: Cast, drawing: Hands) -> None:
    tablet, where = sign_in(drawing.technician), reverse("poll_step", args=[drawing.code])
    ends = until(drawing, Name.SURFACE)

    def poll(at: datetime, mark: str):
        with time_machine.travel(at, tick=False):
            return tablet.get(where, HTTP_IF_NONE_MATCH=mark, HTTP_HX_REQUEST="true")

    mark = poll(ends - 6 * MINUTE, "").headers["ETag"]
    assert poll(ends - timedelta(seconds=1), mark).status_code == 304
    answer = poll(ends, mark)
    assert answer.status_code == 200
    assert "more than 30 minutes ago. Finish this transfer; the surface is wiped next." in words(answer)
    assert poll(ends + MINUTE, answer.headers["ETag"]).status_code == 304


def test_the_clock_is_shown_small_and_large_when_it_ends(everybody: Cast, drawing: Hands) -> None:
    tablet, ends = sign_in(drawing.technician), until(drawing, Name.SURFACE)
    for left, shown, is_soon in ((20, "20 min", False), (5, "5 min", True)):
        with time_machine.travel(ends - left * MINUTE, tick=False):
            clock = tablet.get(reverse("step", args=[drawing.code])).context["screen"].clocks[0]
        assert (clock.label, clock.left, clock.is_soon) == ("Surface", shown, is_soon)


def test_a_hood_that_warms_up_says_when_it_is_ready(everybody: Cast) -> None:
    work = beside(everybody, order("ondansetron-nacl-50", "8 mg")).to("identify_hood")
    now = timezone.now()
    Hood.objects.filter(pk=work.cast.hood.pk).update(running_since=now - 18 * MINUTE)
    tablet, where = sign_in(work.technician), reverse("poll_step", args=[work.code])
    with time_machine.travel(now, tick=False):
        answer = tablet.get(where, HTTP_IF_NONE_MATCH="", HTTP_HX_REQUEST="true")
    assert f"{work.cast.hood.name.capitalize()} ready in 12 min" in words(answer)
    with time_machine.travel(now + 12 * MINUTE, tick=False):
        answer = tablet.get(where, HTTP_IF_NONE_MATCH=answer.headers["ETag"], HTTP_HX_REQUEST="true")
    assert answer.status_code == 200
    assert "ready in" not in words(answer)


def test_while_a_draw_is_read_its_screen_says_what_ran_out_and_no_amount(everybody: Cast) -> None:
    work = at_drug_show(beside(everybody, order("vancomycin-nacl-250", "865 mg")))
    with time_machine.travel(until(work, Name.SURFACE) + MINUTE, tick=False):
        page = words(sign_in(work.technician).get(reverse("step", args=[work.code])))
    assert "the surface is wiped next" in page
    assert "17.5" not in page
