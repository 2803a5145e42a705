"""Bad input into every field of every form: a sentence (400, 404 or 409), never a 500, and nothing changed.

What may be bad is the issue's own list. The test client raises whatever a view does not answer.
"""

from __future__ import annotations

import subprocess
import sys
from urllib.parse import urlencode

import pytest
from django.urls import reverse
from django.utils import timezone

from cast import PIN, ROOT, Cast, Hands, order
from compounding.formulary import codes
from tests.checklists.test_order_changes import typed_order
from tests.checklists.walks import beside, everything, sign_in, words
from tests.views.forms import BAD, BAD_WORDS, FORMS, LONG, MAKER, NUL, Form, address


@pytest.fixture(scope="module")
def stages(house: Cast) -> dict[str, Hands]:
    """A preparation at each stage at which a form is filled in."""
    staged = {}
    for stage in {form.stage for form in FORMS} - {"held", "show"}:
        staged[stage] = beside(house, order("vancomycin-nacl-250", "865 mg")).to(stage)
    for stage in ("show", "held"):
        work = beside(house, order("vancomycin-nacl-250", "865 mg")).to("add_diluent_to_vial").to("show")
        staged[stage] = work
    staged["held"].see(staged["held"].step, 2, "18.5")
    return staged


@pytest.mark.parametrize("form", FORMS, ids=str)
def test_bad_input_is_told_and_changes_nothing(everybody: Cast, stages: dict[str, Hands], form: Form) -> None:
    work = stages[form.stage]
    browser = sign_in(work.technician if form.who == MAKER else everybody[form.who])
    where, before = address(form, work), everything()
    for text in form.bad:
        answer = browser.post(where, {**form.good, form.spoilt: text})
        assert answer.status_code in (400, 404, 409), ascii(text[:20])
        assert words(answer).strip()
        assert everything() == before, ascii(text[:20])


def test_the_forms_are_good_where_nothing_is_spoilt(everybody: Cast, stages: dict[str, Hands]) -> None:
    """A control: the same posts with good input are taken."""
    good = {
        ("sight_draw", "volume"): "17.5",
        ("recalculate", "volume_2"): "17.3",
        ("refuse_check", "reason"): "it glares",
        ("resolve_hold", "reason"): "so",
        ("pause", "reason"): "a break",
        ("finish_step", "volume"): "20",
    }
    for form in FORMS:
        if (form.name, form.spoilt) in good and form.stage in ("draw", "held", "first_check", "show"):
            work = stages[form.stage]
            browser = sign_in(work.technician if form.who == MAKER else everybody[form.who])
            told = {**form.good, form.spoilt: good[form.name, form.spoilt]}
            answer = browser.post(address(form, work), told)
            assert answer.status_code == 302, (form, words(answer))
            if form.stage == "draw" and form.name == "finish_step":
                break


def test_another_preparations_label_is_no_label_here(everybody: Cast, stages: dict[str, Hands]) -> None:
    work, other = stages["apply_label"], stages["show"]
    browser, before = sign_in(work.technician), everything()
    where = reverse("finish_step", args=[work.code, work.step.place])
    answer = browser.post(where, {"scan": other.preparation.labels.get().code})
    assert answer.status_code == 409
    assert f"This label belongs to {codes.grouped(other.code)}" in words(answer)
    assert everything() == before


AMOUNT = tuple(text for text in BAD if text.strip())
SPOILT_ORDER = {
    "formulation": BAD,
    "patient_name": BAD_WORDS,
    "patient_identifier": (LONG, NUL),
    "born_on": ("words", "-1", "1,5", LONG, NUL, "😀", "2026-13-45", "2999-01-01", "0001-01-01", "٣"),
    "allergies": BAD_WORDS,
    "route": BAD,
    "prescriber": BAD_WORDS,
    "ward": BAD_WORDS,
    "units": (*BAD, "0", "2", "9999"),
    "due_at": (*BAD, "2026-11-25", "0001-01-01T00:00", "9999-12-31T23:59", "2026-11-25T14:30+99:99"),
    "dose-1": (*BAD, "0 mg", "30", "30 kg", "1000 mg", "30 mg/kg", "30.0 mg", "30 MG"),
    "dose-2": ("30 mg", "words"),
    "body_weight": (*AMOUNT, "0 kg", "62", "62 mg", "62 lb", "9000 kg"),
    "height": (*AMOUNT, "170", "9 m"),
    "weighed_on": ("words", LONG, NUL, "2999-01-01", "2026-13-45"),
}


