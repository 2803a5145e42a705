"""Twenty-four combinations of container, unit and hazard, and the page of the guide that lists their steps.

`.venv/bin/python -m tests.method.combinations` writes the page `shared/guide/procedures.md` anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from pathlib import Path

from checklists.method.planned import PlannedStep
from checklists.method.procedure import compose
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.worksheet import ContainerKind, FinalContainer, Worksheet
from tests.method.any_worksheet import asked, filled, into

PAGE = Path(__file__).resolve().parents[2] / "shared" / "guide" / "procedures.md"
SHARE = Decimal("0.3")


@dataclass(frozen=True)
class Combination:
    """One row: what is opened, what it goes into, how many alike, hazardous or not."""

    source: ContainerKind
    final: FinalContainer
    units: int = 1
    hazardous: bool = False
    fill: str = ""
    also: ContainerKind | None = None

    @property
    def name(self) -> str:
        """Return the row's name as the page prints it."""
        sources = " and ".join(kind.replace("-", " ") for kind in (self.source, self.also) if kind)
        final = self.final.replace("-", " ")
        goal = f"{self.units} {final}s" if self.units > 1 else final
        fill = f", filled up to {self.fill} mL" if self.fill else ""
        return f"{sources} → {goal}{fill}{', hazardous' if self.hazardous else ''}"

    @property
    def worksheet(self) -> Worksheet:
        """Return the worksheet of the row."""
        kinds = [kind for kind in (self.source, self.also) if kind]
        drugs = [
            asked(kind, f"drug{number}", SHARE, hazardous=self.hazardous, protect_from_light=self.hazardous)
            for number, kind in enumerate(kinds, 1)
        ]
        fill = filled(of(self.fill, "mL"), "fill to volume") if self.fill else {}
        return reckon(into(self.final, *drugs, units=self.units, **fill))

    @property
    def steps(self) -> tuple[PlannedStep, ...]:
        """Return the steps composed."""
        return compose(self.worksheet, Policy())


BAG, SYRINGE, EMPTY = FinalContainer.BAG, FinalContainer.SYRINGE, FinalContainer.EMPTY_BAG
ALL = (
    *(Combination(kind, final) for final in (BAG, SYRINGE, EMPTY) for kind in ContainerKind),
    Combination(ContainerKind.SOLUTION_VIAL, SYRINGE, units=3),
    Combination(ContainerKind.POWDER_VIAL, BAG, units=3),
    Combination(ContainerKind.AMPOULE, SYRINGE, also=ContainerKind.SOLUTION_VIAL),
    Combination(ContainerKind.SOLUTION_VIAL, SYRINGE, fill="20"),
    Combination(ContainerKind.AMPOULE, SYRINGE, units=3, also=ContainerKind.SOLUTION_VIAL),
    Combination(ContainerKind.POWDER_VIAL, SYRINGE, units=3, fill="20"),
    Combination(ContainerKind.SOLUTION_VIAL, BAG, hazardous=True),
    Combination(ContainerKind.POWDER_VIAL, BAG, hazardous=True),
    Combination(ContainerKind.AMPOULE, BAG, hazardous=True),
    Combination(ContainerKind.SOLUTION_VIAL, SYRINGE, hazardous=True),
    Combination(ContainerKind.PREFILLED_SYRINGE, EMPTY, hazardous=True),
)  # fmt: skip

HEAD = """# The procedure of each combination

Nobody writes a checklist for a formulation: what is opened, what it goes into and whether it is hazardous
decide the steps. Here are {count} combinations, each drug 0.3 of one container, and the steps that are
composed for them. `× 3` is one step after another, each about its own container, draw or unit. A diluent
withdrawn from the bag first, and several draws, come where the amounts ask for them. The airflow of the hood
changes the picture and the words of *wipe_surface* and *arrange*, not the steps.

Written by the program (`.venv/bin/python -m tests.method.combinations`); a test fails when it is out of date.

"""


def page() -> str:
    """Return the page: what all begin and end with, then a row a combination."""
    rows = [f"| {one.name} | {', '.join(listed(one.steps))} |" for one in ALL]
    return HEAD.format(count=len(ALL)) + "\n".join(("| from → into | steps |", "|---|---|", *rows)) + "\n"


def listed(steps: tuple[PlannedStep, ...]) -> list[str]:
    """Return the steps by kind, repeats counted."""
    runs = [(kind, len(list(same))) for kind, same in groupby(step.kind for step in steps)]
    return [f"{kind} × {count}" if count > 1 else kind for kind, count in runs]


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
