"""What stopped the work, while some is still under way: no amount is told before its time."""

from __future__ import annotations

from django.urls import reverse

from cast import Cast, Hands
from tests.checklists.walks import sign_in, words


def test_with_nothing_done_the_pages_say_so(everybody: Cast) -> None:
    desk = sign_in(everybody["supervisor"])
    assert "Nothing was finished in this period." in words(desk.get(reverse("timings")))
    assert "Nothing stopped the work in this period." in words(desk.get(reverse("timings_reasons")))


def test_of_work_under_way_no_differing_amount_is_told(everybody: Cast, shown: Hands) -> None:
    shown.see(shown.step, 2, "18.5")
    page = sign_in(everybody["supervisor"]).get(reverse("timings_reasons"))
    assert page.context["screen"].differed == ()
    assert "The amounts of a draw differ" in words(page)
    assert "18.5" not in words(page)
