"""Before commitment nothing that a checker can get holds the required or the drawn amount, in any writing.

865 mg at 50 mg/mL: 17.3 mL required, 17.5 mL at its mark; the technician declares 18.4 mL. Shared design 1.
"""

from __future__ import annotations

import dataclasses
import re
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from cast import PIN, Cast, Hands, order
from tests.checklists.walks import UNLIKELY, beside, sign_in
from tests.views.test_permissions import MAY, METHODS, address

#: The three numbers with a point (also one written for an address), a comma or a half sign, in words, or as
#: the content they come to (50 mg/mL); not within a longer number or a time of day.
AMOUNTS = re.compile(
    rb"(?<![\d.,:])(?:17\s?(?:[.,]|%2E|%2C)\s?[35]|18\s?(?:[.,]|%2E|%2C)\s?4)0*(?!\d)|17\s?\xc2\xbd"
    rb"|(?<!\d)(?:875|920)(?:\.0)?\s?mg|seventeen|eighteen point",
    re.IGNORECASE,
)

#: The dots of a printed square code: only whole numbers of its grid, moved to and drawn from.
SQUARES = re.compile(rb'<path d="(?:M\d+,\d+H\d+V\d+H\d+z)+"')


@pytest.fixture(scope="module")
def blind(house: Cast) -> Hands:
    """The drug's syringe lies before the checker; 18.4 mL is declared to be in it."""
    work = beside(house, order("vancomycin-nacl-250", UNLIKELY))
    while (step := work.step) and not (step.kind == "draw" and step.about["draw"] == 2):
        work.do(step)
    work.finish(work.step, volume="18.4")
    return work


def all_bytes(answer: HttpResponse) -> bytes:
    headers = "\n".join(f"{name}: {value}" for name, value in answer.headers.items())
    cookies = answer.cookies.output()
    return headers.encode() + cookies.encode() + answer.content


def found(answer: HttpResponse) -> list[bytes]:
    """Return the amounts in a whole answer, with what stands around them; the dots of square codes apart."""
    body = SQUARES.sub(b"", all_bytes(answer))
    return [body[max(0, m.start() - 60) : m.end() + 20] for m in AMOUNTS.finditer(body)]


POSTED = {
    "volume": "3", "draw": "9", "volume_1": "", "volume_2": "x", "pin": "0000", "resolution": "accept",
    "reason": "", "to": "on",
}  # fmt: skip
#: What may change the stage itself is only looked at.
NOT_POSTED = {"hand_over", "sign_in", "take_check", "see_hold"}
#: Looked at last: from then on every page asks for the PIN first.
LAST = ("lock", "sign_out", "sign_out_everywhere")


def look_through(browser: Client, work: Hands) -> None:
    """Ask for every address, in both skeletons, also at every other step; find no amount."""
    answered = 0
    for name in MAY:
        methods = ("GET",) if name in NOT_POSTED else ("GET", "POST")
        for method in methods if name not in LAST else ():
            for htmx in ({}, {"HTTP_HX_REQUEST": "true"})[: 2 if method == "GET" else 1]:
                posted = POSTED if method == "POST" else None
                answer = browser.generic(method, address(name, work), _form(posted), CONTENT, **htmx)
                assert found(answer) == [], (name, method)
                answered += answer.status_code in (200, 409)
    for name in ("check", "committed"):
        for step in work.preparation.steps.filter(kind__in=("first_check", "show", "draw", "final_check")):
            assert found(browser.get(reverse(name, args=[work.code, step.place]))) == [], (name, step)
    assert answered > 30, "the pages themselves were looked at, not only a door before them"


CONTENT = "application/x-www-form-urlencoded"


def _form(fields: dict[str, str] | None) -> bytes:
    from urllib.parse import urlencode

    return urlencode(fields).encode() if fields else b""


def test_the_search_finds_the_amounts_where_they_may_stand(everybody: Cast, blind: Hands) -> None:
    """A control: the technician's own drawing page, before it is shown, and the compared amounts after."""
    drawing = beside(everybody, order("vancomycin-nacl-250", UNLIKELY))
    while (step := drawing.step) and not (step.kind == "draw" and step.about["draw"] == 2):
        drawing.do(step)
    tablet = sign_in(drawing.technician)
    assert found(tablet.get(reverse("step", args=[drawing.code])))
    place = blind.step.place
    phone = sign_in(everybody["pharmacist"])
    phone.post(reverse("sight_draw", args=[blind.code, place]), {"draw": "2", "volume": "17.5"})
    compared = phone.get(reverse("committed", args=[blind.code, place]))
    assert compared.status_code == 200
    assert b"17.5" in compared.content
    assert b"18.4" in compared.content


