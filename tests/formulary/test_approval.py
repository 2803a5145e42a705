"""A formulation needs two people: whoever wrote or changed a version does not approve it.

Source: the project's own rule; approved apart from its author: common practice,
no source.
"""

from __future__ import annotations

import pytest
from django.test import Client
from django.utils import timezone

from cast import Cast
from checklists.models import Person
from compounding.formulary.approval import approve
from compounding.formulary.models import FormularyChange, Formulation, Product, Substance
from compounding.formulary.refusals import ApprovedAlready, ApprovedByItsAuthor
from tests.checklists.walks import everybody, house, sign_in, words

__all__ = ["everybody", "house"]

NOW = timezone.now()


@pytest.fixture
def draft(everybody: Cast) -> Formulation:
    found = Formulation.objects.get(code="ketorolac-syringe")
    found.pk, found.version, found.state = None, 2, "draft"
    found.save()
    return found


@pytest.fixture
def second_supervisor(everybody: Cast) -> Person:
    return Person.objects.create_user(
        badge="BSECOND00", name="Noor Haddad", role="supervisor", pin="9753", is_staff=True
    )


def chosen(browser: Client, formulation: Formulation, why: str = "agreed by the committee") -> str:
    """Choose a version on the upkeep pages and approve it; return what the page says."""
    told = {"action": "approve", "_selected_action": [formulation.pk], "why": why}
    return words(browser.post("/upkeep/formulary/formulation/", told, follow=True))


def change(browser: Client, formulation: Formulation, **fields: str) -> None:
    """Change a draft on the upkeep pages, with every other field as the page had it."""
    where = f"/upkeep/formulary/formulation/{formulation.pk}/change/"
    form = browser.get(where).context["adminform"].form
    told = {name: "" if form[name].value() is None else form[name].value() for name in form.fields}
    parts, counts = ("ingredients", "own_steps"), ("TOTAL_FORMS", "INITIAL_FORMS")
    kept = {f"{part}-{count}": "0" for part in parts for count in counts}
    answer = browser.post(where, {**told, **kept, "why": "a word was wrong", **fields})
    assert answer.status_code == 302, words(answer)


def test_an_author_does_not_approve_and_another_supervisor_does(
    everybody: Cast, draft: Formulation, second_supervisor: Person
) -> None:
    author = sign_in(everybody["supervisor"])
    change(author, draft, source="the committee's minutes")
    draft.refresh_from_db()
    assert draft.written_by == f"Edda Solheim, supervisor ({everybody['supervisor'].pk})"
    assert "was written or changed by you. Somebody else approves it." in chosen(author, draft)
    draft.refresh_from_db()
    assert draft.state == "draft"
    assert "is approved." in chosen(sign_in(second_supervisor), draft)
    draft.refresh_from_db()
    assert (draft.state, draft.approved_by) == (
        "approved",
        f"Noor Haddad, supervisor ({second_supervisor.pk})",
    )
    assert "is no draft." in chosen(sign_in(second_supervisor), draft)


def test_whoever_changed_a_word_of_it_is_an_author_too(
    everybody: Cast, draft: Formulation, second_supervisor: Person
) -> None:
    change(sign_in(everybody["supervisor"]), draft, source="the committee's minutes")
    change(sign_in(second_supervisor), draft, source="the committee's minutes of Monday")
    for who in (everybody["supervisor"], second_supervisor):
        assert "Somebody else approves it." in chosen(sign_in(who), draft)


def test_the_state_is_not_a_field_that_anybody_fills_in(everybody: Cast, draft: Formulation) -> None:
    change(sign_in(everybody["supervisor"]), draft, state="approved", approved_by="somebody")
    draft.refresh_from_db()
    assert (draft.state, draft.approved_by) == ("draft", "")


def test_the_rule_holds_without_any_page(draft: Formulation) -> None:
    draft.written_by = "Ana (1); Ben (2)"
    draft.save()
    for by in ("Ana (1)", "Ben (2)"):
        with pytest.raises(ApprovedByItsAuthor):
            approve(draft, by=by, at=NOW, why="so")
    approve(draft, by="Ana (3)", at=NOW, why="so")
    with pytest.raises(ApprovedAlready):
        approve(draft, by="Ana (3)", at=NOW, why="so")


def test_without_a_reason_nothing_is_changed_or_approved(
    everybody: Cast, draft: Formulation, second_supervisor: Person
) -> None:
    author = sign_in(everybody["supervisor"])
    with pytest.raises(AssertionError, match="Write why: it is kept with the change"):
        change(author, draft, source="the committee's minutes", why=" ")
    assert "Write why beside the action" in chosen(sign_in(second_supervisor), draft, why=" ")
    draft.refresh_from_db()
    assert (draft.state, draft.written_by) == ("draft", "")
    assert not FormularyChange.objects.exists()


def test_every_change_is_kept_with_who_and_why(
    everybody: Cast, draft: Formulation, second_supervisor: Person
) -> None:
    author = sign_in(everybody["supervisor"])
    change(author, draft, source="the committee's minutes")
    chosen(sign_in(second_supervisor), draft)
    kept = [(one.fields, one.why, one.by.partition(",")[0]) for one in FormularyChange.objects.all()]
    assert kept == [
        ("approved", "agreed by the committee", "Noor Haddad"),
        ("source", "a word was wrong", "Edda Solheim"),
    ]
    page = author.get("/upkeep/formulary/formularychange/")
    assert "agreed by the committee" in words(page)
    for where in ("/upkeep/formulary/formularychange/add/", "/upkeep/formulary/formularychange/1/delete/"):
        assert author.get(where).status_code in (302, 403)


def test_a_product_and_a_substance_ask_why_too(everybody: Cast) -> None:
    browser = sign_in(everybody["supervisor"])
    for row in (Product.objects.first(), Substance.objects.first()):
        where = f"/upkeep/formulary/{row._meta.model_name}/{row.pk}/change/"
        form = browser.get(where).context["adminform"].form
        told = {name: "" if form[name].value() is None else form[name].value() for name in form.fields}
        assert "Write why" in words(browser.post(where, {**told, "name": "another name"}))
        assert browser.post(where, {**told, "name": "another name", "why": "misspelt"}).status_code == 302
    assert FormularyChange.objects.filter(why="misspelt", fields="name").count() == 2


def test_an_approved_version_is_still_shown(everybody: Cast) -> None:
    found = Formulation.objects.filter(state="approved").first()
    page = sign_in(everybody["supervisor"]).get(f"/upkeep/formulary/formulation/{found.pk}/change/")
    assert page.status_code == 200
