"""Who may: every address, every method, every role. The table is the rule; the code is compared with it.

A wrong role is told whose page it is (403), somebody signed out is sent to sign in, and nothing changes.
"""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import URLPattern, reverse

from cast import PIN, Cast, Hands
from checklists.models import Hold, OpenedContainer
from checklists.site.urls import urlpatterns
from checklists.worklists.wall import key_of
from tests.checklists.walks import everything, sign_in, words

T, P, S = "technician", "pharmacist", "supervisor"
ANYBODY: tuple[str, ...] = ()
EVERYBODY = (T, P, S)
GET, POST = ("GET", "HEAD"), ("POST",)
BOTH = GET + POST

#: address -> who may, and by which methods.
MAY: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "home": (EVERYBODY, GET),
    "sign_in": (ANYBODY, BOTH),
    "hand_over": (EVERYBODY, BOTH),
    "lock": (EVERYBODY, BOTH),
    "sign_out": (EVERYBODY, POST),
    "about": (ANYBODY, GET),
    "manifest": (ANYBODY, GET),
    "worker": (ANYBODY, GET),
    "away": (ANYBODY, GET),
    "install": (ANYBODY, GET),
    "authority": (ANYBODY, GET),
    "you": (EVERYBODY, BOTH),
    "sign_out_everywhere": (EVERYBODY, POST),
    "set_up": (ANYBODY, BOTH),
    "list_people": ((S,), GET),
    "badges": ((S,), GET),
    "unlock": ((S,), POST),
    "end_sessions": ((S,), POST),
    "upkeep_door": (ANYBODY, BOTH),
    "upkeep_pin": (EVERYBODY, BOTH),
    "to_make": ((T,), GET),
    "open_order": ((T,), POST),
    "step": ((T,), GET),
    "poll_step": ((T,), GET),
    "finish_step": ((T,), POST),
    "steps_ahead": ((T,), GET),
    "keep_step": ((T,), POST),
    "something_wrong": ((T,), GET),
    "something_else": ((T,), GET),
    "mishap": ((T,), GET),
    "report_mishap": ((T,), POST),
    "camera": ((T,), BOTH),
    "photograph": (EVERYBODY, GET),
    "cannot_read_photograph": ((P,), POST),
    "raise_hold": ((T,), POST),
    "pause": ((T,), POST),
    "abandon": ((T,), POST),
    "choose_unit": ((T,), GET),
    "reject_unit": ((T,), POST),
    "account_for_waste": ((T,), BOTH),
    "clear_hood": ((T,), POST),
    "leave_hood": ((T,), POST),
    "resume": ((T,), POST),
    "print_labels": ((T,), POST),
    "waiting": ((P,), GET),
    "waiting_rows": ((P,), GET),
    "check": ((P,), GET),
    "take_check": ((P,), POST),
    "recalculate": ((P,), POST),
    "sight_draw": ((P,), POST),
    "cannot_read": ((P,), POST),
    "committed": ((P,), GET),
    "inspect": ((P,), POST),
    "reject_inspected": ((P,), POST),
    "release": ((P,), POST),
    "refuse_check": ((P,), POST),
    "hold": ((P,), GET),
    "see_hold": ((P,), POST),
    "resolve_hold": ((P,), POST),
    "list_orders": (EVERYBODY, GET),
    "enter_order": (EVERYBODY, BOTH),
    "order": (EVERYBODY, GET),
    "enter_from_paper": (EVERYBODY, BOTH),
    "change_order": (EVERYBODY, BOTH),
    "choose_product": ((P,), POST),
    "cancel_order": (EVERYBODY, POST),
    "now": ((S,), GET),
    "now_rows": ((S,), GET),
    "wall_screen": (ANYBODY, GET),
    "wall_rows": (ANYBODY, GET),
    "finished": ((S,), GET),
    "finished_csv": ((S,), GET),
    "finished_one": ((S,), GET),
    "timings": ((S,), GET),
    "timings_latest": ((S,), GET),
    "timings_reasons": ((S,), GET),
    "timings_csv": ((S,), GET),
    "capacity": ((S,), GET),
    "timings_reasons_csv": ((S,), GET),
    "fit": (EVERYBODY, GET),
    "fit_people": ((S,), GET),
    "qualify": ((S,), POST),
    "duty": ((T, S), BOTH),
    "duty_csv": ((T, S), GET),
    "hoods": ((T, S), GET),
    "switch_hood": ((T, S), POST),
    "label": (EVERYBODY, GET),
    "record": (EVERYBODY, GET),
    "amend": ((P, S), BOTH),
    "read_picture": (EVERYBODY, POST),
    "find": (EVERYBODY, POST),
    "find_code": (EVERYBODY, GET),
    "stock": (EVERYBODY, GET),
    "receive_lot": (EVERYBODY, POST),
    "run_plan": ((T, P), GET),
    "put_plan_up": ((T, P), POST),
    "let_plan_go": ((T, P), POST),
    "opened": (EVERYBODY, GET),
    "opened_label": (EVERYBODY, GET),
    "discard_container": (EVERYBODY, POST),
    "lot": (EVERYBODY, GET),
    "change_lot": (EVERYBODY, POST),
    "shelf_codes": ((T, S), GET),
    "pictures": (EVERYBODY, GET),
    "done_card": ((T, S), GET),
    "calculator": (EVERYBODY, GET),
}
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE")
PATTERNS = {pattern.name: pattern for pattern in urlpatterns if isinstance(pattern, URLPattern)}


