"""What the screens of the steps say: the cautions of common practice, and nothing too long for a glance.

Common practice, no source: 15 cm / 6 in, bevel up at 45° then 90°, air in = volume out, 5 µm filter needle
changed before injection, label at once, needles to sharps and wrappings not.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cast import Cast, Hands, order
from tests.checklists.walks import beside, house, sign_in, words

__all__ = ["house"]
STEPS = Path(__file__).resolve().parents[2] / "templates" / "steps"
MOST_WORDS = 14
SAID = re.compile(r"{% translate (['\"])(.+?)\1 %}")

VIAL, AMPOULE = ("ondansetron-nacl-50", "8 mg"), ("norepinephrine-d5w-250", "4 mg")
POWDER, HAZARDOUS = ("cefazolin-nacl-100", "750 mg"), ("fluorouracil-nacl-500", "800 mg")
#: What is ordered, the step, and every caution that its screen gives.
CAUTIONS = [
    (VIAL, "arrange", ("At least 15 cm (6 in) inside the front edge", "between the filter's air")),
    (HAZARDOUS, "arrange", ("At least 15 cm (6 in) inside the front edge", "nothing above a critical site")),
    (
        VIAL,
        "draw",
        ("Bevel up at 45 degrees, then 90 degrees", "Air in equals volume out", "Air in first:"),
    ),
    (POWDER, "add_diluent_to_vial", ("Bevel up at 45 degrees, then 90 degrees",)),
    (AMPOULE, "draw", ("through the filter needle", "5 micron filter holds glass back")),
    (AMPOULE, "change_needle", ("Take the filter needle off; put a new needle on", "5 micron")),
    (VIAL, "apply_label", ("Put the label on at once",)),
    (VIAL, "dispose", ("Needles go uncapped to sharps, wrappings never",)),
    (HAZARDOUS, "draw", ("Never more air in than volume out", "Lock onto the device")),
    (HAZARDOUS, "dispose", ("hazardous waste", "sealed")),
    (HAZARDOUS, "put_on_gloves", ("two pairs of gloves",)),
]


@pytest.fixture
def everybody(house: Cast, db: None) -> Cast:
    return house


def screen(work: Hands) -> str:
    """Return the words of the step that the work has come to."""
    return words(sign_in(work.technician).get(f"/make/{work.code}/"))


@pytest.mark.parametrize(("ordered", "kind", "cautions"), CAUTIONS, ids=lambda one: str(one)[:30])
def test_the_steps_say_the_cautions_of_common_practice(
    everybody: Cast, ordered: tuple[str, str], kind: str, cautions: tuple[str, ...]
) -> None:
    page = screen(beside(everybody, order(*ordered)).to(kind))
    missing = [caution for caution in cautions if caution not in page]
    assert not missing, page


@pytest.mark.parametrize("path", sorted(STEPS.glob("*.html")), ids=lambda path: path.stem)
def test_no_instruction_is_longer_than_a_glance(path: Path) -> None:
    """At most 14 words: shared design 4."""
    block = (
        path.read_text(encoding="utf-8")
        .partition("{% block instruction %}")[2]
        .partition("{% endblock %}")[0]
    )
    said = [text for _quote, text in SAID.findall(block)]
    assert said or "{{" in block
    assert [text for text in said if len(text.split()) > MOST_WORDS] == []


@pytest.mark.parametrize(
    "ordered", [("bicarbonate-d5w-250", "50 mEq"), HAZARDOUS, AMPOULE], ids=lambda one: one[0]
)
def test_every_step_of_the_work_has_its_screen(everybody: Cast, ordered: tuple[str, str]) -> None:
    work = beside(everybody, order(*ordered))
    browser = sign_in(work.technician)
    while (step := work.step) and work.preparation.state == "in-work":
        answer = browser.get(f"/make/{work.code}/")
        assert (answer.status_code, f"step-{step.kind}" in answer.content.decode()) == (200, True), step
        work.do(step)
    assert work.done[-1] == "clean_up"
