"""A run of provisioning in plain whole numbers: what is wanted, what there is, and how one want is served.

Draws follow one rule: what stands open and may be entered comes before anything is opened, and of all that
the first to end comes first, the dearer of two alike. So only what to open is left to search.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

UNCOUNTED = -1  # of a lot that is not watched because it does not run out


class Cost(NamedTuple):
    """What a plan costs, in the order it is judged: drug wasted, punctures, price of what is opened."""

    waste: int
    punctures: int
    price: int

    def plus(self, waste: int, punctures: int, price: int) -> Cost:
        """Return the cost with this much added."""
        return Cost(self.waste + waste, self.punctures + punctures, self.price + price)


class Want(NamedTuple):
    """One need: when, for whom, how much."""

    at: int
    patient: str
    amount: int


class Kind(NamedTuple):
    """One size. `worth` is the price of one unit of amount, `use` the in-use time.

    `shared`: "anyone", "patient" or "nobody" may have the rest; `is_kept`: what outlasts the run is no waste.
    """

    content: int
    worth: int
    price: int
    use: int
    shared: str
    is_kept: bool


class Batch(NamedTuple):
    """Alike containers in stock: a lot that ends within the run, or all of a kind that outlast it."""

    kind: int
    ends: int
    number: int


class Vessel(NamedTuple):
    """An open container, in the order of drawing. Of what outlasts the run, what it opened comes last."""

    ends: int
    cheapness: int
    kind: int
    left: int
    patient: str

    def may_serve(self, want: Want) -> bool:
        """Tell whether it is still in its time, and free or this patient's own."""
        return self.ends >= want.at and self.patient in ("", want.patient)


class State(NamedTuple):
    """What stands open and how many of each watched batch are left."""

    open: tuple[Vessel, ...]
    stock: tuple[int, ...]


class Served(NamedTuple):
    """A want served from what stands open: what is short, what was drawn from which, what is left in each."""

    short: int
    drawn: tuple[tuple[Vessel, int], ...]
    left: tuple[Vessel, ...]


@dataclass(frozen=True)
class Run:
    """A whole run: wants in the order of time, kinds, batches first to end first, what is open before.

    `is_whole`: a want is served by one vessel or not at all; what holds less is passed over.
    """

    wants: tuple[Want, ...]
    kinds: tuple[Kind, ...]
    batches: tuple[Batch, ...]
    open: tuple[Vessel, ...]
    is_whole: bool = False

    @cached_property
    def horizon(self) -> int:
        """Return the moment after the last want."""
        return self.wants[-1].at + 1

    @cached_property
    def outlasting(self) -> int:
        """Return where what is opened in the run and outlasts it stands: after all that was open before."""
        return max([self.horizon, *(vessel.ends + 1 for vessel in self.open)])

    @cached_property
    def to_come(self) -> tuple[int, ...]:
        """Return how much is wanted after each want."""
        amounts = [want.amount for want in self.wants]
        return tuple(sum(amounts[number:]) for number in range(1, len(amounts) + 1))

    @cached_property
    def next_of(self) -> tuple[dict[str, int], ...]:
        """Return for each want when each patient's next one after it comes."""
        found: list[dict[str, int]] = [{}]
        for want in reversed(self.wants[1:]):
            found.append({**found[-1], want.patient: want.at})
        return tuple(reversed(found))

    def serve(self, number: int, vessels: Iterable[Vessel]) -> Served:
        """Return the want served from these vessels, in their order."""
        want = self.wants[number]
        short, drawn, left = want.amount, [], []
        for vessel in vessels:
            takes = min(short, vessel.left) if vessel.may_serve(want) else 0
            takes = 0 if self.is_whole and takes < want.amount else takes
            if takes:
                drawn.append((vessel, takes))
                vessel = vessel._replace(left=vessel.left - takes)
                short -= takes
            left.append(vessel)
        return Served(short, tuple(drawn), tuple(left))

    def rank(self, batch: int, at: int) -> tuple[int, int, int, int]:
        """Return where a container opened now stands in the order of drawing."""
        number, ends, _ = self.batches[batch]
        kind = self.kinds[number]
        until = min(at + kind.use, ends)
        return self.outlasting if until >= self.horizon else until, -kind.worth, number, batch

    def opened(self, batch: int, number: int, left: int) -> Vessel:
        """Return a container opened for a want, with this much left in it."""
        want = self.wants[number]
        ends, cheapness, kind, _ = self.rank(batch, want.at)
        patient = "" if self.kinds[kind].shared == "anyone" else want.patient
        return Vessel(ends, cheapness, kind, left, patient)

    def is_wanted(self, vessel: Vessel, number: int) -> bool:
        """Tell whether a want after this one may still have what is left."""
        if not vessel.left or number + 1 == len(self.wants) or self.kinds[vessel.kind].shared == "nobody":
            return False
        after = self.wants[number + 1].at if not vessel.patient else self.next_of[number].get(vessel.patient)
        return after is not None and vessel.ends >= after

    def lost(self, vessel: Vessel) -> int:
        """Return what the rest of a container that nobody wants is worth; nothing where it is kept."""
        kind = self.kinds[vessel.kind]
        is_kept = kind.is_kept and kind.shared != "nobody" and vessel.ends >= self.horizon
        return 0 if is_kept else vessel.left * kind.worth

    def certain_waste(self, vessels: Iterable[Vessel], number: int) -> int:
        """Return what is sure to be wasted after a want: more is open than all the rest can take."""
        over, worths = -self.to_come[number], []
        for vessel in vessels:
            if not self.kinds[vessel.kind].is_kept:
                over += vessel.left
                worths.append(-vessel.cheapness)
        return over * min(worths) if over > 0 else 0
