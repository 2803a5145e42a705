"""Provisioning stated once more, as constraints on whole numbers for an exact solver: the oracle.

Nothing of the program's search is used. The statement, from the design: each preparation gets its amount;
nothing is drawn from a container out of its time, nor opened from a lot out of date; the rest of a container
is for nobody, one patient or anyone; of one size the lot that ends first is opened first; nothing is opened
while something that may be used stands open; of several the one that ends first is drawn first, then the
dearer, then the emptier. What wastes the least is best, then what takes the fewest punctures. Where the
shift says so, each need comes from one container: "may be used" is then what holds all of it.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from math import lcm

from ortools.sat.python import cp_model

from compounding.reckoning.provisioning import Need, Sharing, Size
from compounding.reckoning.quantities import number_in
from tests.reckoning.enumeration import Shift

Literal = cp_model.IntVar | int


def whole(number: Decimal | Fraction) -> int:
    found = int(number)
    assert found == number
    return found


@dataclass
class Glass:
    """A container as it would be if opened for one need; `first` is -1 for one that was open before."""

    size: Size
    holds: int
    ends: datetime
    first: int
    patient: str
    place: tuple[bool, datetime, Fraction, int]
    is_open: Literal
    takes: dict[int, cp_model.IntVar] = field(default_factory=dict)
    uses: dict[int, cp_model.IntVar] = field(default_factory=dict)

    def left(self, number: int) -> cp_model.LinearExpr:
        """What is left after so many needs."""
        return self.holds * self.is_open - sum(take for n, take in self.takes.items() if n < number)


class Statement:
    """The problem of one shift, in mg and in parts of a coin."""

    def __init__(self, shift: Shift) -> None:
        self.shift = shift
        self.model = cp_model.CpModel()
        self.needs = sorted(shift.needs, key=lambda need: need.at)
        self.parts = lcm(*(whole(number_in(size.content, "mg")) for size in shift.sizes))
        self.units = [(lot, n) for lot in shift.lots for n in range(lot.count)]
        self.opened = {
            (unit, number): self.model.new_bool_var(f"open {unit} {number}")
            for unit, (lot, _) in enumerate(self.units)
            for number, need in enumerate(self.needs)
            if lot.ends_at > need.at
        }
        self.glasses = [*self._standing(), *self._openable()]
        self._draw()
        self._keep_lots_in_order()
        for number in range(len(self.needs)):
            self._keep_order(number)

    def worth(self, size: Size) -> Fraction:
        return Fraction(size.price) / Fraction(number_in(size.content, "mg"))

    def best(self) -> tuple[Fraction, int] | None:
        """Waste and punctures of the best plan, proved; None where there is none."""
        last = self.needs[-1].at
        prices = lcm(*(Fraction(size.price).denominator for size in self.shift.sizes))
        waste = sum(
            whole(self.worth(glass.size) * self.parts * prices) * glass.left(len(self.needs))
            for glass in self.glasses
            if not (glass.size.is_kept and glass.size.sharing is not Sharing.NOBODY and glass.ends > last)
        )
        punctures = sum(use for glass in self.glasses for use in glass.uses.values())
        more = len(self.needs) * len(self.glasses) + 1
        self.model.minimize(waste * more + punctures)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.relative_gap_limit = 0
        solver.parameters.absolute_gap_limit = 0
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        assert status == cp_model.OPTIMAL
        return Fraction(solver.value(waste), self.parts * prices), solver.value(punctures)

    def _standing(self) -> list[Glass]:
        found = []
        for one in self.shift.standing:
            size = next(size for size in self.shift.sizes if size.code == one.size)
            is_useless = size.sharing is Sharing.NOBODY or (
                size.sharing is Sharing.PATIENT and not one.patient
            )
            if one.ends_at < self.needs[0].at or is_useless:
                continue
            patient = one.patient if size.sharing is Sharing.PATIENT else ""
            place = (False, one.ends_at, -self.worth(size), self.shift.sizes.index(size))
            found.append(Glass(size, whole(number_in(one.left, "mg")), one.ends_at, -1, patient, place, 1))
        return found

    def _openable(self) -> list[Glass]:
        found = []
        for (unit, number), is_open in self.opened.items():
            lot, need = self.units[unit][0], self.needs[number]
            size = next(size for size in self.shift.sizes if size.code == lot.size)
            ends = min(need.at + size.in_use, lot.ends_at)
            patient = "" if size.sharing is Sharing.ANYONE else need.patient or f"alone {number}"
            place = (*self._end_in_order(ends), -self.worth(size), self.shift.sizes.index(size))
            holds = whole(number_in(size.content, "mg"))
            found.append(Glass(size, holds, ends, number, patient, place, is_open))
        return found

    def _end_in_order(self, ends: datetime) -> tuple[bool, datetime]:
        """What the run opens and what outlasts it comes last, all alike."""
        outlasts = ends > self.needs[-1].at
        return outlasts, self.needs[-1].at + timedelta(days=1) if outlasts else ends

    def _may_serve(self, glass: Glass, number: int, need: Need) -> bool:
        if number < glass.first or need.at > glass.ends:
            return False
        if glass.size.sharing is Sharing.NOBODY:
            return number == glass.first
        return glass.patient in ("", need.patient or f"alone {number}")

    def _draw(self) -> None:
        """Each need gets its amount; a container is opened when it is needed and gives what it holds."""
        for number, need in enumerate(self.needs):
            serving = [glass for glass in self.glasses if self._may_serve(glass, number, need)]
            for glass in serving:
                glass.takes[number] = take = self.model.new_int_var(0, glass.holds, "take")
                glass.uses[number] = use = self.model.new_bool_var("use")
                self.model.add(take >= use)
                self.model.add(take <= glass.holds * use)
                if self.shift.is_whole:
                    self.model.add(take == whole(number_in(need.content, "mg")) * use)
                if glass.first == number:
                    self.model.add(use == glass.is_open)
            self.model.add(sum(g.takes[number] for g in serving) == whole(number_in(need.content, "mg")))
        for glass in self.glasses:
            self.model.add(glass.left(len(self.needs)) >= 0)

    def _opened_by(self, unit: int, number: int) -> cp_model.LinearExpr:
        return sum(var for (one, n), var in self.opened.items() if one == unit and n <= number)

    def _keep_lots_in_order(self) -> None:
        """None is opened twice; alike ones in order; none while a lot that ends sooner has one left."""
        for unit, (lot, _) in enumerate(self.units):
            self.model.add(self._opened_by(unit, len(self.needs)) <= 1)
            for other, (sooner, _) in enumerate(self.units):
                for number, need in enumerate(self.needs):
                    is_sooner = sooner.size == lot.size and need.at < sooner.ends_at < lot.ends_at
                    if sooner is lot and other == unit - 1:
                        self.model.add(self._opened_by(unit, number) <= self._opened_by(other, number))
                    elif is_sooner and (unit, number) in self.opened:
                        self.model.add(self._opened_by(other, number) >= self.opened[unit, number])

    def _keep_order(self, number: int) -> None:
        """Of two that may serve a need, the second gives nothing while the first has anything left."""
        serving = [glass for glass in self.glasses if number in glass.takes]
        for one, other in combinations(serving, 2):
            mine, yours = (one.first == number, one.place), (other.first == number, other.place)
            if mine != yours:
                first, second = (one, other) if mine < yours else (other, one)
                self._empties(number, first, second)
            elif one.first == number:
                # opened together and alike: the first in the list is emptied first
                self._empties(number, one, other)
            else:
                is_first = self.model.new_bool_var("first")
                self.model.add(one.left(number) <= other.left(number)).only_enforce_if(is_first)
                self.model.add(other.left(number) <= one.left(number)).only_enforce_if(~is_first)
                self._empties(number, one, other, is_first)
                self._empties(number, other, one, ~is_first)

    def _empties(self, number: int, first: Glass, second: Glass, *when: Literal) -> None:
        is_spent = first.left(number + 1) == 0
        if self.shift.is_whole:
            is_spent = first.left(number) < whole(number_in(self.needs[number].content, "mg"))
        self.model.add(is_spent).only_enforce_if(second.uses[number], *when)


def best_by_solver(shift: Shift) -> tuple[Fraction, int] | None:
    """Return waste and punctures of the best plan by the exact solver; None when there is none."""
    return Statement(shift).best()
