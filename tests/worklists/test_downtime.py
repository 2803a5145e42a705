"""The downtime pack: three sheets an order; the checker's holds no amount that was reckoned.

Source: the project's own rule. 865 mg at 50 mg/mL: 17.3 mL required, 17.5 mL at its mark (shared design 1).
"""

from __future__ import annotations

import io
import re
from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from cast import Cast, hands, order
from checklists.worklists.downtime import downtime_pack
from compounding.formulary.models import Lot
from tests.checklists.walks import UNLIKELY, everybody, house

__all__ = ["everybody", "house"]
AMOUNT = re.compile(r"17\s?[.,]\s?[35]")


def sheets(folder: Path) -> list[str]:
    page = (folder / "downtime.html").read_text(encoding="utf-8")
    return page.split('<section class="down-sheet">')[1:]


def test_what_is_due_is_on_paper_and_the_checkers_sheet_tells_no_amount(
    everybody: Cast, tmp_path: Path
) -> None:
    order("vancomycin-nacl-250", UNLIKELY)
    told = io.StringIO()
    call_command("downtime_pack", str(tmp_path), stdout=told)
    assert told.getvalue() == f"{tmp_path / 'downtime.html'}: 1 order.\n"
    list_of_all, maker, checker, label = sheets(tmp_path)
    assert "Iris Calloway" in list_of_all
    assert AMOUNT.search(maker)
    assert not AMOUNT.search(checker)
    assert not AMOUNT.search(list_of_all)
    assert "vancomycin 865 mg" in checker
    assert checker.count('<tr><th scope="row">') == maker.split("Drawn</h2>")[1].count('<tr><th scope="row">')
    assert "CD-204117" in label
    assert re.search(r"Beyond use _+ \(at most \d+ hours [^)]*\)", label)
    assert all((tmp_path / f"{name}.css").exists() for name in ("record", "paper", "downtime"))


def test_no_time_that_counts_from_the_printing_stands_on_it(everybody: Cast) -> None:
    order("vancomycin-nacl-250", UNLIKELY)
    (one,) = downtime_pack(timezone.now(), 12).orders
    assert "Preparation starts" not in one.worksheet
    assert "Beyond-use date" not in one.worksheet
    assert not any("Prepared" in line or "begin before" in line for line in one.label)


def test_what_is_being_made_or_due_much_later_is_not_in_it(everybody: Cast) -> None:
    hands(everybody, order("ketorolac-syringe", "30 mg"))
    later = timezone.localtime(timezone.now() + timedelta(hours=20)).strftime("%Y-%m-%dT%H:%M")
    order("ondansetron-nacl-50", "8 mg", due_at=later)
    assert downtime_pack(timezone.now(), 12).orders == ()
    assert [one.title for one in downtime_pack(timezone.now(), 24).orders] == [
        "ondansetron in sodium chloride 0.9 % 50 mL"
    ]


def test_what_cannot_be_reckoned_is_named_with_the_reason(everybody: Cast, tmp_path: Path) -> None:
    order("ketorolac-syringe", "30 mg")
    Lot.objects.filter(product__substance__name="ketorolac").update(expires_on="2020-01-01")
    (one,) = downtime_pack(timezone.now(), 12).orders
    assert "ketorolac" in one.why_not
    call_command("downtime_pack", str(tmp_path), stdout=io.StringIO())
    assert len(sheets(tmp_path)) == 1
    assert one.why_not.split(".")[0] in sheets(tmp_path)[0]


@pytest.mark.parametrize("hour", [1, 12, 22])
def test_a_lot_that_ends_soon_limits_the_label_whenever_the_work_begins(everybody: Cast, hour: int) -> None:
    with time_machine.travel(timezone.localtime().replace(hour=hour), tick=True):
        order("ketorolac-syringe", "30 mg")
        (free,) = downtime_pack(timezone.now(), 12).orders
        assert free.good_for == "24 hours after the start"
        ends = timezone.localdate() + timedelta(days=1)
        Lot.objects.filter(product__substance__name="ketorolac").update(expires_on=ends)
        (bound,) = downtime_pack(timezone.now(), 30).orders
        assert re.fullmatch(rf"[\w ]+ after the start, and never after {ends.day} .* 23:59", bound.good_for)


def test_where_it_cannot_be_written_it_says_so(everybody: Cast, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(CommandError, match="It was not written"):
        call_command("downtime_pack", str(tmp_path / "file"))
