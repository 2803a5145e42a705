"""Every form: from which stage it is sent, by whom, what makes it good, which field is spoilt and how."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.urls import NoReverseMatch, reverse

from cast import PIN, Hands

EMPTY, LONG, NUL = "", "x" * 10_000, "\0"
#: Bad wherever an amount or a code is asked for.
BAD = (
    EMPTY, " ", "words", "-1", "1,5", "1e3", "5 furlongs", LONG, "9" * 10_000, "PXXXXXXXX", NUL, "1\0", "😀",
    "1.50", ".5", "٣", "'; DROP TABLE checklists_entry; --", "<script>",
)  # fmt: skip
#: Bad where people may write what they like.
BAD_WORDS = (EMPTY, "   ", LONG, NUL, "a\0b", "a\x1bb", "\u202e")


@dataclass(frozen=True)
class Form:
    """One form: where it is sent from which stage, by whom, what makes it good, and which field is spoilt."""

    name: str
    stage: str
    spoilt: str
    bad: tuple[str, ...] = BAD
    good: dict[str, str] = field(default_factory=dict)
    who: str = "pharmacist"

    def __str__(self) -> str:
        return f"{self.name}-{self.spoilt}-{self.stage}"


MAKER = "maker"
WRITTEN = {"reason": "in a few words", "pin": PIN}
FORMS = (
    Form("finish_step", "gather_container", "scan", who=MAKER),
    Form("finish_step", "wipe_items", "reason", BAD_WORDS, who=MAKER),
    Form("finish_step", "identify_hood", "scan", who=MAKER),
    Form("finish_step", "draw", "volume", who=MAKER),
    Form("finish_step", "apply_label", "scan", who=MAKER),
    Form("raise_hold", "draw", "reason", BAD_WORDS, who=MAKER),
    Form("pause", "draw", "reason", BAD_WORDS, who=MAKER),
    Form("abandon", "draw", "reason", BAD_WORDS, who=MAKER),
    Form("print_labels", "draw", "reason", BAD_WORDS, who=MAKER),
    Form("recalculate", "first_check", "volume_1", good={"volume_2": "17.3", "materials": "1"}),
    Form("recalculate", "first_check", "volume_2", good={"volume_1": "20", "materials": "1"}),
    Form("sight_draw", "show", "volume", good={"draw": "2"}),
    Form("sight_draw", "show", "draw", good={"volume": "17.5"}),
    Form("cannot_read", "show", "reason", BAD_WORDS, {"draw": "2"}),
    Form("cannot_read", "show", "draw", good={"reason": "it glares"}),
    Form("refuse_check", "show", "reason", BAD_WORDS),
    Form("refuse_check", "first_check", "reason", BAD_WORDS),
    Form("inspect", "final_check", "matches", (EMPTY,), {"clear": "1", "sound": "1", "used": "1"}),
    Form("release", "release", "pin"),
    Form("resolve_hold", "held", "reason", BAD_WORDS, {**WRITTEN, "resolution": "draw-again"}),
    Form("resolve_hold", "held", "pin", BAD, {**WRITTEN, "resolution": "draw-again"}),
    Form("resolve_hold", "held", "resolution", BAD, WRITTEN),
    Form("cancel_order", "draw", "reason", BAD_WORDS),
    Form("switch_hood", "first_check", "to", BAD, who="supervisor"),
)


def address(form: Form, work: Hands) -> str:
    hold, step = work.preparation.holds.first(), work.step
    places = {"code": work.code, "place": step.place if step else 0}
    for wanted in (["code", "place"], ["code"], ["code", "number"], ["number"]):
        numbers = {"resolve_hold": hold and hold.pk, "switch_hood": work.cast.hood.pk}
        facts = {**places, "number": numbers.get(form.name) or work.order.number}
        try:
            return reverse(form.name, kwargs={name: facts[name] for name in wanted})
        except NoReverseMatch:
            continue
    raise AssertionError(form.name)
