"""An invented past: whole preparations as they might have gone, with records that verify.

Everything is drawn from one seed, so that the same call invents the same times. Nothing of it ever happened.
"""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta
from typing import Any

from django.utils import timezone

from checklists.management.invented_times import (
    CHECKED,
    DIFFERS,
    MISHAP_WEIGHTS,
    MISHAPS,
    SECONDS,
    USUAL,
    WAITED,
    WRONG,
)
from checklists.management.past import Past, Pattern, dated
from checklists.method import procedure
from checklists.method.step_kinds import KINDS, Actor
from checklists.models import Hood, Person
from compounding.formulary.models import Order
from compounding.formulary.policy import current_policy
from compounding.formulary.worksheets import for_order
from compounding.reckoning.quantities import number_in, of, write
from compounding.reckoning.worksheet import to_plain

GAP = 1_000_000_000


def patterns() -> list[Pattern]:
    """Return the orders in the list that can be invented again: single ones, without counted steps."""
    policy, found = current_policy(), []
    waiting = Order.objects.filter(state="active", units=1).exclude(preparations__state="released")
    for order in waiting.select_related("formulation"):
        worksheet = for_order(order, started_at=timezone.now())
        steps = procedure.compose(worksheet, policy)
        if not any(KINDS[step.kind].is_counted for step in steps):
            found.append(Pattern(order, worksheet, to_plain(worksheet), steps, tuple(order.doses.all())))
    return found


