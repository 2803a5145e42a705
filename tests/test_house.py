"""The bar: how long a room may be, what may stand in which room, and who may look into whose.

The numbers are the project's own, measured on code worth learning from; a screen of code is about 60 lines.
"""

import ast
import os
import re
import statistics
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from django.db import connection

from checklists.site import settings
from checklists.site.middleware import POLICY

ROOT = Path(__file__).resolve().parents[1]
SOURCES = [
    path
    for path in (ROOT / "manage.py", *ROOT.glob("compounding/**/*.py"), *ROOT.glob("checklists/**/*.py"))
    if "migrations" not in path.parts
]
TEMPLATES = sorted(
    path for path in (ROOT / "templates").rglob("*") if path.suffix in {".html", ".txt", ".js"}
)
SCRIPTS_AND_STYLES = sorted(path for path in (ROOT / "static").rglob("*") if path.suffix in {".js", ".css"})
PURE = [path for path in SOURCES if {"reckoning", "method"} & set(path.relative_to(ROOT).parts)]
# A long table of the trade may stand in one module when it says so in a comment on a line of its own.
TRADE_TABLE = re.compile(r"^# trade table: \S", re.MULTILINE)
# Names that say nothing of the trade.
EMPTY_NAMES = {"utils", "util", "helpers", "services", "managers", "core", "common", "base", "misc"}
FORBIDDEN_IN_PAGES = {
    "inline style": re.compile(r"""\sstyle\s*=\s*["'{]|<style\b""", re.IGNORECASE),
    "inline script": re.compile(r"<script(?![^>]*\bsrc=)|javascript:", re.IGNORECASE),
    "inline handler": re.compile(r"""\s(?:on[a-z]+|hx-on[:a-z-]*)\s*=\s*["']""", re.IGNORECASE),
    "script in a value": re.compile(r"""hx-(?:vals|headers)\s*=\s*["']js:""", re.IGNORECASE),
}


class Function(NamedTuple):
    """One function or method: where it stands and its syntax tree."""

    path: Path
    node: ast.FunctionDef | ast.AsyncFunctionDef

    @property
    def lines(self) -> int:
        return (self.node.end_lineno or self.node.lineno) - self.node.lineno + 1

    def __str__(self) -> str:
        return f"{self.path.relative_to(ROOT)}:{self.node.lineno} {self.node.name}, {self.lines} lines"


def line_count(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def longer_than(most: int, paths: list[Path]) -> list[str]:
    return [
        f"{path.relative_to(ROOT)}: {line_count(path)} lines" for path in paths if line_count(path) > most
    ]


def functions(paths: list[Path]) -> Iterator[Function]:
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                yield Function(path, node)


def view_functions() -> list[Function]:
    found = functions([path for path in SOURCES if path.parent == ROOT / "checklists" / "views"])
    return [each for each in found if each.node.args.args and each.node.args.args[0].arg == "request"]


def ninth_tenth(numbers: list[int]) -> int:
    return sorted(numbers)[int(len(numbers) * 0.9)]


def run_python(*words: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, *words], capture_output=True, text=True, cwd=ROOT, env=environment, check=False
    )


def test_no_module_is_longer_than_300_lines() -> None:
    modules = [path for path in SOURCES if not TRADE_TABLE.search(path.read_text(encoding="utf-8"))]
    assert longer_than(300, modules + sorted((ROOT / "tests").rglob("*.py"))) == []


def test_modules_are_short() -> None:
    lengths = [line_count(path) for path in SOURCES if path.name != "__init__.py"]
    assert statistics.median(lengths) <= 120
    assert ninth_tenth(lengths) <= 250


def test_no_function_is_longer_than_60_lines() -> None:
    assert [str(each) for each in functions(SOURCES) if each.lines > 60] == []


def test_functions_are_short() -> None:
    found = list(functions(SOURCES))
    lengths = [each.lines for each in found]
    long = [str(each) for each in found if each.lines > 30]
    assert statistics.median(lengths) <= 8
    assert ninth_tenth(lengths) <= 20
    assert len(long) <= 0.03 * len(found), long


