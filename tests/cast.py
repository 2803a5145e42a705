"""The cast: invented people, two hoods, one formulary, fixed orders; and hands that do what a screen asks.

Nothing is random but the codes. `Hands` does every step as honest people would; a test does others itself.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from django.utils import timezone

from checklists import run
from checklists.counting import items_left, one_of, unread_items
from checklists.method.second_reading import is_second
from checklists.method.step_kinds import KINDS, Takes
from checklists.models import Hood, Person, Preparation, Step
from checklists.tallying import tally
from compounding.formulary.intake import enter_order
from compounding.formulary.loading import load_formulary
from compounding.formulary.models import Formulation, Lot, Order
from compounding.reckoning.quantities import number_in, write_number
from compounding.reckoning.worksheet import Worksheet, from_plain

ROOT = Path(__file__).resolve().parents[1]
PIN = "2468"

BADGES = {
    "technician": "B8D19AKRM",
    "second technician": "B2WRQ3XTC",
    "pharmacist": "BW8FMFCT4",
    "second pharmacist": "BTKY5MYC9",
    "third pharmacist": "BF94RW4YD",
    "supervisor": "B883002R9",
}
NAMES = {
    "technician": "Mara Okonjo",
    "second technician": "Tomas Rivett",
    "pharmacist": "Ilse Varga",
    "second pharmacist": "Rohan Mehta-Lind",
    "third pharmacist": "Beatriz Quiroga",
    "supervisor": "Edda Solheim",
}
_keys = itertools.count(1)


def key() -> str:
    """Return a key that no act has had."""
    return f"key {next(_keys)}"


@dataclass
class Cast:
    """Everybody and everything a journey needs."""

    people: dict[str, Person]
    hood: Hood
    vertical: Hood

    def __getitem__(self, who: str) -> Person:
        return self.people[who]


def cast() -> Cast:
    """Put the cast into the database, under the program's own default policy."""
    people = {
        who: Person.objects.create_user(
            badge=badge, name=NAMES[who], role=who.split()[-1], pin=PIN, is_staff=who == "supervisor"
        )
        for who, badge in BADGES.items()
    }
    load_formulary(ROOT / "shared" / "formulary")
    return Cast(people, _hood("Hood 1", "HCRHE6CTP", "horizontal"), _hood("Hood 3", "H5PPFEFRS", "vertical"))


def _hood(name: str, code: str, airflow: str) -> Hood:
    now = timezone.now()
    return Hood.objects.create(
        name=name,
        code=code,
        airflow=airflow,
        takes_hazardous=airflow == "vertical",
        deck_width_cm=180,
        deck_depth_cm=75,
        certified_until=timezone.localdate(now) + timedelta(days=90),
        running_since=now - timedelta(hours=3),
    )


def order(formulation: str = "vancomycin-nacl-250", dose: str = "1100 mg", **fields: str) -> Order:
    """Enter an order for an invented patient; `dose` is of every ingredient, separated by `|`."""
    found = Formulation.objects.get(code=formulation)
    places = [part.field for part in found.ingredients.order_by("position")]
    typed = {
        "formulation": formulation,
        "patient_name": "Iris Calloway",
        "patient_identifier": "CD-204117",
        "born_on": "1961-03-04",
        "allergies": "none known",
        "route": found.routes.split(",")[0],
        "prescriber": "Dr Lena Abara",
        "ward": "Ward 6",
        "units": "1",
        "due_at": timezone.localtime(timezone.now() + timedelta(hours=2)).strftime("%Y-%m-%dT%H:%M"),
        "doses": dict(zip(places, dose.split("|"), strict=True)),
        **fields,
    }
    return enter_order(by="test", **typed)


def stock_batch() -> Order:
    """Enter the batch of 12 alike syringes for stock."""
    nobody = {"patient_name": "", "patient_identifier": "", "born_on": "", "allergies": "", "prescriber": ""}
    return order("ondansetron-syringes", "4 mg", units="12", **nobody)


