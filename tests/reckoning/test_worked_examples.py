"""All published worked examples through the engine, one test each.

Source of each answer: shared/published/worked_examples.json, by title, page or memory. Those whose answer was
read (`seen`) are independent evidence; the others agree by construction and count for little.
"""

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from compounding.reckoning import examples
from compounding.reckoning.examples.running import WAYS, run

PUBLISHED = Path(__file__).parents[2] / "shared" / "published"
ADAPTERS = sorted(Path(examples.__file__).parent.glob("*.py"))
NOT_ADAPTERS = {"__init__", "given", "running"}
NUMBER = re.compile(r"\d[\d,]*(?:\.\d+)?")
# what an adapter could reckon with instead of calling the engine
ARITHMETIC = (ast.BinOp, ast.AugAssign, ast.UnaryOp)
SUMS = {"sum", "pow", "divmod", "abs", "round", "min", "max", "math", "operator", "fractions", "eval"}
# facts of chemistry and words, not numbers of the example
CHEMISTRY = {"ions", "particles", "substance", "way"}


def rows(name: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads((PUBLISHED / name).read_text(encoding="utf-8"))["rows"]
    return found


EXAMPLES = rows("worked_examples.json")
DISAGREEING = {row["id"]: row for row in rows("worked_examples_disagreeing.json")}


def name_of(row: dict[str, Any]) -> str:
    seen = "seen" if row["answer_seen"] else "by construction"
    return f"{row['id']}-{row['kind']}-{row['mark']}-{seen}"


@pytest.mark.parametrize("row", EXAMPLES, ids=name_of)
def test_the_engine_gives_the_published_answer(row: dict[str, Any]) -> None:
    outcome = run(row)
    if row["id"] in DISAGREEING:
        listed = DISAGREEING[row["id"]]
        assert not outcome.agrees, "it agrees by now; take it off the list of those that do not"
        assert (outcome.published, outcome.found) == (listed["published"], listed["found"])
        assert listed["why"]
    else:
        assert outcome.agrees, f"published {outcome.published}, found {outcome.found}"


def test_none_is_forgotten_and_nearly_all_agree() -> None:
    assert len(EXAMPLES) == len({row["id"] for row in EXAMPLES}) == 289
    assert set(DISAGREEING) <= {row["id"] for row in EXAMPLES}
    assert (289 - len(DISAGREEING)) / 289 >= 0.97


def test_nearly_all_whose_answer_was_read_agree() -> None:
    seen = {row["id"] for row in EXAMPLES if row["answer_seen"]}
    assert len(seen) == 244
    assert len(seen - set(DISAGREEING)) / 244 >= 0.97


def test_every_way_of_an_adapter_is_taken_by_an_example() -> None:
    taken = {(row["kind"], row["given"]["way"]) for row in EXAMPLES}
    assert taken == {(kind, way) for kind, ways in WAYS.items() for way in ways}


def texts(facts: Any) -> Iterator[str]:
    """Yield every text of an example's facts, the words of chemistry left out."""
    if isinstance(facts, str):
        yield facts
    elif isinstance(facts, list):
        for each in facts:
            yield from texts(each)
    else:
        for name, value in facts.items():
            if name not in CHEMISTRY:
                yield from texts(value)


def numbers(text: str) -> set[str]:
    found = (number.replace(",", "") for number in NUMBER.findall(text))
    return {number.rstrip("0").rstrip(".") if "." in number else number for number in found}


@pytest.mark.parametrize("row", EXAMPLES, ids=lambda row: row["id"])
def test_no_number_is_read_into_an_example_unsaid(row: dict[str, Any]) -> None:
    in_print = [f"{name} {text}" for name, text in row["in_print"].items()]
    said = " ".join([*in_print, row.get("reading", ""), row["rounding"]["words"]])
    assert numbers(" ".join(texts(row["given"]))) <= numbers(said)


@pytest.mark.parametrize(
    "path", [path for path in ADAPTERS if path.stem not in NOT_ADAPTERS], ids=lambda path: path.stem
)
def test_an_adapter_only_calls(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree)
    reckons = [node for node in ast.walk(tree) if isinstance(node, ARITHMETIC)]
    names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    private = [
        node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute) and node.attr.startswith("_")
    ]
    assert [(path.name, node.lineno) for node in reckons] == []
    assert names & SUMS == set()
    assert private == []


def test_every_kind_has_its_adapter() -> None:
    assert {path.stem for path in ADAPTERS} - NOT_ADAPTERS == set(WAYS) == {row["kind"] for row in EXAMPLES}


def test_sources_are_named_by_title_without_addresses() -> None:
    for row in EXAMPLES:
        assert row["source"]["title"]
        assert row["source"]["author"]
        assert not re.search(r"https?:|www\.", json.dumps(row))
