"""No screen of the technician scrolls, lying or upright, whatever is made: every kind of step is measured."""

from __future__ import annotations

import pytest
from bench import refuse_scrolling
from django.test import Client
from django.utils import timezone

from cast import cast, hands, order, stock_batch
from compounding.formulary.models import Formulation

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.any_database]

LONG = {
    "patient_name": "Maximiliana Featherstonehaugh-Vandenberghe",
    "allergies": "penicillin (anaphylaxis), sulfonamides (rash), latex, iodinated contrast, chlorhexidine",
    "prescriber": "Dr Bartholomew Okonkwo-Lindqvist",
    "ward": "Paediatric intensive care, bay 4",
}


def by_weight() -> dict[str, str]:
    return {"body_weight": "62 kg", "weighed_on": timezone.localdate().isoformat()}


EVERY_DAY = {
    "powder with a caution, long names": lambda: order("vancomycin-nacl-500", "1750 mg", **LONG),
    "ampoules, diluent withdrawn": lambda: order("aminophylline-d5w-100", "350 mg"),
    "two additives, long names": lambda: order("potassium-magnesium-nacl-1000", "20 mEq|2 g", **LONG),
    "hazardous": lambda: order("fluorouracil-nacl-500", "800 mg"),
    "batch of twelve": stock_batch,
}
OTHERS = {
    "cefazolin": lambda: order("cefazolin-nacl-100", "750 mg"),
    "ondansetron": lambda: order("ondansetron-nacl-50", "8 mg"),
    "norepinephrine": lambda: order("norepinephrine-d5w-250", "4 mg"),
    "potassium": lambda: order("potassium-nacl-1000", "40 mEq"),
    "heparin": lambda: order("heparin-d5w-250", "25000 units"),
    "acyclovir": lambda: order("acyclovir-nacl-250", "10 mg/kg", **by_weight()),
    "ketorolac": lambda: order("ketorolac-syringe", "30 mg"),
    "prefilled syringe": lambda: order("bicarbonate-d5w-250", "50 mEq"),
    "famotidine": lambda: order("famotidine-nacl-100", "20 mg"),
}
CASES = [
    *(pytest.param(make, id=name) for name, make in EVERY_DAY.items()),
    *(pytest.param(make, id=name, marks=pytest.mark.long) for name, make in OTHERS.items()),
]


@pytest.mark.parametrize("make", CASES)
def test_every_kind_of_step_fits(tablet, live_server, shot, make, request) -> None:
    everybody = cast()
    work = hands(everybody, make())
    page = signed_in(tablet, live_server, everybody["technician"])
    measured = set()
    while (step := work.step) and work.preparation.state == "in-work":
        if step.kind not in measured:
            page.goto(f"/make/{work.code}/")
            refuse_scrolling(
                page, lambda name, kind=step.kind: shot(page, f"fit-{case(request)}-{kind}-{name}")
            )
            measured.add(step.kind)
        work.do(step)
    drawing = "draw_units" if work.worksheet.units > 1 else "draw"
    assert {drawing, "show", "arrange", "read_worksheet", "clean_up"} <= measured


def case(request) -> str:
    return request.node.callspec.id.split(",")[0].replace(" ", "-")


OVERLAP = """() => {
  const places = document.querySelector('.places').getBoundingClientRect();
  return [...document.querySelectorAll('.object-words > *')].filter(
    (one) => one.getBoundingClientRect().bottom > places.top).map((one) => one.className);
}"""


def test_twenty_four_to_gather_leave_the_field_free(tablet, live_server, shot) -> None:
    everybody = cast()
    Formulation.objects.filter(code="ondansetron-nacl-50").update(most_units=12)
    nobody = dict.fromkeys(("patient_name", "patient_identifier", "born_on", "allergies", "prescriber"), "")
    work = hands(everybody, order("ondansetron-nacl-50", "8 mg", units="12", **nobody)).to("gather_each")
    page = signed_in(tablet, live_server, everybody["technician"])
    page.goto(f"/make/{work.code}/")
    assert page.locator(".place").count() == 24
    refuse_scrolling(page, lambda name: shot(page, f"gather-twenty-four-{name}"))
    for width, height in ((1280, 800), (800, 1280)):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate(OVERLAP) == []


def signed_in(tablet, live_server, person):
    client = Client()
    client.force_login(person)
    tablet.add_cookies(
        [{"name": "counterdraw", "value": client.cookies["counterdraw"].value, "url": live_server.url}]
    )
    return tablet.new_page()
