"""The first check on the phone: each caution with an empty field, nothing typed is lost, no amount is told.

Worked by hand: 1,765 mg ÷ 50 mg/mL = 35.3 mL, 35.5 mL at a half mark of a 60 mL syringe; 3.3 mg/mL.
"""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.http import HttpResponse
from django.urls import reverse

from cast import Cast, Hands, order
from tests.checklists.walks import beside, sign_in, words

CODE = "dose-above-usual-1"
FIELD = f"reason_{CODE}"
TEXT = "1,765 mg of vancomycin is more than the usual 1,500 mg."
WHY = "MRSA, trough low; <agreed> with Dr Abara"
#: What would tell the volume to draw: the volume, its mark, the concentrations it makes.
AMOUNTS = re.compile(r"(?<![\d.,:])(?:35[.,][35]|35\s?½|3[.,](?:29|3|12|13)\d*)(?!\d)")


@pytest.fixture(scope="module")
def cautioned(house: Cast) -> Hands:
    """A preparation above the usual dose, waiting for its first check; ask for `everybody` too."""
    return beside(house, order("vancomycin-nacl-500", "1765 mg")).to("first_check")


def shown(answer: HttpResponse) -> str:
    return unescape(answer.content.decode())


def typed_in(answer: HttpResponse, field: str = FIELD) -> str:
    """Return what stands in a reason's field."""
    found = re.search(rf'<textarea[^>]*name="{field}"[^>]*>(.*?)</textarea>', answer.content.decode(), re.S)
    assert found
    return unescape(found[1])


def post(work: Hands, **fields: str) -> HttpResponse:
    browser = sign_in(work.cast["pharmacist"])
    address = reverse("recalculate", args=[work.code, work.step.place])
    return browser.post(address, {"volume_1": "20", "volume_2": "35.3", "materials": "1", **fields})


def test_each_caution_stands_with_an_empty_field(everybody: Cast, cautioned: Hands) -> None:
    phone = sign_in(everybody["pharmacist"])
    answer = phone.get(reverse("check", args=[cautioned.code, cautioned.step.place]))
    assert TEXT in re.sub(r"</?span[^>]*>", "", shown(answer))
    assert typed_in(answer) == ""
    assert f'<label for="{FIELD}">' in answer.content.decode()


def test_neither_the_page_nor_its_data_tells_the_amounts(everybody: Cast, cautioned: Hands) -> None:
    phone = sign_in(everybody["pharmacist"])
    answer = phone.get(reverse("check", args=[cautioned.code, cautioned.step.place]))
    refused = post(cautioned, volume_2="")
    for one in (answer, refused):
        assert AMOUNTS.findall(shown(one)) == []
        assert AMOUNTS.findall(repr(one.context["screen"])) == []


def test_the_search_finds_the_amounts_where_they_may_stand(everybody: Cast, cautioned: Hands) -> None:
    """A control: what the worksheet itself says."""
    told = " ".join(line.text for line in cautioned.worksheet.working)
    assert {"35.3", "35.5", "3.3"} <= set(AMOUNTS.findall(told))


@pytest.mark.parametrize("why", ["", "  ", "\n"])
def test_without_a_reason_it_is_refused_at_the_field_and_nothing_typed_is_lost(
    everybody: Cast, cautioned: Hands, why: str
) -> None:
    answer = post(cautioned, **{FIELD: why})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "A caution still needs its reason. Write it beneath the caution, or refuse the check." in words(
        answer
    )
    assert f'id="{FIELD}-fault">Write the reason in a few words' in page
    assert re.search(r'name="volume_2" value="35\.3"', page)
    assert re.search(r'name="materials" value="1" checked', page)
    assert not cautioned.preparation.recalculations.exists()


def test_a_reason_is_not_lost_when_an_amount_cannot_be_read(everybody: Cast, cautioned: Hands) -> None:
    long = (WHY + " and more" * 60)[:500]
    for why in (WHY, long):
        answer = post(cautioned, volume_2="35,3", **{FIELD: why})
        assert answer.status_code == 409
        assert typed_in(answer) == why
        assert "holds a comma" in shown(answer)
        assert f'id="{FIELD}-fault"' not in answer.content.decode()


def test_a_reason_is_not_lost_when_the_materials_were_not_seen(everybody: Cast, cautioned: Hands) -> None:
    answer = post(cautioned, materials="", **{FIELD: WHY})
    assert answer.status_code == 409
    assert typed_in(answer) == WHY


def test_with_a_reason_the_check_is_taken_and_the_paper_prints_it(everybody: Cast, cautioned: Hands) -> None:
    assert post(cautioned, **{FIELD: WHY}).status_code == 302
    assert cautioned.step.kind == "wipe_items"
    cautioned.to_release()
    desk = sign_in(everybody["supervisor"])
    paper = words(desk.get(reverse("record", args=[cautioned.code])))
    assert "Cautions, and the pharmacist's reasons" in paper
    assert f"{TEXT} {WHY}" in paper.replace("</td>", "")


def test_a_record_without_cautions_has_no_such_part(everybody: Cast, walked: Hands) -> None:
    walked.release()
    paper = words(sign_in(everybody["supervisor"]).get(reverse("record", args=[walked.code])))
    assert "Cautions" not in paper


def test_the_technician_reads_the_caution_with_the_worksheet(everybody: Cast) -> None:
    work = beside(everybody, order("vancomycin-nacl-500", "1765 mg"))
    answer = sign_in(work.technician).get(reverse("step", args=[work.code]))
    assert TEXT in words(answer)
    assert answer.context["screen"].cautions == (TEXT,)


@pytest.mark.usefixtures("unguarded")
def test_the_technician_is_told_the_first_sentence_only(everybody: Cast) -> None:
    work = beside(everybody, order("vancomycin-nacl-500", "1765 mg"))
    stored = {**work.preparation.worksheet, "cautions": [
        {"code": "pair-1", "text": "norepinephrine with sodium chloride 0.9 %. The label asks. So (x)."},
    ]}  # fmt: skip
    type(work.preparation).objects.filter(code=work.code).update(worksheet=stored)
    answer = sign_in(work.technician).get(reverse("step", args=[work.code]))
    assert answer.context["screen"].cautions == ("norepinephrine with sodium chloride 0.9 %.",)