def order_fields(**spoilt: str) -> dict[str, str]:
    fields = typed_order()
    doses = fields.pop("doses")
    weighed = {"body_weight": "62 kg", "weighed_on": timezone.localdate().isoformat()}
    return {**fields, **doses, **weighed, **spoilt}


@pytest.mark.parametrize("name", SPOILT_ORDER)
def test_a_bad_order_is_told_at_its_field_and_not_taken(everybody: Cast, name: str) -> None:
    browser, before = sign_in(everybody["pharmacist"]), everything()
    for text in SPOILT_ORDER[name]:
        answer = browser.post(reverse("enter_order"), order_fields(**{name: text}))
        assert answer.status_code == 409, ascii(text[:20])
        assert words(answer).strip()
        assert everything() == before, ascii(text[:20])


def test_the_same_order_is_taken_where_nothing_is_spoilt(everybody: Cast) -> None:
    browser = sign_in(everybody["pharmacist"])
    assert browser.post(reverse("enter_order"), order_fields()).status_code == 302


@pytest.mark.parametrize("text", ["", LONG, NUL, "a\0b"], ids=["empty", "long", "nul", "hidden"])
def test_an_order_is_not_changed_without_a_reason_that_can_be_kept(everybody: Cast, text: str) -> None:
    asked = order("ketorolac-syringe", "30 mg")
    browser, before = sign_in(everybody["pharmacist"]), everything()
    answer = browser.post(reverse("change_order", args=[asked.number]), order_fields(reason=text))
    assert answer.status_code == 409
    assert everything() == before


@pytest.mark.parametrize(
    ("less", "more"),
    [("500 mg", "1 g"), ("20 cm", "1.75 m"), ("20 mL", "1 L"), ("1 mg/mL", "5 g/L"), ("1 mcg/kg", "1 mg/kg")],
)
def test_two_units_of_a_kind_compare_in_a_program_that_has_just_started(less: str, more: str) -> None:
    """An order in another unit than its limits must not depend on what was reckoned before it."""
    told = f"from compounding.reckoning.quantities import read; print(read({less!r}) <= read({more!r}))"
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, cwd=ROOT, check=False)
    assert (done.stdout.strip(), done.stderr.splitlines()[-1:]) == ("True", [])


NUMBERS = (0, 1, 2**31, 2**63 - 1, 2**63, 2**64, 10**40)


@pytest.mark.parametrize("number", NUMBERS)
@pytest.mark.parametrize("name", ["check", "committed", "take_check", "sight_draw", "release", "finish_step"])
def test_a_place_that_is_none_is_told(
    everybody: Cast, stages: dict[str, Hands], name: str, number: int
) -> None:
    work = stages["show"]
    browser = sign_in(work.technician if name == "finish_step" else everybody["third pharmacist"])
    before, where = everything(), reverse(name, args=[work.code, number])
    answer = browser.get(where) if name in ("check", "committed") else browser.post(where, {"draw": "2"})
    assert answer.status_code in (404, 409)
    assert words(answer).strip()
    assert everything() == before


@pytest.mark.parametrize("number", NUMBERS[2:])
@pytest.mark.parametrize("name", ["hold", "see_hold", "resolve_hold", "switch_hood"])
def test_a_number_that_is_none_is_told(
    everybody: Cast, stages: dict[str, Hands], name: str, number: int
) -> None:
    work = stages["held"]
    where = reverse(name, args=[number] if name == "switch_hood" else [work.code, number])
    browser = sign_in(everybody["supervisor" if name == "switch_hood" else "third pharmacist"])
    before = everything()
    answer = browser.get(where) if name == "hold" else browser.post(where, {"to": "on", "pin": PIN})
    assert answer.status_code in (404, 409)
    assert words(answer).strip()
    assert everything() == before


