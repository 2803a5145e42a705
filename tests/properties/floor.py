"""The floor of the property tests: four people on three devices, stale pages, presses sent later."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import cast as stage
from cast import PIN, Cast, Hands, key, order, stock_batch
from checklists import run
from checklists.method.mishaps import offers
from checklists.models import Person, Preparation
from checklists.remains import Remains
from compounding.formulary.models import Order
from compounding.reckoning.refusals import Refusal

PEOPLE = ("technician", "second technician", "pharmacist", "second pharmacist")
#: Every way in which a medicine comes and goes: one of them is a source and a bag at once.
ORDERS: dict[str, Callable[[], Order]] = {
    "vial into a syringe": lambda: order("ketorolac-syringe", "30 mg"),
    "vial into a bag": lambda: order("ondansetron-nacl-50", "8 mg"),
    "powder vials": lambda: order("vancomycin-nacl-250", "1100 mg"),
    "ampoules, and a bag to draw from": lambda: order("aminophylline-d5w-100", "350 mg"),
    "prefilled syringe": lambda: order("bicarbonate-d5w-250", "50 mEq"),
    "batch of syringes": stock_batch,
    "hazardous": lambda: order("fluorouracil-nacl-500", "800 mg"),
}
#: How often what was done, and how it ended: a run that did nothing proves nothing.
TALLY: Counter[str] = Counter()

Told = dict[str, Any]
Press = tuple[Callable[..., Any], Told]


@dataclass
class Device:
    """A tablet or phone: who is at it, the page of each order as it was last shown, presses not yet sent."""

    who: str
    pages: dict[int, tuple[int, int]] = field(default_factory=dict)
    outbox: list[Press] = field(default_factory=list)
    is_cut_off: bool = False


class Recorder:
    """Stands in the place of `run` for honest hands: what they did can be sent again."""

    def __init__(self, done: list[Press]) -> None:
        self.done = done

    def __getattr__(self, name: str) -> Callable[..., Any]:
        act = getattr(run, name)

        def recorded(**told: Any) -> Any:
            given = act(**told)
            TALLY["acts"] += 1
            self.done.append((act, told))
            return given

        return recorded


class Floor:
    """Two orders, and whatever may be pressed about them by whoever is at a device."""

    def __init__(self, cast: Cast, wanted: tuple[str, str]) -> None:
        self.cast, self.orders = cast, [ORDERS[one]() for one in wanted]
        self.devices = [Device(who) for who in ("technician", "second technician", "pharmacist")]
        self.done: list[Press] = []
        self.before, stage.run = stage.run, Recorder(self.done)

    def leave(self) -> None:
        """Give honest hands the program itself again."""
        stage.run = self.before

    def person(self, who: str) -> Person:
        """Return somebody as they are now, as every request looks them up."""
        return Person.objects.get(pk=self.cast[who].pk)

    def preparations(self) -> Iterator[Preparation]:
        """Yield every preparation of these orders."""
        yield from Preparation.objects.filter(order__in=self.orders)

    def work(self, number: int, who: str = "") -> Hands | None:
        """Return honest hands at the order's last preparation; the checks are done by `who`."""
        found = self.orders[number].preparations.order_by("-pk").select_related("technician").first()
        if found is None:
            return None
        checker = self.person(who or "pharmacist")
        checker = checker if checker.role == "pharmacist" else self.person("pharmacist")
        return Hands(self.cast, self.orders[number], found.technician, checker, code=found.code)

    def page(self, device: Device, number: int, *, is_stale: bool, back: int) -> tuple[int, int] | None:
        """Return place and hold as the device shows them: as they are now, or as it was shown once."""
        if not (is_stale and number in device.pages):
            work = self.work(number)
            steps = list(work.preparation.steps.values_list("place", "finished_at")) if work else []
            at = next((i for i, (_place, done) in enumerate(steps) if done is None), len(steps))
            if not steps or at - back >= len(steps):
                return None
            hold = work.preparation.holds.order_by("pk").last() if work else None
            device.pages[number] = steps[max(0, at - back)][0], hold.pk if hold else 0
        return device.pages[number]

    def press(self, device: Device, presses: list[Press]) -> None:
        """Do what is pressed, or keep it where the network is cut."""
        for act, told in presses:
            one = act, {"person": self.person(device.who), "key": key(), **told}
            if device.is_cut_off:
                device.outbox.append(one)
            else:
                self.send(one)

    def send(self, press: Press) -> bool:
        """Do an act as a page would: it is done and acknowledged, or refused in words."""
        act, told = press
        TALLY["acts"] += 1
        try:
            act(**told)
        except Refusal:
            TALLY["refused"] += 1
            return False
        self.done.append(press)
        return True

    def go_on(self, number: int, who: str, steps: int) -> None:
        """Let honest hands do so many steps, the checks by `who` if they may."""
        for _ in range(steps):
            work = self.work(number, who)
            try:
                if work and work.step:
                    work.do()
            except Refusal:
                TALLY["refused"] += 1
                return

    def finishing(self, work: Hands, place: int, volume: str, scan: str) -> list[Press]:
        """Finish a step, with something given that may not be what it takes."""
        given = {"reason": "so", "scan": self.cast.hood.code if scan == "own" else scan, "unit": "1"}
        given |= {"stands": "at the mark"} if volume == "at" else {"volume": volume}
        return [(run.finish_step, {"code": work.code, "place": place, "given": given})]

    def checking(self, work: Hands, place: int, volume: str) -> list[Press]:
        """Press everything that a check could take."""
        told, text = {"code": work.code, "place": place}, "1" if volume == "at" else volume
        volumes = {transfer.number: text for transfer in work.worksheet.transfers}
        draws = [one.number for one in work.worksheet.draws][:4]
        stated = dict.fromkeys(("as_ordered", "clear", "sound", "used"), volume == "at")
        return [
            (run.recalculate, {**told, "volumes": volumes, "has_seen_materials": True, "reasons": {}}),
            *((run.sight_draw, {**told, "draw": draw, "typed": text}) for draw in draws),
            (run.inspect, {**told, "stated": stated}),
        ]

    def refusing(self, work: Hands, place: int) -> list[Press]:
        """Take a check and refuse it."""
        told = {"code": work.code, "place": place}
        return [(run.take_check, told), (run.refuse_check, {**told, "reason": "a drop beside it"})]

    def resolving(self, work: Hands, hold: int, how: str) -> list[Press]:
        """Open a hold with its amounts, and resolve it."""
        told = {"code": work.code, "hold": hold}
        signed = {"resolution": how, "reason": "seen together", "pin": PIN}
        return [(run.see_hold, told), (run.resolve, {**told, **signed})]

    def setting_aside(self, work: Hands, what: str) -> list[Press]:
        """Pause, take up, clear the hood, give up, or print once more."""
        why = {"reason": "called away"} if what in ("pause", "abandon", "print_labels") else {}
        return [(getattr(run, what), {"code": work.code, **why})]

    def going_wrong(self, work: Hands, which: int) -> list[Press]:
        """Say one of the mishaps that are offered there."""
        offered = offers(Remains(work.preparation).situation())
        if not offered:
            return []
        offer = offered[which % len(offered)]
        choice = offer.choices[which % len(offer.choices)] if offer.choices else ""
        return [(run.report_mishap, {"code": work.code, "reason": offer.mishap.code, "choice": choice})]