def test_views_are_short() -> None:
    assert [str(each) for each in view_functions() if each.lines > 25] == []
    assert statistics.median(each.lines for each in view_functions()) <= 12


def test_every_function_says_what_it_returns() -> None:
    assert [str(each) for each in functions(SOURCES) if each.node.returns is None] == []


def test_names_are_words_of_the_trade() -> None:
    names = [name for path in SOURCES for name in path.relative_to(ROOT).with_suffix("").parts]
    assert sorted(EMPTY_NAMES & set(names)) == []


def test_no_float_near_an_amount() -> None:
    floats = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in PURE
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if (isinstance(node, ast.Name) and node.id in {"float", "complex"})
        or (isinstance(node, ast.Constant) and isinstance(node.value, float | complex))
    ]
    assert PURE, "the pure rooms have moved; this test looks into the wrong place"
    assert floats == []


def test_templates_scripts_and_styles_are_short() -> None:
    assert longer_than(120, TEMPLATES + SCRIPTS_AND_STYLES) == []
    assert statistics.median(line_count(path) for path in TEMPLATES) <= 40


@pytest.mark.parametrize("what", FORBIDDEN_IN_PAGES)
def test_pages_carry_nothing_that_the_policy_refuses(what: str) -> None:
    pages = [path for path in TEMPLATES if path.suffix == ".html"]
    found = [path for path in pages if FORBIDDEN_IN_PAGES[what].search(path.read_text(encoding="utf-8"))]
    assert [str(path.relative_to(ROOT)) for path in found] == []


def test_nothing_loosens_the_policy() -> None:
    everything = SOURCES + TEMPLATES + SCRIPTS_AND_STYLES
    assert [str(path) for path in everything if "unsafe-" in path.read_text(encoding="utf-8")] == []


def test_every_answer_carries_the_policy_and_is_not_stored(client, db) -> None:
    answer = client.get("/there-is-no-such-page/")
    assert answer.status_code in {302, 404}
    assert answer["Content-Security-Policy"] == POLICY
    assert answer["Cache-Control"] == "no-store"


def test_the_contracts_of_the_house_are_kept() -> None:
    told = run_python("-c", "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports())")
    assert told.returncode == 0, told.stdout + told.stderr


def test_the_science_and_the_method_load_without_a_framework() -> None:
    told = run_python(
        "-c",
        "import importlib, pkgutil, sys\n"
        "sys.modules.update(dict.fromkeys(['django', 'django_htmx']))  # None: whoever imports it fails\n"
        "import compounding.reckoning, checklists.method\n"
        "for room in (compounding.reckoning, checklists.method):\n"
        "    for module in pkgutil.walk_packages(room.__path__, room.__name__ + '.'):\n"
        "        importlib.import_module(module.name)\n",
    )
    assert told.returncode == 0, told.stderr


def test_the_front_door_needs_nothing_but_python() -> None:
    told = run_python(
        "-I", "-S", "-c", f"import sys; sys.path.insert(0, {str(ROOT)!r}); import checklists.site.furnish"
    )
    assert told.returncode == 0, told.stderr


@pytest.mark.parametrize(
    "name",
    ["manage.py", "checklists/__init__.py", "checklists/site/__init__.py", "checklists/site/furnish.py"],
)
def test_an_old_python_can_read_the_front_door(name: str) -> None:
    tree = ast.parse((ROOT / name).read_text(encoding="utf-8"), feature_version=(3, 6))
    assert ast.get_docstring(tree)
    future = [node for node in tree.body if isinstance(node, ast.ImportFrom) and node.module == "__future__"]
    assert future == [], "Python 3.6 has no deferred annotations"


def test_the_database_asked_for_is_the_one_in_use() -> None:
    asked = "postgresql" if os.environ.get("DATABASE_URL", "").startswith("postgres") else "sqlite"
    assert connection.vendor == asked


def test_every_variable_of_the_environment_is_explained() -> None:
    read = re.findall(
        r'"(COUNTERDRAW_\w+|DATABASE_URL)"', Path(settings.__file__).read_text(encoding="utf-8")
    )
    explained = re.findall(r"^``(\w+)``", settings.__doc__ or "", re.MULTILINE)
    assert sorted(set(read)) == sorted(explained)
