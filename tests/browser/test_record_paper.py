"""The record on paper: as wide as an A4 sheet within its margins, nothing cut off at its edge.

A4 is 210 mm wide (ISO 216, memory); the margins are css/record.css's own.
"""

from __future__ import annotations

import pytest
from test_every_screen import signed_in

from cast import cast, hands, key, order
from checklists import run
from tests.checklists.test_darkroom import picture

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]

PRINTABLE = 687  # 182 mm in CSS pixels
WIDER = """(room) => [...document.querySelectorAll(".sheets *")]
  .filter((one) => one.getBoundingClientRect().right > room + 1 || one.scrollWidth > room + 1)
  .map((one) => one.textContent.slice(0, 60))"""


def test_nothing_of_the_record_is_cut_off_on_paper(device, live_server, shot) -> None:
    """The longest words are digests: of a photograph, of an entry."""
    everybody = cast()
    work = hands(everybody, order("potassium-magnesium-nacl-1000", "20 mEq|2 g")).to("show")
    place = work.step.place
    run.photograph(code=work.code, person=work.technician, key=key(), place=place, picture=picture())
    work.to_release()
    page = signed_in(device(PRINTABLE, 1000, has_touch=False), live_server, everybody["supervisor"])
    page.goto(f"/paper/{work.code}/record/")
    page.emulate_media(media="print")
    assert page.evaluate(WIDER, PRINTABLE) == []
    shot(page, "record-on-paper", full_page=True)