def test_at_the_first_check_nothing_tells_the_amounts(everybody: Cast, at_first_check: Hands) -> None:
    phone = sign_in(everybody["pharmacist"])
    look_through(phone, at_first_check)
    for name in set(MAY) - set(LAST):
        for method in set(METHODS) - {"GET", "POST"}:
            assert found(phone.generic(method, address(name, at_first_check))) == [], (name, method)


def test_the_door_tells_no_amount(everybody: Cast, blind: Hands) -> None:
    phone = sign_in(everybody["pharmacist"])
    for name in (*LAST, "sign_in"):
        assert found(phone.get(address(name, blind))) == []
        assert found(phone.post(address(name, blind), {"pin": "0000"})) == []


def test_while_a_draw_is_shown_nothing_tells_the_amounts(everybody: Cast, blind: Hands) -> None:
    look_through(sign_in(everybody["pharmacist"]), blind)


def test_a_checker_at_the_check_is_told_no_amount_either(everybody: Cast, blind: Hands) -> None:
    phone = sign_in(everybody["third pharmacist"])
    place = blind.step.place
    assert phone.post(reverse("take_check", args=[blind.code, place])).status_code == 302
    look_through(phone, blind)
    for typed in ("", "12,5", "31", "x", "12.50", "1e1"):
        answer = phone.post(reverse("sight_draw", args=[blind.code, place]), {"draw": "2", "volume": typed})
        assert answer.status_code == 409
        assert found(answer) == [], typed


def test_a_hold_tells_no_amount_before_it_is_opened_with_them(everybody: Cast, blind: Hands) -> None:
    blind.see(blind.step, 2, "17.5")
    phone = sign_in(everybody["third pharmacist"])
    look_through(phone, blind)
    hold = blind.preparation.holds.get()
    phone.post(reverse("see_hold", args=[blind.code, hold.pk]))
    opened = phone.get(reverse("hold", args=[blind.code, hold.pk]))
    assert b"17.5" in opened.content
    assert b"18.4" in opened.content


def test_a_reading_again_is_as_blind_as_the_first(everybody: Cast, blind: Hands) -> None:
    blind.see(blind.step, 2, "17.5")
    blind.resolve("read-again")
    look_through(sign_in(everybody["third pharmacist"]), blind)


def test_the_tablet_does_not_tell_the_amount_while_the_draw_is_shown(everybody: Cast, blind: Hands) -> None:
    tablet = sign_in(blind.technician)
    for name in ("step", "poll_step", "something_wrong", "label", "record", "to_make", "order"):
        for htmx in ({}, {"HTTP_HX_REQUEST": "true"}):
            assert found(tablet.get(address(name, blind), **htmx)) == [], name
    answer = tablet.post(address("finish_step", blind), {"stands": "1"})
    assert answer.status_code == 409
    assert found(answer) == []


def test_the_tablet_does_not_tell_the_amount_while_the_difference_is_held(
    everybody: Cast, blind: Hands
) -> None:
    blind.see(blind.step, 2, "17.5")
    tablet = sign_in(blind.technician)
    for name in ("step", "poll_step", "something_wrong", "to_make"):
        assert found(tablet.get(address(name, blind))) == [], name


KEYS = {
    "WaitingList": ["etag", "poll_url", "rows"],
    "WaitingRow": ["due_at", "identity", "is_hold", "since", "taken_by", "url", "what", "why_not"],
    "Identity": ["code", "for_whom", "title", "url_code", "vehicle"],
    "CheckFrame": [
        "act_url", "identity", "key", "number", "place", "refusal", "refuse_url", "since", "what",
    ],
    "FirstCheckScreen": [
        "asks", "cautions", "containers", "frame", "has_seen_materials", "method", "order", "products",
    ],
    "Ask": ["fault", "field", "label", "typed"],
    "ProductFact": ["content", "diluent", "how", "name", "strength"],
    "SeenContainer": ["expires", "key", "lot", "name"],
    "SightScreen": [
        "beside", "cannot_read_url", "containers", "draw", "frame", "number", "of", "of_what", "order",
        "photographs", "reason", "syringe", "typed", "units", "unreadable_url",
    ],
    "PhotographView": ["at", "by", "number", "syringes", "url"],
    "OrderView": [
        "allergies", "born", "doses", "due_at", "identifier", "number", "patient", "prescriber", "route",
        "units", "ward", "weight",
    ],
}  # fmt: skip


