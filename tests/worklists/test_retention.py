"""Old records are counted and never deleted. Source: the project's own rule; the law says for how long."""

from __future__ import annotations

import io
from datetime import timedelta

from django.core.management import call_command
from django.utils import timezone

from cast import Cast, key, order
from checklists import run
from checklists.models import Preparation
from tests.checklists.walks import beside, everybody, house

__all__ = ["everybody", "house"]


def said(years: int) -> str:
    told = io.StringIO()
    call_command("retention", "--years", str(years), stdout=told)
    return told.getvalue()


def test_what_is_older_is_counted_by_year_and_kept(everybody: Cast, house: Cast) -> None:
    work = beside(house, order("ketorolac-syringe", "30 mg"))
    run.abandon(code=work.code, person=work.technician, key=key(), reason="for the test")
    assert said(10) == "No record ended more than 10 years ago.\n"
    ended = timezone.now() - timedelta(days=3 * 366)
    Preparation.objects.filter(code=work.code).update(ended_at=ended)
    told = said(2)
    assert told.startswith(f"{ended.year}: 1\n1 records ended before ")
    assert f"python3 manage.py export {ended.year}-01-01 " in told
    assert Preparation.objects.filter(code=work.code).exists()
