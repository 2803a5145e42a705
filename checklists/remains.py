"""How things stand at the bench: filled syringes, containers and what is left in them, how far it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

from checklists.counting import items_left, live_units, rejected_draws
from checklists.dissolved import done_elsewhere, without_use
from checklists.method.allotting import Stock
from checklists.method.mishaps import Situation
from checklists.method.procedure.drawing import SWABBED
from checklists.method.putting_right import Scene
from checklists.method.second_reading import is_second
from checklists.method.step_kinds import Stage, row_of
from checklists.models import Preparation, Reading, Step
from compounding.formulary.models import Product
from compounding.reckoning.quantities import number_in, of, read, write
from compounding.reckoning.worksheet import ContainerKind, Draw, Purpose, Worksheet, from_plain

#: Steps by which one syringe is emptied; `discard_diluent` and `look` are about several.
EMPTIES = ("add", "add_diluent_to_vial", "push_over")
#: Counted steps by which one syringe of each unit is emptied.
EMPTIES_EACH = ("add_units", "push_units")


@dataclass
class Remains:
    """One preparation as it stands now. Everything is looked up once."""

    preparation: Preparation

    @cached_property
    def worksheet(self) -> Worksheet:
        """Return the frozen worksheet."""
        return from_plain(self.preparation.worksheet)

    @cached_property
    def steps(self) -> list[Step]:
        """Return every step in order."""
        return list(self.preparation.steps.all())

    @cached_property
    def left(self) -> list[Step]:
        """Return the steps still to be done."""
        return [step for step in self.steps if step.finished_at is None]

    @cached_property
    def at_draw(self) -> int:
        """Return the draw whose step the work stands at; 0 at any other step."""
        return next(iter(self._draws_at(self.left[0])), 0) if self.left else 0

    @cached_property
    def live(self) -> dict[int, Reading]:
        """Return the last reading of every draw whose syringe was not lost since."""
        lost = set(self.preparation.waste.exclude(draw=None).values_list("draw", "attempt"))
        last = {one.draw: one for one in self.preparation.readings.order_by("attempt")}
        return {draw: one for draw, one in last.items() if (draw, one.attempt) not in lost}

    @cached_property
    def to_draw(self) -> list[int]:
        """Return the draws that still have a step of drawing, in order."""
        return [number for step in self.left for number in self._draws_at(step)]

    def _draws_at(self, step: Step) -> list[int]:
        """Return what is still to be drawn at a step: one draw, or each unit of a batch that is left."""
        if step.kind == "draw_units":
            return [item.draw for item in items_left(step, self.worksheet)]
        return [int(step.about["draw"])] if step.kind == "draw" else []

    @cached_property
    def to_empty(self) -> set[int]:
        """Return the draws whose syringe is still to be emptied, or as a unit to be looked at."""
        found: set[int] = set()
        for step in self.left:
            if step.kind in EMPTIES:
                found.add(int(step.about["draw"]))
            elif step.kind in EMPTIES_EACH:
                found.update(item.draw for item in items_left(step, self.worksheet))
            elif step.kind == "discard_diluent":
                found.update(step.about["draws"])
            elif step.kind == "look":
                found.update(
                    one.number for one in self.worksheet.draws if one.transfer == step.about["transfer"]
                )
        return found

    @cached_property
    def in_hand(self) -> list[int]:
        """Return the draws that are in a syringe now, or are just being drawn."""
        gone = rejected_draws(self.preparation, self.worksheet)
        drawn = [number for number in self.live if number not in self.to_draw and number not in gone]
        return sorted(
            {*(number for number in drawn if number in self.to_empty), *filter(None, [self.at_draw])}
        )

    @cached_property
    def emptied(self) -> set[int]:
        """Return the draws that left their syringe: added, or withdrawn and discarded."""
        return {number for number in self.live if number not in self.to_empty and number not in self.to_draw}

    @cached_property
    def serving(self) -> dict[tuple[int, str], str]:
        """Return which draw takes which container in the place of the worksheet's."""
        return {(one.draw, one.container): one.served_by for one in self.preparation.servings.all()}

    @cached_property
    def likes(self) -> dict[str, str]:
        """Return the further containers, and whose place each takes."""
        asked = {s.about["container"]: s.about["like"] for s in self.steps if s.about.get("like")}
        return {str(key): str(like) for key, like in asked.items()}

    @cached_property
    def spoiled(self) -> set[str]:
        """Return the containers that were destroyed."""
        return set(self.preparation.waste.filter(draw=None).values_list("container", flat=True))

    @cached_property
    def scanned(self) -> list[str]:
        """Return the containers that were scanned and are not destroyed, in order."""
        keys = self.preparation.materials.order_by("pk").values_list("container", flat=True)
        return [key for key in keys if key not in self.spoiled]

    @cached_property
    def left_out(self) -> set[str]:
        """Return the diluents that are not gathered: what is dissolved in them was dissolved for another."""
        return without_use(self.preparation, self.worksheet)

    @cached_property
    def elsewhere(self) -> set[int]:
        """Return the draws of diluent that were done in another preparation."""
        return done_elsewhere(self.preparation, self.worksheet)

    def is_bag(self, key: str) -> bool:
        """Say whether the container is a bag that units are made in."""
        return self.worksheet.container(self.likes.get(key, key)).role == "bag"

    def draw(self, number: int) -> Draw:
        """Return a draw with the containers it comes from now."""
        found = self.worksheet.draw(number)
        sources = (
            replace(one, container=self.serving.get((number, one.container), one.container))
            for one in found.sources
        )
        return replace(found, sources=tuple(sources))

    @cached_property
    def holds(self) -> dict[str, Decimal]:
        """Return how much could be drawn from each container as it was gathered, in mL."""
        own = dict(_contents(self.worksheet))
        again = self.preparation.materials.exclude(opened=None).select_related("opened")
        gone = self.gone() if again else {}
        left = {
            one.container: one.opened.left_ml + gone.get(one.container, Decimal(0))
            for one in again
            if one.opened
        }
        return {**own, **{key: own[like] for key, like in self.likes.items()}, **left}

    def gone(self) -> dict[str, Decimal]:
        """Return what was drawn from each container so far, in every attempt."""
        sums: dict[str, Decimal] = defaultdict(Decimal)
        for number, reading in self.live.items():
            for key, volume in self.portions(number, reading.volume_ml):
                sums[key] += volume
        for one in self.preparation.waste.exclude(draw=None):
            sums[one.container] += one.volume_ml
        return sums

    def portions(self, number: int, volume: Decimal) -> list[tuple[str, Decimal]]:
        """Return how much of a drawn volume came from each container: in the worksheet's proportion."""
        draw = self.draw(number)
        whole = number_in(draw.target, "mL")
        return [(one.container, number_in(one.volume, "mL") * volume / whole) for one in draw.sources]

    def stock(self, wanted: Iterable[int] = ()) -> Stock:
        """Return what is left for the draws `wanted`: all others still to come keep their share."""
        left, apart = dict(self.holds), set(wanted)
        for key, volume in self.gone().items():
            left[key] -= volume
        for number in self.to_draw:
            if number not in apart:
                for portion in self.draw(number).sources:
                    left[portion.container] -= number_in(portion.volume, "mL")
        gone = self.spoiled | self.left_out
        known = {key: volume for key, volume in left.items() if key not in gone}
        return Stock(self.worksheet, self.holds, known, self.serving, self.likes)

    @property
    def is_filled(self) -> bool:
        """Say whether any medicine is in a final container."""
        added = (step for step in self.steps if step.kind in ("add", "push_over", *EMPTIES_EACH))
        return any(step.finished_at or step.stamps.exists() for step in added)

    def situation(self) -> Situation:
        """Return how things stand, for the table of reasons."""
        stage = row_of(self.left[0]).stage if self.left else Stage.RELEASE
        withdrawn = [
            one.number for t in self.worksheet.transfers if t.purpose is Purpose.WITHDRAW for one in t.draws
        ]
        return Situation(
            stage=stage,
            syringes=tuple(self.in_hand),
            withdrawn=tuple(number for number in self.in_hand if number in withdrawn),
            containers=tuple(key for key in self.scanned if not self.is_bag(key)),
            used=tuple(_sources(self, self.emptied)),
            bags=tuple(key for key in self.scanned if self.is_bag(key)),
            units=self.worksheet.units,
            live=tuple(map(str, live_units(self.preparation, self.worksheet))),
            has_hood=self.preparation.hood_id is not None,
            is_exposed=bool(self.live) or self._was_done("open_ampoule"),
            is_filled=self.is_filled,
            is_printed=self.preparation.labels.exists(),
            is_held=self.preparation.holds.filter(resolved_at=None).exists(),
        )

    def scene(self) -> Scene:
        """Return how far the work has come, for the steps that put it right."""
        nexts = [step.kind for step in self.left if step.kind in ("swab_port", "add", "add_units")]
        return Scene(
            is_wiped=self._was_done("wipe_items"),
            is_swabbed=self._was_done("swab_sites"),
            at_draw=self.at_draw,
            shown=frozenset(number for number in self.live if not self._waits("show", number)),
            used=frozenset(self.emptied | self.elsewhere),
            changed=frozenset(number for number in self.live if self._was_changed(number)),
            opened=frozenset(self._opened()),
            is_port_swabbed=nexts[:1] in (["add"], ["add_units"]),
        )

    def sites(self) -> list[str]:
        """Return the containers whose sites are swabbed anew: all that are still in use and are pierced."""
        kinds = {key: self.worksheet.container(self.likes.get(key, key)).kind for key in self.scanned}
        return [key for key, kind in kinds.items() if kind in SWABBED]

    def _was_done(self, kind: str) -> bool:
        return any(step.kind == kind and step.finished_at for step in self.steps)

    def _waits(self, kind: str, number: int) -> bool:
        left = (step for step in self.left if not is_second(step))
        return any(step.kind == kind and number in step.about["draws"] for step in left)

    def _was_changed(self, number: int) -> bool:
        about = (
            step for step in self.steps if step.kind == "change_needle" and number in step.about["draws"]
        )
        return any(about) and not self._waits("change_needle", number)

    @property
    def opened_ampoules(self) -> list[str]:
        """Return the ampoules that were snapped open."""
        return list(self._opened())

    def _opened(self) -> Iterator[str]:
        return (str(s.about["container"]) for s in self.steps if s.kind == "open_ampoule" and s.finished_at)


