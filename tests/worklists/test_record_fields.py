"""The printed record carries every field that the standard lists, and says how the work was stopped.

Sources beside each field. USP <797> (2023) was read second-hand: its list is "page" by secondary sources.
"""

from __future__ import annotations

import html
import re

import pytest

from cast import Cast, Hands, hands, key, order
from checklists import run
from tests.checklists.test_darkroom import picture
from tests.checklists.walks import everybody, house, sign_in

__all__ = ["everybody", "house"]

USP, CAL = "USP <797> 2023, compounding record (page, second-hand)", "16 CCR 1735.3(a)(2) (page)"
WIS, GMP, SIGN = "Wis. Phar 15.12 (page)", "21 CFR 211.188(b) (page)", "21 CFR 11.50 (page)"

#: field, source, what stands on the page of the vancomycin order below
FIELDS = [
    ("name and strength", USP, "vancomycin 1,100 mg 1,100 mg 50 mg/mL"),
    ("dosage form", USP, "In bag"),
    ("each component: measured volume", USP, "22 mL 4.044 mg/mL"),
    ("each component: vendor and product", CAL, "Halverly Sterile · 02410100000219"),
    ("each component: lot and expiry", USP, "HV2298"),
    ("each component: container by its own serial", "shared design 1", "Serial or own code"),
    ("date and time of preparation", USP, re.compile(r"Begun \d+ \w+ \d{4} \d\d:\d\d:\d\d")),
    ("internal number", USP, re.compile("Compounding record P [0-9A-Z]{4} [0-9A-Z]{4}")),
    ("order's number", CAL, re.compile("Order R[0-9A-Z]{8}")),
    ("who compounded", USP, "Mara Okonjo technician"),
    ("who verified", USP, "Ilse Varga pharmacist First check, Draw shown"),
    ("reviewing pharmacist, release", CAL, "Final check, Release"),
    ("total quantity", USP, "Quantity 272 mL"),
    ("beyond-use date and storage", USP, re.compile(r"beyond use \d+ \w+ \d{4} \d\d:\d\d")),
    ("storage", USP, "Storage fridge"),
    ("master formulation referred to", USP, "vancomycin-nacl-250, version 1"),
    ("calculations", USP, "1,100 mg ÷ 50 mg/mL = 22 mL"),
    ("results of quality checks", USP, "the record; clear, no particles, colour as expected, against white"),
    ("copy of the label", WIS, "The label, as last printed Iris Calloway"),
    ("count of label prints and why again", GMP, "Print 2: 1 by Mara Okonjo"),
    ("equipment", GMP, "Hood Hood 1"),
    ("who did and checked each step, when", GMP, "Every step"),
    ("signature with its meaning", SIGN, "“I have checked this preparation and release it for this order.”"),
    ("three amounts of each draw", "shared design 1", "The three amounts of each syringe"),
    ("a reading that was drawn again", "shared design 1", re.compile(r"3 1 22 mL Mara [^–]+? 20.5 mL Ilse")),
    ("hold and why", GMP, "The amounts of a draw differ draw 3"),
    ("how the hold ended", GMP, "Draw again: a bubble stood at the mark Rohan Mehta-Lind"),
    ("meaning of that decision", SIGN, "“I have seen why the work stopped, and decide how it goes on.”"),
    ("photograph of the draw", "shared design 1", "Syringe 3, taken by Mara Okonjo"),
    ("patient and identifiers", CAL, "Iris Calloway · CD-204117"),
    ("prescriber", "COMAR 10.34.19.06 B (page)", "Dr Lena Abara"),
]  # fmt: skip


@pytest.fixture(scope="module")
def page(house: Cast) -> str:
    """The record of a released preparation: drawn again once, photographed, its label printed twice."""
    work = hands(house, order("vancomycin-nacl-250", "1100 mg"))
    while work.step.about.get("draws") != [3] or work.step.kind != "show":
        work.do()
    work.see(work.step, 3, "20.5")
    work.resolve("draw-again", reason="a bubble stood at the mark")
    work.to("show")
    run.photograph(
        code=work.code, person=work.technician, key=key(), place=work.step.place, picture=picture()
    )
    work.checker = house["third pharmacist"]
    work.do()
    work.checker = house["pharmacist"]
    work.to("apply_label")
    run.print_labels(code=work.code, person=work.technician, key=key(), reason="smudged")
    work.to_release()
    return words_of(work)


def words_of(work: Hands) -> str:
    told = sign_in(work.cast["supervisor"]).get(f"/paper/{work.code}/record/").content.decode()
    body = told[told.index('<table class="sheets"') :]
    text = html.unescape(re.sub(r"<(svg|style).*?</\1>|<[^>]+>", " ", body, flags=re.DOTALL))
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize(("field", "source", "shown"), FIELDS, ids=[row[0] for row in FIELDS])
def test_the_record_carries_every_field(
    everybody: Cast, page: str, field: str, source: str, shown: str | re.Pattern[str]
) -> None:
    pattern = re.escape(shown) if isinstance(shown, str) else shown
    assert re.search(pattern, page), (field, source)