def shapes(value: Any) -> dict[str, list[str]]:
    """Return the fields of every dataclass within a screen, by its name."""
    if dataclasses.is_dataclass(value):
        names = sorted(field.name for field in dataclasses.fields(value))
        inner = {type(value).__name__: names}
        for name in names:
            inner |= shapes(getattr(value, name))
        return inner
    if isinstance(value, tuple | list):
        return {name: keys for one in value for name, keys in shapes(one).items()}
    return {}


SURROUNDING = {
    "True", "False", "None", "csrf_token", "request", "user", "perms", "messages",
    "DEFAULT_MESSAGE_LEVELS", "idle_seconds", "skeleton", "screen", "block",
}  # fmt: skip


def handed(answer: Any) -> Any:
    """Return the one screen that a template was handed, and nothing beside it."""
    keys = set(answer.context.flatten()) if hasattr(answer.context, "flatten") else set(answer.context.keys())
    own = {key for key in keys if key not in SURROUNDING and not key.startswith("forloop")}
    assert "screen" in keys
    return answer.context["screen"], own


@pytest.mark.parametrize("what", ["waiting list", "first check", "reading"])
def test_the_checkers_screens_are_handed_exactly_their_fields(
    everybody: Cast, at_first_check: Hands, blind: Hands, what: str
) -> None:
    phone = sign_in(everybody["third pharmacist"])
    where = {
        "waiting list": reverse("waiting"),
        "first check": reverse("check", args=[at_first_check.code, at_first_check.step.place]),
        "reading": reverse("check", args=[blind.code, blind.step.place]),
    }[what]
    answer = phone.get(where)
    assert answer.status_code == 200
    screen, _beside = handed(answer)
    expected = {
        "waiting list": {"WaitingList", "WaitingRow", "Identity"},
        "first check": {
            "FirstCheckScreen", "CheckFrame", "Identity", "OrderView", "ProductFact", "SeenContainer", "Ask",
        },
        "reading": {"SightScreen", "CheckFrame", "Identity", "OrderView", "SeenContainer"},
    }[what]  # fmt: skip
    assert shapes(screen) == {name: KEYS[name] for name in expected}
    assert AMOUNTS.findall(repr(screen).encode()) == []


def test_beside_the_screen_a_checkers_template_is_handed_nothing(
    everybody: Cast, at_first_check: Hands, blind: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    from checklists.views import checker

    given: list[set[str]] = []
    page = checker.page
    monkeypatch.setattr(
        checker, "page", lambda *told, **context: given.append(set(context)) or page(*told, **context)
    )
    phone = sign_in(everybody["third pharmacist"])
    phone.get(reverse("waiting"))
    phone.get(reverse("check", args=[at_first_check.code, at_first_check.step.place]))
    phone.get(reverse("check", args=[blind.code, blind.step.place]))
    assert given == [{"screen"}] * 3


def test_nothing_is_prefilled_in_what_the_checker_types(
    everybody: Cast, at_first_check: Hands, blind: Hands
) -> None:
    phone = sign_in(everybody["third pharmacist"])
    for work in (at_first_check, blind):
        page = phone.get(reverse("check", args=[work.code, work.step.place])).content.decode()
        fields = re.findall(r'<input[^>]*name="volume[^"]*"[^>]*>', page)
        assert fields
        assert all(re.search(r'value="([^"]*)"', field)[1] == "" for field in fields if "value=" in field)


def test_a_wrong_pin_at_a_hold_tells_no_amount(everybody: Cast, blind: Hands) -> None:
    blind.see(blind.step, 2, "17.5")
    hold = blind.preparation.holds.get()
    phone = sign_in(everybody["third pharmacist"])
    told = {"resolution": "draw-again", "reason": "so", "pin": PIN + "1"}
    answer = phone.post(reverse("resolve_hold", args=[blind.code, hold.pk]), told)
    assert answer.status_code == 409
    assert found(answer) == []