STRANGE = (
    "0",
    "-",
    "_",
    "x",
    "P00000000",
    "p" * 5000,
    "..",
    "%00",
    "%F0%9F%98%80",
    "%D9%A3",
    "a/b",
    "9" * 5000,
)
ROOTS = {
    "technician": ("/make/{}/", "/make/{}/waiting/", "/make/{}/wrong/", "/make/{}/finish/{}/"),
    "pharmacist": ("/check/{}/1/", "/check/{}/{}/", "/hold/{}/1/", "/hold/{}/{}/", "/paper/{}/label/"),
    "supervisor": (
        "/finished/{}/",
        "/paper/{}/record/",
        "/orders/{}/",
        "/hoods/{}/switch/",
        "/orders/{}/change/",
    ),
}


@pytest.mark.parametrize("who", ROOTS)
@pytest.mark.parametrize("text", STRANGE, ids=lambda text: text[:12])
def test_an_address_of_nothing_is_told(everybody: Cast, who: str, text: str) -> None:
    browser, before = sign_in(everybody[who]), everything()
    for root in ROOTS[who]:
        for method in ("get", "post"):
            answer = getattr(browser, method)(root.format(text, text))
            assert answer.status_code in (302, 404, 405, 409), root
            assert answer.status_code != 302 or "sign-in" not in answer.url
    assert everything() == before


@pytest.mark.parametrize(
    "name",
    ["volume_", "volume_x", "volume_-1", "volume_٣", "volume_" + "9" * 5000, "volume_0", "volume_2\0"],
    ids=lambda name: ascii(name[:12]),
)  # fmt: skip
def test_a_field_that_no_form_has_is_no_fault_of_the_program(
    everybody: Cast, stages: dict[str, Hands], name: str
) -> None:
    work = stages["first_check"]
    browser, before = sign_in(everybody["third pharmacist"]), everything()
    where = reverse("recalculate", args=[work.code, work.step.place])
    told = urlencode({name: "17.3", "volume_1": "20", "materials": "1"})
    answer = browser.post(where, told, content_type="application/x-www-form-urlencoded")
    assert answer.status_code == 409
    assert everything() == before


@pytest.mark.parametrize(
    "key", ["", NUL, "a\0b", LONG, "😀" * 60, " ", "a/2"], ids=lambda key: ascii(key[:6])
)
def test_any_key_is_good_enough_to_act_once(everybody: Cast, stages: dict[str, Hands], key: str) -> None:
    """What is kept of it must fit the record's column, on every database."""
    work = stages["show"]
    browser = sign_in(everybody["third pharmacist"])
    answer = browser.post(reverse("take_check", args=[work.code, work.step.place]), {"key": key})
    assert answer.status_code == 302
    kept = work.preparation.entries.last().key
    assert 0 < len(kept) <= 64
    assert kept.isprintable()


@pytest.mark.parametrize("text", BAD, ids=lambda text: f"{text[:9]!a}-{len(text)}")
def test_a_bad_preparation_in_the_address_only_asks_again(everybody: Cast, text: str) -> None:
    browser, before = sign_in(everybody["pharmacist"]), everything()
    answer = browser.get(reverse("enter_order"), {"formulation": text, "units": text})
    assert answer.status_code == 200
    assert everything() == before


def test_what_was_typed_is_shown_again_and_never_as_markup(everybody: Cast, stages: dict[str, Hands]) -> None:
    work, typed = stages["show"], "<b>17.5</b>"
    phone = sign_in(everybody["third pharmacist"])
    where = reverse("sight_draw", args=[work.code, work.step.place])
    page = phone.post(where, {"draw": "2", "volume": typed}).content.decode()
    assert "<b>17.5" not in page
    assert 'value="&lt;b&gt;17.5' in page
