"""The second arithmetic confirms what is right and names what is not. (Source: the order itself, by other
means.)
"""

import copy
import subprocess
import sys
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from prepared_orders import (
    AMINOPHYLLINE,
    FLUOROURACIL,
    ONDANSETRON_MULTI,
    bag,
    in_syringes,
    ingredient,
    order,
    vancomycin,
)

from compounding.reckoning.plain_amounts import measured, plain_number, root
from compounding.reckoning.proof import prove
from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.refusals import NotProved
from compounding.reckoning.worksheet import FinalContainer, plain_of, to_plain

Plain = dict[str, Any]


def proved(request: Any) -> tuple[Plain, Plain]:
    return to_plain(reckon(request)), plain_of(request)


POWDER = vancomycin("1100", vehicle=bag(250, 25, 300))
WITHDRAWN = order(ingredient(AMINOPHYLLINE, of(500, "mg")), vehicle=bag(100, 8, 120))
HAZARDOUS = order(ingredient(FLUOROURACIL, of(1000, "mg"), hazardous=True), vehicle=bag(500, 40))
BATCH = in_syringes(ingredient(ONDANSETRON_MULTI, of(4, "mg")), units=12)
FILLED = order(
    ingredient(AMINOPHYLLINE, of(500, "mg")), vehicle=bag(250), method="fill to volume",
    final_container=FinalContainer.EMPTY_BAG, final_volume=of(100, "mL"),
)  # fmt: skip
ALL = {"powder": POWDER, "withdrawn": WITHDRAWN, "hazardous": HAZARDOUS, "batch": BATCH, "filled": FILLED}


@pytest.mark.parametrize("request_", ALL.values(), ids=ALL)
def test_a_right_worksheet_is_proved_again_from_what_was_stored(request_: Any) -> None:
    sheet, asked = proved(request_)
    assert [list(line) for line in prove(sheet, asked)] == [
        [one["about"], one["text"]] for one in sheet["proof"]
    ]


def last(sheet: Plain) -> Plain:
    draw: Plain = sheet["transfers"][-1]["draws"][-1]
    return draw


def first(sheet: Plain) -> Plain:
    draw: Plain = sheet["transfers"][0]["draws"][0]
    return draw


def shift(draw: Plain, by: Fraction) -> None:
    """Move a draw by some mL, portions and all, as a fault in the reckoning would."""
    draw["target"] = f"{float_free(measured(draw['target'])[0] + by)} mL"
    portion = draw["sources"][-1]
    portion["volume"] = f"{float_free(measured(portion['volume'])[0] + by)} mL"


def float_free(number: Fraction) -> str:
    return plain_number(number).replace(",", "")


def swap(sheet: Plain) -> None:
    sheet["transfers"].reverse()