@dataclass
class Hands:
    """The technician's and the checkers' hands at one preparation."""

    cast: Cast
    order: Order
    technician: Person
    checker: Person
    code: str = ""
    done: list[str] = field(default_factory=list)

    @property
    def preparation(self) -> Preparation:
        """Return the preparation as it is now."""
        return Preparation.objects.get(code=self.code)

    @property
    def worksheet(self) -> Worksheet:
        """Return its worksheet."""
        return from_plain(self.preparation.worksheet)

    @property
    def step(self) -> Step | None:
        """Return the step the work has come to."""
        return self.preparation.steps.filter(finished_at=None).first()

    def open(self) -> Hands:
        """Open the order."""
        self.code = run.open_preparation(number=self.order.number, person=self.technician, key=key()).code
        return self

    def to(self, kind: str) -> Hands:
        """Do every step up to the first of that kind that is not done, and stop before it."""
        while (step := self.step) and step.kind != kind:
            self.do(step)
        assert self.step, f"there is no step {kind} left"
        return self

    def to_release(self) -> Hands:
        """Do every step to release, and release."""
        while step := self.step:
            self.do(step)
        return self

    def do(self, step: Step | None = None) -> None:
        """Do one step as honest people would."""
        step = step or self.step
        assert step is not None
        self.done.append(step.kind)
        if KINDS[step.kind].is_counted:
            while items_left(step, self.worksheet):
                self.do_unit(step)
        else:
            ACTS[KINDS[step.kind].takes](self, step)

    def do_unit(self, step: Step | None = None) -> None:
        """Do one unit of a counted step: the one that is due."""
        step = step or self.step
        ACTS[KINDS[step.kind].takes](self, one_of(step, items_left(step, self.worksheet)[0]))

    def finish(self, step: Step, **given: str) -> None:
        """Finish a technician's step, or a unit of it, with what is given."""
        if KINDS[step.kind].is_counted:
            given = {"unit": str(step.about["number"]), **given}
        run.finish_step(code=self.code, person=self.technician, key=key(), place=step.place, given=given)

    def _seconds(self, step: Step) -> None:
        self.finish(step, reason="the test does not wait" if step.about.get("seconds") else "")

    def _container(self, step: Step) -> None:
        wanted = step.about.get("like", step.about["container"])
        self.finish(step, scan=fresh(self.worksheet.container(wanted).product))

    def _hood(self, step: Step) -> None:
        self.finish(step, scan=(self.cast.vertical if self.worksheet.hazardous else self.cast.hood).code)

    def _print(self, step: Step) -> None:
        run.print_labels(code=self.code, person=self.technician, key=key())
        self.finish(step)

    def _label(self, step: Step) -> None:
        last = self.preparation.labels.filter(unit=step.about["unit"]).order_by("-print_number")[0]
        self.finish(step, scan=last.code)

    def _draw(self, step: Step) -> None:
        self.finish(step, stands="at the mark")

    def _recalculate(self, step: Step) -> None:
        volumes = {one.number: typed(number_in(one.required, "mL")) for one in self.worksheet.transfers}
        reasons = {caution.code: "agreed with the prescriber" for caution in self.worksheet.cautions}
        run.recalculate(
            code=self.code,
            person=self.checker,
            key=key(),
            place=step.place,
            volumes=volumes,
            has_seen_materials=True,
            reasons=reasons,
        )

    def _sight(self, step: Step) -> None:
        checker = self.cast["third pharmacist"] if is_second(step) else self.checker
        for draw in (item.draw for item in unread_items(step, self.worksheet)):
            self.see(step, draw, typed(number_in(self.worksheet.draw(draw).target, "mL")), checker)

    def see(self, step: Step, draw: int, text: str, checker: Person | None = None) -> None:
        """Type what is read off one syringe."""
        run.sight_draw(
            code=self.code, person=checker or self.checker, key=key(), place=step.place, draw=draw, typed=text
        )

    def _inspect(self, step: Step) -> None:
        stated = dict.fromkeys(("as_ordered", "clear", "sound", "used"), True)
        run.inspect(code=self.code, person=self.checker, key=key(), place=step.place, stated=stated)

    def _release(self, step: Step) -> None:
        self.release()

    def release(self, person: Person | None = None, pin: str = PIN) -> None:
        """Sign the release."""
        run.release(code=self.code, person=person or self.checker, key=key(), pin=pin)

    def resolve(
        self, resolution: str, person: Person | None = None, reason: str = "agreed at the bench"
    ) -> None:
        """Resolve the open hold."""
        who = person or self.cast["second pharmacist"]
        hold = self.preparation.holds.get(resolved_at=None)
        run.resolve(
            code=self.code, person=who, key=key(), hold=hold.pk, resolution=resolution, reason=reason, pin=PIN
        )

    def _reconcile(self, step: Step) -> None:
        """Count what lies there: every unit that was not rejected, every label that none of them carries."""
        found = tally(self.preparation, self.worksheet, in_hand=0, destroyed=0)
        self.finish(step, in_hand=str(found.going_on), destroyed=str(found.to_destroy))

    def reject(self, unit: int, reason: str = "dropped") -> None:
        """Reject one unit of a batch."""
        run.reject_unit(code=self.code, person=self.technician, key=key(), unit=unit, reason=reason)


ACTS = {
    Takes.NOTHING: Hands.finish,
    Takes.PRINT: Hands._print,
    Takes.SCAN_CONTAINER: Hands._container,
    Takes.SCAN_HOOD: Hands._hood,
    Takes.SCAN_LABEL: Hands._label,
    Takes.DWELL: Hands._seconds,
    Takes.READING: Hands._draw,
    Takes.RECALCULATION: Hands._recalculate,
    Takes.SIGHTING: Hands._sight,
    Takes.INSPECTION: Hands._inspect,
    Takes.SIGNATURE: Hands._release,
    Takes.COUNTS: Hands._reconcile,
}


def hands(cast: Cast, order: Order, technician: str = "technician") -> Hands:
    """Return the hands of a technician and the first pharmacist, with the order opened."""
    return Hands(cast, order, cast[technician], cast["pharmacist"]).open()


def typed(number: object) -> str:
    """Return a number as somebody types it: at most three decimals, no comma."""
    return write_number(number, 3).replace(",", "")


def usable_lot(gtin: str, at: datetime | None = None) -> Lot:
    """Return a lot of the product that may be used."""
    usable = [lot for lot in Lot.objects.filter(product__gtin=gtin) if lot.is_usable(at or timezone.now())]
    return usable[0]


def element_string(lot: Lot, serial: str = "") -> str:
    """Return what a scanner reads off a container of the lot, in the readable form."""
    return f"(01){lot.product.gtin}(17){lot.expires_on:%y%m%d}(10){lot.number}{serial and '(21)'}{serial}"


def fresh(gtin: str) -> str:
    """Return what a scanner reads off a new container of the product."""
    return element_string(usable_lot(gtin), f"S{next(_keys):05}")