def next_attempt(preparation: Preparation, draw: int) -> int:
    """Return the number of the next attempt at a draw: one lost before it was declared counts."""
    declared = preparation.readings.filter(draw=draw).values_list("attempt", flat=True)
    lost = preparation.waste.filter(draw=draw).values_list("attempt", flat=True)
    return max((0, *declared, *(attempt or 0 for attempt in lost))) + 1


def account(preparation: Preparation) -> dict[str, object]:
    """Return what was used of work that ends here: containers, what was drawn of them, labels to destroy."""
    gone = Remains(preparation).gone()
    lots = preparation.materials.select_related("lot").order_by("pk")
    return {
        "containers": {one.container: f"lot {one.lot.number}" for one in lots},
        "drawn": {key: write(of(volume, "mL"), 2) for key, volume in gone.items()},
        "labels_to_destroy": list(preparation.labels.values_list("code", flat=True)),
    }


def _sources(remains: Remains, draws: Iterable[int]) -> Iterator[str]:
    keys = (one.container for number in sorted(draws) for one in remains.draw(number).sources)
    yield from dict.fromkeys(keys)


def _contents(worksheet: Worksheet) -> Iterator[tuple[str, Decimal]]:
    """Yield what can be drawn from each of the worksheet's containers when it is full."""
    gtins = {one.product for one in worksheet.containers}
    most = dict(Product.objects.filter(gtin__in=gtins).values_list("gtin", "withdrawable"))
    for one in worksheet.containers:
        text = most.get(one.product, "")
        volume = read(text) if text and one.kind is not ContainerKind.BAG else one.volume
        yield one.key, number_in(volume, "mL") if volume is not None else Decimal(0)