FAULTS: dict[str, tuple[Any, Callable[[Plain], Any]]] = {
    "a step more": (POWDER, lambda s: shift(last(s), Fraction(1, 2))),
    "ten times as much": (POWDER, lambda s: shift(last(s), Fraction(198))),
    "target without portions": (POWDER, lambda s: last(s).update(target="22.5 mL")),
    "off the mark": (POWDER, lambda s: shift(last(s), Fraction(1, 10))),
    "another syringe": (POWDER, lambda s: last(s).update(syringe={"size": "25 mL", "mark": "1 mL"})),
    "too full": (HAZARDOUS, lambda s: last(s).update(syringe={"size": "20 mL", "mark": "1 mL"})),
    "to the wrong place": (POWDER, lambda s: last(s).update(destination="waste")),
    "into another bag": (POWDER, lambda s: last(s).update(destination="bag 2")),
    "from the diluent": (POWDER, lambda s: last(s)["sources"][0].update(container="diluent vial 1")),
    "from one vial": (POWDER, lambda s: last(s).update(sources=[{"container": "vial 1", "volume": "22 mL"}])),
    "from nowhere": (POWDER, lambda s: last(s)["sources"][0].update(container="vial 9")),
    "too little diluent": (POWDER, lambda s: shift(first(s), Fraction(-10))),
    "a vial left dry": (POWDER, lambda s: first(s).update(destination="vial 2")),
    "drug before diluent": (POWDER, swap),
    "drug before withdrawing": (WITHDRAWN, swap),
    "withdrawn into the bag": (WITHDRAWN, lambda s: first(s).update(destination="bag")),
    "nothing withdrawn": (WITHDRAWN, lambda s: s["transfers"].pop(0)),
    "a unit missed": (BATCH, lambda s: s["transfers"][0]["draws"].pop()),
    "a unit doubled": (BATCH, lambda s: last(s).update(destination="syringe 1")),
    "a unit more": (BATCH, lambda s: s.update(units=13)),
    "not filled": (FILLED, lambda s: s["transfers"].pop()),
    "an easier error": (POWDER, lambda s: last(s)["error"].update(expected="3")),
    "a flattered rounding": (
        POWDER,
        lambda s: last(s)["error"].update(instrument="2", worst="2", expected="2"),
    ),
    "another dose": (POWDER, lambda s: s["ingredients"][0].update(dose="1000 mg")),
    "another strength": (POWDER, lambda s: s["ingredients"][0].update(strength="5 mg/mL")),
    "another substance": (POWDER, lambda s: s["ingredients"][0].update(substance="other")),
    "too much air": (HAZARDOUS, lambda s: last(s).update(air="20 mL")),
    "no hazard": (HAZARDOUS, lambda s: s["ingredients"][0].update(hazardous=False)),
    "another concentration": (POWDER, lambda s: s["ingredients"][0].update(concentration="4.1 mg/mL")),
    "another unit": (POWDER, lambda s: s["ingredients"][0].update(dose="1100 units")),
    "an unreadable dose": (POWDER, lambda s: s["ingredients"][0].update(dose="1100 mgs")),
    "no ingredient": (POWDER, lambda s: s["ingredients"].clear()),
    "another volume": (POWDER, lambda s: s.update(final_volume="250 mL")),
    "another true volume": (POWDER, lambda s: s.update(true_volume="272 mL")),
    "a later date": (POWDER, lambda s: s.update(beyond_use_at="2027-01-01T08:00+00:00")),
    "a container twice": (POWDER, lambda s: s["containers"].append(s["containers"][0])),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_every_planted_fault_is_found(fault: str) -> None:
    request_, plant = FAULTS[fault]
    sheet, asked = proved(request_)
    changed = copy.deepcopy(sheet)
    plant(changed)
    assert changed != sheet
    with pytest.raises(NotProved) as refused:
        prove(changed, asked)
    assert "report it" in refused.value.sentence


def test_a_bag_too_small_is_found() -> None:
    sheet, asked = proved(POWDER)
    asked["vehicle"]["capacity"] = "290 mL"
    with pytest.raises(NotProved, match="capacity"):
        prove(sheet, asked)


@given(st.integers(-44, 16).filter(bool), st.sampled_from(["target", "portion", "both"]))
def test_any_moved_draw_fails_the_proof(steps: int, what: str) -> None:
    sheet, asked = proved(POWDER)
    draw = last(sheet)
    before = dict(draw), dict(draw["sources"][-1])
    shift(draw, Fraction(steps, 2))
    if what == "target":
        draw["sources"][-1].update(before[1])
    if what == "portion":
        draw["target"] = before[0]["target"]
    with pytest.raises(NotProved):
        prove(sheet, asked)


def test_the_proof_imports_nothing_of_the_first_arithmetic() -> None:
    lines = (
        "import sys; import compounding.reckoning.proof; "
        "print([name for name in sys.modules if name.startswith('pint') or 'quantities' in name])"
    )
    done = subprocess.run([sys.executable, "-c", lines], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_its_own_reading_of_stored_amounts() -> None:
    assert measured("0.9 %") == (9, ("mass", "volume"))
    assert measured("40 mEq/L") == (Fraction(1, 25), ("equivalent", "volume"))
    assert measured("5 mg/kg") == (5, ("mass", "body weight"))
    assert measured("66 in") == (Fraction("167.64"), ("height",))


def test_its_own_root_and_rounding() -> None:
    assert root(Fraction(4)) == 2
    assert root(Fraction(0)) == 0
    assert abs(root(Fraction(170 * 70, 3600)) ** 2 - Fraction(170 * 70, 3600)) < Fraction(1, 10**11)
    assert plain_number(Fraction(1, 8), 2) == "0.13"
    assert plain_number(Fraction(2000, 33)) == "60.6061"
    assert plain_number(Fraction(1250)) == "1,250"
    assert plain_number(Fraction(-1, 2)) == "-0.5"
