"""The working of the bench: how many containers, which syringe at which mark, how far each may be off."""

from __future__ import annotations

from compounding.reckoning.mixture import ReckonedIngredient
from compounding.reckoning.quantities import number_in, write
from compounding.reckoning.reconstitution import reconstitution_line
from compounding.reckoning.transfers import Bench
from compounding.reckoning.working import short, short_number, short_percent
from compounding.reckoning.worksheet import Draw, Line, Purpose, Transfer


def source_lines(one: ReckonedIngredient, bench: Bench) -> list[Line]:
    """Return how a powder is made up and how many containers the volume takes."""
    product = one.ordered.product
    made = reconstitution_line(product)
    keys = [box.key for box in bench.containers if box.ingredient == one.number and box.role == "drug"]
    units = next(t.times for t in bench.transfers if t.ingredient == one.number and t.purpose == Purpose.DRUG)
    many = f" × {units}" if units > 1 else ""
    share = short_number(number_in(one.volume, "mL") * units / number_in(product.withdrawable, "mL"))
    text = f"{short(one.volume)}{many} ÷ {write(product.withdrawable)} = {share}: {', '.join(keys)}"
    lines = [Line(f"{one.ordered.written} containers", text)]
    return [made, *lines] if made else lines


def draw_lines(bench: Bench) -> list[Line]:
    """Return each transfer's draws of its first turn: mark, syringe, sources, error."""
    return [
        Line(f"{transfer.purpose} {transfer.of_what}", _told(draw, transfer))
        for transfer in bench.transfers
        for draw in transfer.draws
        if draw.turn == 1
    ]


def _told(draw: Draw, transfer: Transfer) -> str:
    """Return one draw as a line."""
    times = f", {transfer.times} times" if transfer.times > 1 else ""
    error = draw.error
    parts = f"rounding {short_percent(error.rounding)} %, syringe {short_percent(error.instrument)} %"
    if error.strength:
        parts += f", strength {short_percent(error.strength)} %"
    drawn = f"{short(draw.required)} → {write(draw.target)} in a {write(draw.syringe.size)} syringe{times}"
    return (
        f"{drawn}; {parts}: expected {short_percent(error.expected)} %, worst {short_percent(error.worst)} %"
    )
