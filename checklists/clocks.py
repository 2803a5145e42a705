"""What runs while the work is in the hood, read from what was done and when. Nothing here writes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cached_property

from django.db.models import Q

from checklists.method.step_kinds import KINDS, Takes, row_of
from checklists.models import Hold, Hood, OpenedContainer, Preparation, Step
from compounding.formulary import in_use
from compounding.reckoning.policy import Policy
from compounding.reckoning.worksheet import Worksheet, from_plain

#: Steps after which hands that had left the hood are fit to be in it.
MENDS_HANDS = ("disinfect_gloves", "change_gloves")


class Name(StrEnum):
    """What a clock is about. The words stand in the record."""

    WARM_UP = "warm-up"
    SURFACE = "surface"
    GLOVES = "outer gloves"
    CONTAINER = "opened container"
    IN_PROCESS = "in process"
    BEYOND_USE = "beyond use"


#: By which steps a clock begins anew.
MENDED_BY = {
    Name.SURFACE: ("wipe_surface", "clean_up"),
    Name.GLOVES: ("change_gloves", "put_on_gloves"),
}


@dataclass(frozen=True)
class Clock:
    """One clock: `of` names the container or hood where there may be several."""

    name: Name
    since: datetime
    until: datetime
    of: str = ""

    def is_over(self, now: datetime) -> bool:
        """Say whether its time has passed."""
        return now >= self.until


@dataclass(frozen=True)
class Scene:
    """One preparation as its clocks see it. Everything is looked up once, and only when asked for."""

    preparation: Preparation
    policy: Policy
    now: datetime

    @cached_property
    def worksheet(self) -> Worksheet:
        """Return the frozen worksheet."""
        return from_plain(self.preparation.worksheet)

    @cached_property
    def steps(self) -> list[Step]:
        """Return every step in order."""
        return list(self.preparation.steps.all())

    @cached_property
    def step(self) -> Step | None:
        """Return the step that the work has come to."""
        return next((step for step in self.steps if step.finished_at is None), None)

    @property
    def is_inside(self) -> bool:
        """Say whether the work is in the hood: also while something there is put right."""
        return bool(self.step and (row_of(self.step).is_in_hood or self.step.about.get("because")))

    def last(self, *kinds: str) -> datetime | None:
        """Return when a step of these kinds was finished last."""
        return max((s.finished_at for s in self.steps if s.finished_at and s.kind in kinds), default=None)

    @cached_property
    def draws_left(self) -> set[int]:
        """Return the draws that a step still to be done is about."""
        left = [s for s in self.steps if s.finished_at is None and KINDS[s.kind].takes is Takes.READING]
        return {number for step in left for number in _draws_of(step)}


def running(preparation: Preparation, policy: Policy, now: datetime) -> tuple[Clock, ...]:
    """Return every clock that runs at this step, over or not; none where nobody works."""
    if preparation.state != Preparation.State.IN_WORK:
        return ()
    scene = Scene(preparation, policy, now)
    return tuple(clock for source in CLOCKS for clock in source(scene))


def over(clocks: Iterable[Clock], now: datetime) -> tuple[Clock, ...]:
    """Return those of the clocks whose time has passed."""
    return tuple(clock for clock in clocks if clock.is_over(now))


def are_hands_out(preparation: Preparation) -> bool:
    """Say whether hands left the hood and the gloves were not disinfected since."""
    left = preparation.entries.filter(act="leave hood").last()
    if left is None:
        return False
    return not preparation.steps.filter(kind__in=MENDS_HANDS, finished_at__gt=left.at).exists()


def _draws_of(step: Step) -> Iterable[int]:
    return step.about["draws"] if "draws" in step.about else [int(step.about["draw"])]


def _warm_up(scene: Scene) -> Iterator[Clock]:
    """Hoods that are right for this work but have not run long enough, while one is looked for."""
    if scene.step is None or KINDS[scene.step.kind].takes is not Takes.SCAN_HOOD:
        return
    needed = timedelta(minutes=scene.policy.warm_up_minutes)
    fit = Hood.objects.filter(running_since__gt=scene.now - needed).order_by("running_since")
    for hood in fit:
        if hood.running_since and (hood.takes_hazardous or not scene.worksheet.hazardous):
            yield Clock(Name.WARM_UP, hood.running_since, hood.running_since + needed, hood.name)


def _surface(scene: Scene) -> Iterator[Clock]:
    """The work surface is wiped again after this time (USP <797> 2023: every 30 minutes; memory)."""
    if not scene.is_inside or scene.preparation.hood_id is None:
        return
    # Looked up anew: whoever wiped it just now did not tell the preparation's own copy.
    wiped = Hood.objects.filter(pk=scene.preparation.hood_id).values_list("surface_wiped_at", flat=True)
    for since in filter(None, wiped):
        yield Clock(Name.SURFACE, since, since + timedelta(minutes=scene.policy.surface_minutes))


def _gloves(scene: Scene) -> Iterator[Clock]:
    """Outer gloves at hazardous work are changed after 30 minutes (USP <800>, memory)."""
    if not scene.is_inside or not scene.worksheet.hazardous:
        return
    since = scene.last(*MENDED_BY[Name.GLOVES]) or scene.last("identify_hood")
    if since:
        yield Clock(Name.GLOVES, since, since + timedelta(minutes=scene.policy.glove_minutes))


def _containers(scene: Scene) -> Iterator[Clock]:
    """Opened vials from which something is still drawn, each from its first puncture, wherever that was.

    A single-dose time of 0 hours means one work only: then the time in process holds it. A policy that was
    made stricter since holds at once.
    """
    if not scene.is_inside:
        return
    for key in _needed(scene):
        opened = _opened(scene, key)
        lasts = in_use.lasts(opened.lot.product, scene.policy) if opened else None
        if opened and lasts:
            until = min(opened.use_ends_at, opened.opened_at + lasts)
            yield Clock(Name.CONTAINER, opened.opened_at, until, key)


def _needed(scene: Scene) -> list[str]:
    """Return the containers that draws still to be done take from, each once."""
    taken = (
        key
        for number in sorted(scene.draws_left)
        for key in taken_from(scene.preparation, scene.worksheet, number).values()
    )
    return list(dict.fromkeys(taken))


def taken_from(preparation: Preparation, worksheet: Worksheet, number: int) -> dict[str, str]:
    """Return which container stands at each place of the worksheet that a draw takes from."""
    places = {portion.container: portion.container for portion in worksheet.draw(number).sources}
    served = preparation.servings.filter(draw=number).order_by("pk")
    return places | dict(served.values_list("container", "served_by"))


def _opened(scene: Scene, key: str) -> OpenedContainer | None:
    """Return the container at a place as it was opened: here, or for earlier work that it served before."""
    known = OpenedContainer.objects.select_related("lot__product")
    of_here = scene.preparation.materials.filter(container=key)
    return known.filter(Q(first__in=of_here) | Q(taken_again__in=of_here)).last()


def _in_process(scene: Scene) -> Iterator[Clock]:
    """From the first draw to the last add; over, it goes on only by a pharmacist's decision."""
    if not scene.is_inside:
        return
    since = scene.preparation.readings.order_by("at").values_list("at", flat=True).first()
    if since is None:
        return
    until = since + timedelta(hours=scene.policy.in_process_hours)
    decided = scene.preparation.holds.filter(resolution=Hold.Resolution.CARRY_ON, resolved_at__gte=until)
    if not decided.exists():
        yield Clock(Name.IN_PROCESS, since, until)


def _beyond_use(scene: Scene) -> Iterator[Clock]:
    yield Clock(Name.BEYOND_USE, scene.preparation.opened_at, scene.preparation.beyond_use_at)


CLOCKS: tuple[Callable[[Scene], Iterator[Clock]], ...] = (
    _warm_up,
    _surface,
    _gloves,
    _containers,
    _in_process,
    _beyond_use,
)
