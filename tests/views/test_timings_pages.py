"""The supervisor's timings: what they say, whom they name, what they give as CSV; and the invented past."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from django.utils import timezone

from cast import Cast, cast, order
from checklists.daybook import DAY
from checklists.management.commands import make_history
from checklists.models import Person, Preparation, Sighting
from checklists.views import timings
from checklists.worklists.charts import axis, short
from checklists.worklists.durations import WAYS
from compounding.formulary.policy import change_policy
from tests.checklists.walks import sign_in, undone, words


@pytest.fixture(scope="module")
def storied(django_db_setup, django_db_blocker, tmp_path_factory) -> Cast:
    """The demo's scenario with a past of sixty preparations over ten days."""
    with django_db_blocker.unblock(), undone():
        everybody = cast()
        for formulation, dose in (("vancomycin-nacl-250", "1100 mg"), ("ondansetron-nacl-50", "8 mg")):
            order(formulation, dose)
        call_command("make_history", preparations=60, days=10, seed=4, stdout=io.StringIO())
        yield everybody


@pytest.fixture
def desk(storied: Cast, db):
    return sign_in(storied["supervisor"])


def sheet(answer) -> list[list[str]]:
    return list(csv.reader(io.StringIO(answer.content.decode())))


def test_the_invented_past_verifies(storied: Cast, db) -> None:
    told = io.StringIO()
    call_command("verify_records", stdout=told)
    assert told.getvalue() == "60 records verified, every entry as it was written.\n"
    assert Preparation.objects.filter(state="released").count() == 60


def test_what_is_invented_is_made_no_more(storied: Cast, db) -> None:
    listed = sign_in(storied["technician"]).get(reverse("to_make")).context["screen"]
    assert (len(listed.rows), listed.later) == (2, 0)
    call_command("make_history", preparations=5, days=10, stdout=io.StringIO())
    assert Preparation.objects.count() == 65


def test_an_invented_past_is_not_written_beside_real_people(storied: Cast, db) -> None:
    Person.objects.create_user(badge="BREALONE1", name="Somebody", role="technician", pin="2468")
    with pytest.raises(CommandError, match="not of the demo"):
        call_command("make_history", preparations=5)
    assert Preparation.objects.count() == 60


def test_the_people_it_knows_are_those_of_the_demo() -> None:
    rows = json.loads((Path(make_history.SHARED) / "scenario" / "people.json").read_text())["people"]
    assert {"B8D19AKRM", "B883002R9"} <= {row["badge"] for row in rows}


@pytest.mark.parametrize("by", [by for by in WAYS if by != "person"])
def test_every_way_of_dividing_has_its_page_its_chart_and_its_numbers(desk, by: str) -> None:
    answer = desk.get(reverse("timings"), {"by": by})
    assert answer.status_code == 200
    rows = answer.context["screen"].rows
    assert rows
    assert answer.content.count(b'class="chart-half"') == len(rows)
    written = sheet(desk.get(reverse("timings_csv"), {"by": by}))
    assert [line[1] for line in written[1:]] == [row.name for row in rows]
    assert [int(line[3]) for line in written[1:]] == [row.spread.count for row in rows]


def test_the_latest_of_a_kind_are_drawn_with_their_limits(desk) -> None:
    answer = desk.get(reverse("timings_latest"), {"by": "kind", "one": "show", "what": "waited"})
    screen = answer.context["screen"]
    assert len(screen.rows) == 60
    assert answer.content.count(b"chart-point") + answer.content.count(b"chart-beyond") == 60
    assert [row.at for row in screen.rows] == sorted(row.at for row in screen.rows)
    given = sheet(desk.get(reverse("timings_csv"), {"by": "kind", "one": "show", "what": "waited"}))
    assert len(given) == 61


@pytest.mark.parametrize("by", ["formulation", "hood", "container", "hour", "team", "asked"])
def test_the_latest_of_anything_else_have_a_chart_too(desk, by: str) -> None:
    key = desk.get(reverse("timings"), {"by": by}).context["screen"].rows[0].key
    screen = desk.get(reverse("timings_latest"), {"by": by, "one": key, "what": "waited"}).context["screen"]
    assert screen.rows


@pytest.mark.parametrize(
    "query",
    [
        {"by": "x"},
        {"days": "0"},
        {"days": "9" * 99},
        {"what": "'"},
        {"by": "hour", "one": "x"},
        {"one": "\0"},
    ],
)
def test_strange_questions_get_the_usual_page(desk, query: dict[str, str]) -> None:
    for name in ("timings", "timings_latest", "timings_reasons", "timings_csv", "timings_reasons_csv"):
        assert desk.get(reverse(name), query).status_code == 200, name


def test_no_person_is_shown_where_policy_does_not_allow_it(desk, storied: Cast) -> None:
    page = desk.get(reverse("timings"), {"by": "person"})
    assert page.context["screen"].asked.by == "kind"
    names = [storied["technician"].name, storied["second technician"].name]
    for name in ("timings", "timings_latest", "timings_csv", "finished_csv"):
        given = desk.get(reverse(name), {"by": "person", "what": "worked"})
        assert not [one for one in names if one.encode() in given.content], name
    change_policy(reason="asked for by the team itself", by="test", shows_individuals=True)
    shown = words(desk.get(reverse("timings"), {"by": "person"}))
    assert all(name in shown for name in names)
    assert "for help, not for blame" in shown


def test_what_stopped_the_work_is_counted_by_reason(desk) -> None:
    screen = desk.get(reverse("timings_reasons")).context["screen"]
    assert [bar.count for bar in screen.reasons] == sorted(
        (bar.count for bar in screen.reasons), reverse=True
    )
    assert len(screen.differed) == Sighting.objects.filter(agrees=False).count()
    assert screen.readings == Sighting.objects.count()


def test_two_periods_are_compared(desk) -> None:
    rows = desk.get(reverse("timings"), {"days": "7"}).context["screen"].rows
    assert {row.against for row in rows} <= {"too few to compare", "about the same"} | {
        row.against for row in rows if row.has_moved
    }


def test_an_axis_ends_at_the_longest_and_has_marks_that_read_easily() -> None:
    scale = axis(870_000)
    assert [tick.words for tick in scale.ticks] == ["0", "5 min", "10 min"]
    assert scale.at(870_000) == scale.wide
    assert (short(7_200_000), short(60_000), short(5_000)) == ("2 h", "1 min", "5 s")
    assert axis(0).ticks == ()


def test_a_page_of_timings_keeps_the_past_days_first(desk) -> None:
    from checklists.models import DayTally

    DayTally.objects.all().delete()
    desk.get(reverse("timings"))
    assert DayTally.objects.filter(day=timezone.localdate() - DAY).exists()
    assert timings.timings.roles == ("supervisor",)


def test_the_forecast_says_how_often_the_list_is_in_time(desk, storied: Cast) -> None:
    order("ondansetron-nacl-50", "8 mg", patient_name="Caspian Mwangi")
    screen = desk.get(reverse("capacity"), {"hoods": "1", "people": "1"}).context["screen"]
    assert len(screen.rows) == 3
    assert {row.percent for row in screen.rows} <= set(range(101))
    more = desk.get(reverse("capacity"), {"hoods": "3", "people": "3"}).context["screen"]
    assert sum(row.percent for row in more.rows) >= sum(row.percent for row in screen.rows)
    for strange in ({"hoods": "x", "people": "٣"}, {"hoods": "9999"}, {"people": "0"}, {"hoods": "-1"}):
        assert desk.get(reverse("capacity"), strange).status_code == 200