class Inventor:
    """Invents preparations one by one."""

    def __init__(self, seed: int, found: list[Pattern]) -> None:
        self.chance = random.Random(seed)
        self.patterns = found
        self.technicians = list(Person.objects.filter(role="technician").order_by("pk"))
        self.pharmacists = list(Person.objects.filter(role="pharmacist").order_by("pk"))
        self.hoods = list(Hood.objects.order_by("pk"))
        weights = [self.chance.uniform(0.5, 3) for _ in found]
        self.weights = sorted(weights, reverse=True)

    def invent(self, day: date, code: str, order: str) -> Past:
        """Return one preparation of that day, for an order of its own, from opening to release."""
        chance = self.chance
        (pattern,) = chance.choices(self.patterns, self.weights)
        hazardous = pattern.worksheet.hazardous
        fit = [hood for hood in self.hoods if hood.takes_hazardous or not hazardous]
        checker, second = chance.sample(self.pharmacists, 2)
        opened = self._opening(day)
        past = Past(
            pattern=pattern,
            technician=chance.choice(self.technicians),
            checker=checker,
            second=second,
            hood=chance.choice(fit[-1:] if hazardous else fit),
            code=code,
            order=order,
            at=opened,
            opened_at=opened,
            plain=dated(pattern, opened),
        )
        self._open(past)
        self._work(past)
        return past

    def _opening(self, day: date) -> datetime:
        """Return a moment of the working day: mornings are busier."""
        hour = self.chance.choices(range(7, 19), (3, 8, 9, 8, 6, 3, 5, 6, 5, 3, 2, 1))[0]
        zone = timezone.get_current_timezone()
        seconds = self.chance.randrange(3600)
        return datetime(day.year, day.month, day.day, hour, tzinfo=zone) + timedelta(seconds=seconds)

    def _open(self, past: Past) -> None:
        steps = [[step.kind, step.about] for step in past.pattern.steps]
        past.enter("open", past.technician, order=past.order, worksheet=past.plain, steps=steps, garbed_at="")

    def _work(self, past: Past) -> None:
        wrong = self.chance.random() < WRONG
        at_wrong = self.chance.randrange(8, len(past.pattern.steps) - 6) if wrong else -1
        for number, step in enumerate(past.pattern.steps):
            if number == at_wrong:
                self._go_wrong(past)
            place = GAP * (number + 1)
            if KINDS[step.kind].actor is Actor.CHECKER:
                self._check(past, step.kind, dict(step.about), place)
            else:
                self._make(past, step.kind, dict(step.about), place)

    def _seconds(self, typical: float, spread: float = 0.45) -> timedelta:
        return timedelta(milliseconds=round(1000 * typical * self.chance.lognormvariate(0, spread)))

    def _make(self, past: Past, kind: str, about: dict[str, Any], place: int) -> None:
        started = past.at
        dwell = about.get("seconds", 0)
        # years of practice: a tenth quicker each year
        practice = 0.9 ** ((timezone.now() - started).days / -365)
        typical = (SECONDS.get(kind, USUAL) + (8 if dwell else 0)) * min(practice, 2)
        past.at = started + timedelta(seconds=dwell) + self._seconds(typical)
        facts: dict[str, object] = {}
        if kind == "draw":
            facts = self._draw(past, int(about["draw"]))
        past.enter("finish", past.technician, step=kind, place=place, **facts)
        past.put(kind, about, place, started)

    def _draw(self, past: Past, number: int) -> dict[str, object]:
        target = past.pattern.worksheet.draw(number).target
        past.enter("draw", past.technician, draw=number, attempt=1, drawn=write(target), at_mark=True)
        past.readings.append(
            {
                "draw": number,
                "attempt": 1,
                "volume_ml": number_in(target, "mL"),
                "is_at_mark": True,
                "person_id": past.technician.pk,
                "at": past.at,
            }
        )
        return {"draw": number, "attempt": 1}

    def _check(self, past: Past, kind: str, about: dict[str, Any], place: int) -> None:
        """Wait for a pharmacist – longer over noon – and be checked; now and then a reading differs."""
        noon = 2.2 if timezone.localtime(past.at).hour in (12, 13) else 1.0
        started = past.at
        past.at = started + self._seconds(WAITED[kind] * noon, 0.8)
        taken = past.at
        past.enter("take check", past.checker, step=kind, place=place)
        past.at += self._seconds(CHECKED[kind])
        differs = CHECKS[kind](self, past, about) if kind in CHECKS else False
        past.put(kind, about, place, started, (taken, past.checker))
        if differs:
            self._resolve(past, about, place)

    def _first_check(self, past: Past, about: dict[str, Any]) -> bool:
        worksheet = past.pattern.worksheet
        for transfer in worksheet.transfers:
            past.recalculations.append(
                {
                    "transfer": transfer.number,
                    "attempt": 1,
                    "volume_ml": number_in(transfer.required, "mL").quantize(_MICRO),
                    "agrees": True,
                    "person_id": past.checker.pk,
                    "at": past.at,
                }
            )
        volumes = {str(one["transfer"]): write(of(one["volume_ml"], "mL")) for one in past.recalculations}
        reasons = {caution.code: "agreed with the prescriber" for caution in worksheet.cautions}
        past.enter("first check", past.checker, attempt=1, volumes=volumes, differing=[], reasons=reasons)
        return False

    def _show(self, past: Past, about: dict[str, Any]) -> bool:
        differing = [number for number in about["draws"] if self.chance.random() < DIFFERS]
        for number in about["draws"]:
            self._see(past, number, past.checker, is_off=number in differing)
        if differing:
            past.enter("hold", past.checker, cause="amounts-differ", note="", draws=differing)
            past.differing = differing
        return bool(differing)

    def _see(self, past: Past, number: int, by: Person, *, is_off: bool) -> None:
        draw = past.pattern.worksheet.draw(number)
        marks = self.chance.choice((-4, -3, -2, 2, 3, 5)) if is_off else 0
        off = number_in(draw.syringe.mark, "mL") * marks
        seen = max(number_in(draw.target, "mL") + off, number_in(draw.syringe.mark, "mL"))
        past.enter(
            "see draw", by, draw=number, attempt=1, required=write(draw.target), drawn=write(draw.target),
            seen=write(of(seen, "mL")), agrees=not is_off,
        )  # fmt: skip
        past.sightings.append(
            {
                "reading": number,
                "step": len(past.steps),
                "volume_ml": seen,
                "agrees": not is_off,
                "person_id": by.pk,
                "at": past.at,
            }
        )

    def _resolve(self, past: Past, about: dict[str, Any], place: int) -> None:
        """A second pharmacist reads the same syringes again, and they agree."""
        opened = past.at
        past.at += self._seconds(260, 0.6)
        past.enter("resolve", past.second, resolution="read-again", reason="read again in better light")
        past.holds.append(
            {
                "step": len(past.steps) - 1,
                "cause": "amounts-differ",
                "note": "",
                "draws": past.differing,
                "opened_by_id": past.checker.pk,
                "opened_at": opened,
                "resolution": "read-again",
                "reason": "read again in better light",
                "resolved_by_id": past.second.pk,
                "resolved_at": past.at,
            }
        )
        started = past.at
        past.at += self._seconds(50)
        for number in about["draws"]:
            self._see(past, number, past.second, is_off=False)
        past.put("show", about, place + GAP // 2, started, (started, past.second))

    def _inspect(self, past: Past, about: dict[str, Any]) -> bool:
        past.enter("final check", past.checker, stated=["as_ordered", "clear", "sound", "used"])
        return False

    def _release(self, past: Past, about: dict[str, Any]) -> bool:
        past.enter("release", past.checker, meaning="released")
        return False

    def _go_wrong(self, past: Past) -> None:
        (code,) = self.chance.choices(list(MISHAPS), MISHAP_WEIGHTS)
        past.enter("mishap", past.technician, reason=code, about="", consequence=MISHAPS[code])
        past.mishaps.append(
            {
                "step": None,
                "code": code,
                "about": "",
                "consequence": MISHAPS[code],
                "person_id": past.technician.pk,
                "at": past.at,
            }
        )
        past.at += self._seconds(90, 0.7)


CHECKS = {
    "first_check": Inventor._first_check,
    "show": Inventor._show,
    "final_check": Inventor._inspect,
    "release": Inventor._release,
}
_MICRO = of("0.000001", "mL").magnitude
