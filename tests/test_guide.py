"""What README, DEVELOPERS and the guide say is so: paths, commands and links exist, output is real.

Source of each expectation: the page itself, held against the tree and the program.
"""

import re
from pathlib import Path

import pytest
from django.core.management import call_command, get_commands

from checklists.site import furnish
from checklists.worklists import calculator
from compounding.formulary.loading import load_formulary
from compounding.formulary.models import FormulationIngredient

ROOT = Path(__file__).resolve().parents[1]
GUIDE = ROOT / "shared" / "guide"
PAGES = sorted([ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md", *GUIDE.glob("*.md")])
BY_NAME = [pytest.param(page, id=str(page.relative_to(ROOT))) for page in PAGES]
FENCE = re.compile(r"^```\w*\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
# In backticks, what ends like a file or a folder; anywhere, what begins with a room of the tree.
# `<module>` stands for any. What the two commands make (.venv, .data) is not there before they ran.
ENDINGS = r"py|md|json|html|css|js|toml|txt|png"
IN_TICKS = re.compile(rf"`((?:[\w<>-]+/)*[\w<>-]+(?:/|\.(?:{ENDINGS})))`")
IN_A_ROOM = re.compile(
    r"(?<![\w/.])((?:\.ci|checklists|compounding|shared|static|templates|tests)/[\w./<>-]*[\w/>])(?![\w*])"
)
DOOR = {"demo", "test", "furnish", "help"}
# rooms from which a page names a module by its short path
ROOMS = (
    "",
    "checklists",
    "checklists/method",
    "checklists/worklists",
    "compounding/reckoning",
    "tests/method",
    "tests/reckoning",
)
LARGEST = 120_000


def text(page: Path) -> str:
    return page.read_text(encoding="utf-8")


def paths(page: Path) -> set[str]:
    """Return what looks like a path of the tree."""
    return {*IN_TICKS.findall(text(page)), *IN_A_ROOM.findall(text(page))}


def exists(path: str, page: Path) -> bool:
    pattern = re.sub(r"<\w+>", "*", path).rstrip("/")
    bases = [ROOT / room for room in ROOMS] + [page.parent]
    return any(next(base.glob(pattern), None) for base in bases)


def anchors(page: Path) -> set[str]:
    return {
        re.sub(r"[^\w -]", "", head).lower().replace(" ", "-")
        for head in re.findall(r"^#+ (.+)$", text(page), re.M)
    }


@pytest.mark.parametrize("page", BY_NAME)
def test_every_path_that_a_page_names_exists(page: Path) -> None:
    assert sorted(path for path in paths(page) if not exists(path, page)) == []


@pytest.mark.parametrize("page", BY_NAME)
def test_every_command_that_a_page_names_exists(page: Path) -> None:
    named = set(re.findall(r"manage\.py ([a-z_]+)", text(page)))
    assert sorted(named - DOOR - set(get_commands())) == []


def test_the_developers_page_counts_the_contracts() -> None:
    contracts = re.findall(r"^\[\[tool\.importlinter\.contracts\]\]$", text(ROOT / "pyproject.toml"), re.M)
    assert (len(contracts), "as ten contracts" in text(ROOT / "DEVELOPERS.md")) == (10, True)


def test_the_door_knows_its_own_commands() -> None:
    assert set(re.findall(r"manage\.py (\w+)", furnish.USAGE)) == DOOR


@pytest.mark.parametrize("page", BY_NAME)
def test_every_link_leads_somewhere(page: Path) -> None:
    for link in LINK.findall(text(page)):
        name, _, anchor = link.partition("#")
        target = (page.parent / name).resolve() if name else page
        assert target.exists(), link
        assert not anchor or anchor in anchors(target), link


def test_every_page_and_picture_of_the_guide_is_reached() -> None:
    linked = {(page.parent / link).resolve() for page in PAGES for link in LINK.findall(text(page))}
    assert [path for path in GUIDE.rglob("*.png") if path not in linked] == []
    listed = {(GUIDE / link).resolve() for link in LINK.findall(text(GUIDE / "README.md"))}
    assert [page for page in GUIDE.glob("*.md") if page.name != "README.md" and page not in listed] == []


def test_pictures_are_small_and_said_in_words() -> None:
    assert [path.name for path in GUIDE.rglob("*.png") if path.stat().st_size > LARGEST] == []
    for page in PAGES:
        assert re.findall(r"!\[\s*\]\(", text(page)) == []


def test_the_readme_shows_what_the_worksheet_command_prints(capsys) -> None:
    call_command("worksheet", str(GUIDE / "orders" / "vancomycin_in_full.json"))
    printed = capsys.readouterr().out
    (block,) = [one for one in FENCE.findall(text(ROOT / "README.md")) if one.startswith("Draws, ")]
    assert block in printed


def lines(page: Path, start: str) -> set[str]:
    """Return the lines of the fenced blocks that start so, without what stands for a cut."""
    blocks = [block for block in FENCE.findall(text(page)) if block.startswith(start)]
    assert blocks
    return {line for block in blocks for line in block.splitlines() if line.strip("…")}


def test_every_invariant_of_the_guide_is_a_test_on_drawn_amounts() -> None:
    rows = re.findall(r"`(test_\w+)\.(test_\w+)`", text(GUIDE / "invariants.md"))
    assert len(set(rows)) == len(rows) >= 15
    for module, name in rows:
        source = (ROOT / "tests" / "reckoning" / f"{module}.py").read_text(encoding="utf-8")
        _, _, decorators = source.partition(f"\ndef {name}(")[0].rpartition("\n\n\n")
        assert f"\ndef {name}(" in source, name
        assert "@given(" in decorators, name


@pytest.mark.django_db
def test_the_pages_show_what_the_qualify_command_prints(capsys) -> None:
    load_formulary(ROOT / "shared" / "formulary")
    call_command("qualify")
    printed = set(capsys.readouterr().out.splitlines())
    assert lines(ROOT / "README.md", "Worked examples") - printed == set()
    assert lines(GUIDE / "qualify.md", "Worked examples") - printed == set()


@pytest.mark.django_db
def test_the_guide_shows_the_failure_of_a_limit_set_too_low(capsys) -> None:
    load_formulary(ROOT / "shared" / "formulary")
    limits = {"least_dose": "0.3 mg", "most_dose": "0.3 mg"}
    FormulationIngredient.objects.filter(formulation__code="ketorolac-syringe").update(**limits)
    with pytest.raises(SystemExit):
        call_command("qualify")
    printed = set(capsys.readouterr().out.splitlines())
    assert lines(GUIDE / "qualify.md", "Failed") - printed == set()


@pytest.mark.django_db
def test_the_calculator_finds_the_ladder_of_the_neonatal_page() -> None:
    # 0.4 mL of stock and 3.6 mL of diluent, 0.74 mL of it: worked by hand in shared/guide/neonatal.md
    screen = calculator.screen("syringe", {"volume": "0.0735 mL", "hazardous": "no", "strength": "10 mg/mL"})
    assert screen.answer is not None
    found = [came_to for _name, came_to in screen.answer.results]
    assert found == ["0.4 mL in a 1 mL syringe", "3.6 mL in a 5 mL syringe", "0.74 mL in a 1 mL syringe"]
    assert str(screen.here.title) == "Choice of syringe"
    assert "*Choice of syringe*" in text(GUIDE / "neonatal.md")
