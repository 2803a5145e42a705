"""What no plan can be below, so that the search need not follow what cannot be best.

Where anyone may have the rest of any container and all outlast the run, containers are used up one after
the other like a tape that the needs are cut from. What is left over at the end is then known but for whole
steps of the sizes, and a puncture is saved only where a cut falls on the end of a container.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from functools import cached_property

from compounding.reckoning.vial_run import UNCOUNTED, Cost, Run, State


class Bounds:
    """The bounds of one run, made ready once."""

    def __init__(self, run: Run) -> None:
        """Note the run; everything else is reckoned when first asked for."""
        self.run = run

    def least(self, number: int, state: State, cost: Cost) -> Cost:
        """Return a cost that no way on from a state can be below, after this want is served."""
        wants = len(self.run.wants) - number - 1
        if not self.is_tape or not wants:
            return cost.plus(self.run.certain_waste(state.open, number), wants, 0)
        left = state.open[0].left if state.open else 0
        over = left - self.run.to_come[number]
        waste = cost.waste + (over if over > 0 else over % self.step) * self.least_worth
        return Cost(waste, cost.punctures + wants + self._cuts(number, left, state.stock), cost.price)

    @cached_property
    def is_tape(self) -> bool:
        """Tell whether any container serves anyone to the end of the run, and nothing is kept after it."""
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
        """Return for each want how often a later cut, but the last, falls on each remainder of the step."""
        remainders = [end % self.step for end in self._ends]
        return [Counter(remainders[number + 1 : -1]) for number in range(len(remainders))]

    def _cuts(self, number: int, left: int, stock: tuple[int, ...]) -> int:
        """Return how many more punctures than wants to come there are at least."""
        rest = self.run.to_come[number] - left
        if rest <= 0:
            return 0
        joints = self._fewest(rest, stock) - (0 if left else 1)
        falling = self._matches[number][(self._ends[number] + left) % self.step]
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
