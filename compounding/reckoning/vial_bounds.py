"""What no plan can be below, so that the search need not follow what cannot be best.

Where anyone may have the rest of any container and all outlast the run, containers are used up one after
the other like a tape that the needs are cut from. What is left over at the end is then known but for whole
steps of the sizes, and a puncture is saved only where a cut falls on the end of a container.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from compounding.reckoning.vial_run import UNCOUNTED, Cost, Run, Vessel


class Asking(NamedTuple):
    """A want as far as it is served: what is short, what stands open besides, and the stock."""

    short: int
    open: tuple[Vessel, ...]
    stock: tuple[int, ...]


class Bounds:
    """The bounds of one run, made ready once."""

    def __init__(self, run: Run) -> None:
        """Note the run; everything else is reckoned when first asked for."""
        self.run = run

    def least(self, number: int, asking: Asking, cost: Cost, is_pure: bool) -> tuple[int, int]:
        """Return the waste and punctures that no way on can be below.

        `number` is the want being served, `asking` what it is still short of and what stands open; `is_pure`
        says that only ways that waste nothing are of interest.
        """
        wants = self._needed[number] + -(-asking.short // self._largest)
        if len(asking.open) > 1 or not (self.is_tape or (is_pure and self.is_line)):
            return cost.waste + self.run.certain_waste(asking.open, number), cost.punctures + wants
        left = asking.open[0].left if asking.open else 0
        waste = (
            self._over(number, asking, left) if self.is_tape else self.run.certain_waste(asking.open, number)
        )
        cuts = self._cuts(number, asking.short, left, asking.stock)
        later = len(self.run.wants) - number - 1 + bool(asking.short)
        return cost.waste + waste, cost.punctures + max(wants, later + cuts)

    def _over(self, number: int, asking: Asking, left: int) -> int:
        """Return what a tape is sure to have left over, by its least worth."""
        over = left - asking.short - self.run.to_come[number]
        return (over if over > 0 else over % self.step) * self.least_worth

    @cached_property
    def _largest(self) -> int:
        """Return the most that one puncture gives."""
        return max([kind.content for kind in self.run.kinds] + [vessel.left for vessel in self.run.open])

    @cached_property
    def _needed(self) -> list[int]:
        """Return how many punctures the wants after each take at least, each for itself."""
        each = [-(-want.amount // self._largest) for want in self.run.wants]
        return [sum(each[number + 1 :]) for number in range(len(each))]

    @cached_property
    def is_line(self) -> bool:
        """Tell whether never more than one container stands open that others may have."""
        return (
            not self.run.is_whole
            and len(self.run.open) <= 1
            and all(kind.shared != "patient" for kind in self.run.kinds)
        )

    @cached_property
    def is_tape(self) -> bool:
        """Tell whether any container serves anyone to the end of the run, and nothing is kept after it."""
        if self.run.is_whole:
            return False
        kinds, horizon = self.run.kinds, self.run.horizon
        is_free = all(kind.shared == "anyone" and not kind.is_kept and kind.use >= horizon for kind in kinds)
        ends = [*(batch.ends for batch in self.run.batches), *(vessel.ends for vessel in self.run.open)]
        return is_free and len(self.run.open) <= 1 and all(end >= horizon for end in ends)

    @cached_property
    def step(self) -> int:
        """Return the greatest step that every size is a whole number of."""
        step = 0
        for kind in self.run.kinds:
            step = kind.content if not step else kind.content // Fraction(kind.content, step).numerator
        return step

    @cached_property
    def _largest_first(self) -> list[tuple[int, int]]:
        """Return the content and number of every batch, the largest first."""
        batches = enumerate(self.run.batches)
        return sorted(((self.run.kinds[each.kind].content, number) for number, each in batches), reverse=True)

    @cached_property
    def least_worth(self) -> int:
        """Return the least that one unit of amount is worth."""
        return min(kind.worth for kind in self.run.kinds)

    @cached_property
    def _ends(self) -> list[int]:
        """Return how much is wanted up to and with each want."""
        all_in_all = self.run.to_come[0] + self.run.wants[0].amount
        return [all_in_all - rest for rest in self.run.to_come]

    @cached_property
    def _matches(self) -> list[Counter[int]]:
        """Return for each want how often its cut or a later one, but the last, falls on each remainder."""
        remainders = [end % self.step for end in self._ends]
        return [Counter(remainders[number:-1]) for number in range(len(remainders) + 1)]

    def _cuts(self, number: int, short: int, left: int, stock: tuple[int, ...]) -> int:
        """Return how many more punctures than wants to come there are at least."""
        rest = short + self.run.to_come[number] - left
        if rest <= 0:
            return 0
        joints = self._fewest(rest, stock) - (0 if left else 1)
        falling = self._matches[number + (not short)][(self._ends[number] - short + left) % self.step]
        return max(0, joints - falling)

    def _fewest(self, rest: int, stock: tuple[int, ...]) -> int:
        """Return how many containers hold the rest at least: the largest first, as many as there are."""
        fewest = 0
        for content, batch in self._largest_first:
            needed = -(-rest // content)
            if stock[batch] == UNCOUNTED or stock[batch] >= needed:
                return fewest + needed
            fewest, rest = fewest + stock[batch], rest - stock[batch] * content
        return fewest + 1