def address(name: str, work: Hands) -> str:
    """Return an address of that name about this preparation."""
    hold = Hold.objects.filter(preparation__code=work.code).first()
    step = work.step or work.preparation.steps.last()
    facts = {
        "code": work.code,
        "place": step.place,
        "reason": "called-away",
        "number": work.order.number
        if "order" in name or name in ("choose_product", "enter_from_paper")
        else str(hold.pk if hold else 1),
    }
    if name == "switch_hood":
        facts["number"] = str(work.cast.hood.pk)
    if name in ("duty", "duty_csv"):
        facts["number"] = "1"
    if name in ("lot", "change_lot"):
        facts["number"] = str(work.preparation.materials.first().lot_id)
    if name in ("opened_label", "discard_container"):
        facts["code"] = OpenedContainer.objects.first().code
    if name.startswith("wall"):
        facts["key"] = key_of(work.cast[S])
    wanted = PATTERNS[name].pattern.converters
    return reverse(name, kwargs={key: facts[key] for key in wanted})


def ask(browser: Client, method: str, where: str):
    return browser.generic(method, where, b"", content_type="application/x-www-form-urlencoded")


def test_every_address_is_in_the_table() -> None:
    assert set(PATTERNS) == set(MAY)


@pytest.mark.parametrize("name", MAY)
def test_every_view_says_who_may_as_the_table_does(name: str) -> None:
    assert PATTERNS[name].callback.roles == MAY[name][0]


@pytest.mark.parametrize("name", [name for name, (roles, _methods) in MAY.items() if roles])
def test_somebody_signed_out_is_sent_to_sign_in_and_nothing_changes(
    everybody: Cast, shown: Hands, name: str
) -> None:
    where, before = address(name, shown), everything()
    for method in METHODS:
        answer = ask(Client(), method, where)
        assert answer.status_code == 302, method
        assert answer.url.startswith(f"{reverse('sign_in')}?next=")
    assert everything() == before


@pytest.mark.parametrize("name", [name for name, (roles, _methods) in MAY.items() if roles])
def test_a_wrong_role_is_told_whose_it_is_and_nothing_changes(
    everybody: Cast, shown: Hands, name: str
) -> None:
    where, (roles, _methods) = address(name, shown), MAY[name]
    wrong = {role: sign_in(everybody[role]) for role in EVERYBODY if role not in roles}
    before = everything()
    for role, browser in wrong.items():
        for method in METHODS:
            answer = ask(browser, method, where)
            assert answer.status_code == 403, (role, method)
            if method != "HEAD":
                assert f"you are signed in as {role}." in words(answer)
    assert everything() == before


@pytest.mark.parametrize("name", MAY)
def test_the_right_role_gets_in_by_the_right_methods_only(everybody: Cast, shown: Hands, name: str) -> None:
    where, (roles, methods) = address(name, shown), MAY[name]
    for role in roles or (T,):
        for method in METHODS:
            answer = ask(sign_in(everybody[role]), method, where)
            if method in methods:
                assert answer.status_code in (200, 302, 404, 409), (role, method)
            else:
                assert answer.status_code == 405, (role, method)


def test_the_upkeep_pages_are_the_supervisors_alone(everybody: Cast) -> None:
    for role in (T, P):
        assert sign_in(everybody[role]).get("/upkeep/").status_code == 302
    assert sign_in(everybody[S]).get("/upkeep/").status_code == 200
    assert Client().get("/upkeep/").status_code == 302


def test_the_upkeep_pages_do_not_reach_the_record(everybody: Cast, shown: Hands) -> None:
    browser = sign_in(everybody[S])
    for model in ("preparation", "entry", "step", "reading", "sighting", "hold", "label", "recalculation"):
        assert browser.get(f"/upkeep/checklists/{model}/").status_code == 404


@pytest.mark.parametrize("name", [name for name, (_roles, methods) in MAY.items() if "POST" in methods])
def test_no_form_is_taken_from_another_site(everybody: Cast, shown: Hands, name: str) -> None:
    where = address(name, shown)
    role = (MAY[name][0] or (T,))[0]
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(everybody[role])
    before = everything()
    told = {"badge": everybody[T].badge, "pin": PIN, "reason": "no", "to": "off"}
    assert browser.post(where, told).status_code == 403
    assert everything() == before


def test_somebody_who_left_gets_in_no_more(everybody: Cast) -> None:
    browser = sign_in(everybody[T])
    type(everybody[T]).objects.filter(pk=everybody[T].pk).update(is_active=False)
    assert browser.get(reverse("to_make")).status_code == 302
