"""Dilution: C₁V₁ = C₂V₂, alligation, and the ladder – an intermediate dilution for what cannot be drawn.

A ladder takes a mL of stock, adds diluent to b mL and draws c mL of that: every measured volume stands on a
mark, rounding and combined expected error are within policy, and the least stock is wasted. Stock and diluent
are measured in syringes of their own: drawn into one, the dead space overdoses. Source: definition;
worked_examples.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from compounding.reckoning.drawing import Demands, Fill, one_fill
from compounding.reckoning.quantities import Quantity, number_in, of, round_half_up, write
from compounding.reckoning.refusals import NoDilution, OutOfRange
from compounding.reckoning.strengths import base_of, base_of_strength
from compounding.reckoning.working import Worked, short, short_number
from compounding.reckoning.worksheet import Line

_HUNDRED = Decimal(100)
_HUNDREDTH = Decimal("0.01")
# mL of stock and mL of dilution that are tried: whole and easy to read, so that the sum is easy to check
_STOCKS = tuple(
    Decimal(text) for text in ("0.2", "0.25", "0.4", "0.5", "0.8", "1", "2", "2.5", "3", "4", "5", "10")
)
_TOTALS = tuple(Decimal(text) for text in ("1", "2", "2.5", "4", "5", "10", "20", "25", "40", "50", "100"))


@dataclass(frozen=True)
class Ladder:
    """An intermediate dilution: stock made up with diluent, and what is drawn of it. Errors in percent."""

    stock: Fill
    diluent: Fill
    draw: Fill
    strength: Quantity
    rounding: Decimal
    expected: Decimal
    wasted: Decimal
    lines: tuple[Line, ...]


def stock_volume(stock: Quantity, wanted: Quantity, total: Quantity) -> Worked:
    """Return how much stock makes a total of a wanted strength: C₂ × V₂ ÷ C₁. Raises NotConvertible,
    OutOfRange.
    """
    base = base_of_strength(stock)
    strong, weak = number_in(stock, f"{base}/mL"), number_in(wanted, f"{base}/mL")
    if weak > strong:
        raise OutOfRange(what="A dilution of " + write(stock), given=write(wanted), range="a weaker strength")
    volume = of(weak * number_in(total, "mL") / strong, "mL")
    text = f"{write(wanted)} × {write(total)} ÷ {write(stock)} = {short(volume)}"
    return Worked(volume, (Line("dilution", text),))


def diluted_strength(stock: Quantity, volume: Quantity, total: Quantity) -> Worked:
    """Return the strength of a volume of stock made up to a total: C₁ × V₁ ÷ V₂. Raises NotConvertible."""
    base = base_of_strength(stock)
    strength = of(
        number_in(stock, f"{base}/mL") * number_in(volume, "mL") / number_in(total, "mL"), f"{base}/mL"
    )
    text = f"{write(stock)} × {write(volume)} ÷ {write(total)} = {short(strength)}"
    return Worked(strength, (Line("dilution", text),))


def alligation(
    stronger: Quantity, weaker: Quantity, wanted: Quantity, total: Quantity
) -> tuple[Worked, Worked]:
    """Return how much of a stronger and of a weaker solution make a total of a strength between. Raises
    OutOfRange.

    Parts stronger : weaker = (wanted − weaker) : (stronger − wanted).
    """
    base = base_of_strength(stronger)
    high, low, middle = (number_in(one, f"{base}/mL") for one in (stronger, weaker, wanted))
    if not low < middle < high:
        raise OutOfRange(
            what="The strength of the mixture",
            given=write(wanted),
            range=f"one between {write(weaker)} and {write(stronger)}",
        )
    whole = number_in(total, "mL")
    strong = of(whole * (middle - low) / (high - low), "mL")
    weak = of(whole - strong.magnitude, "mL")
    parts = f"{short_number(middle - low)} : {short_number(high - middle)} parts of {write(total)}"
    line = Line("alligation", f"{parts} = {short(strong)} and {short(weak)}")
    return Worked(strong, (line,)), Worked(weak, (line,))


def find_ladder(content: Quantity, strength: Quantity, demands: Demands) -> Ladder:
    """Return the intermediate dilution that measures a content with the least stock wasted.

    Then the least expected error, then the smaller dilution. Waste is compared to 0.01 mL: what no syringe
    shows decides nothing. Raises NoDilution, saying why, NotConvertible.
    """
    found = list(_ladders(content, strength, demands))
    if not found:
        raise NoDilution(content=short(content), why="no volumes on marks stay within policy")
    return min(found, key=_preference)


def _preference(ladder: Ladder) -> tuple[Decimal, Decimal, Decimal]:
    return round_half_up(ladder.wasted, _HUNDREDTH), ladder.expected, ladder.draw.target


def advice(content: Quantity, strength: Quantity, demands: Demands) -> str:
    """Return what to do about a content that cannot be drawn: the ladder in words, or that there is none."""
    try:
        ladder = find_ladder(content, strength, demands)
    except NoDilution as refused:
        return refused.sentence
    told = " ".join(line.text for line in ladder.lines)
    return f"An intermediate dilution would serve: {told}"


def _ladders(content: Quantity, strength: Quantity, demands: Demands) -> Iterator[Ladder]:
    base = base_of(content)
    wanted, per_ml = number_in(content, base), number_in(strength, f"{base}/mL")
    for taken in _STOCKS:
        stock = _on_mark(taken, demands)
        if stock is None or taken * per_ml < wanted:
            continue
        for total in _TOTALS:
            diluent = _on_mark(total - taken, demands) if total > taken else None
            draw = one_fill(wanted * total / (taken * per_ml), demands)
            if diluent and draw and draw.target <= total:
                ladder = _ladder(stock, diluent, draw, of(taken * per_ml / total, f"{base}/mL"))
                if ladder.expected <= demands.most_instrument:
                    yield ladder


def _on_mark(volume: Decimal, demands: Demands) -> Fill | None:
    """Return the syringe that measures a volume exactly at a mark, or None."""
    fill = one_fill(volume, demands)
    return fill if fill and fill.target == volume else None


def _ladder(stock: Fill, diluent: Fill, draw: Fill, strength: Quantity) -> Ladder:
    """Return a ladder with its combined error: stock and draw in full, the diluent by its share of the
    whole.
    """
    total = stock.target + diluent.target
    share = diluent.off / total * _HUNDRED
    own_share = stock.error.instrument * diluent.target / total
    parts = (draw.error.rounding, draw.error.instrument, own_share, share, draw.error.strength)
    expected = sum((part**2 for part in parts), Decimal(0)).sqrt()
    wasted = stock.target * (1 - draw.target / total)
    return Ladder(
        stock,
        diluent,
        draw,
        strength,
        draw.error.rounding,
        expected,
        wasted,
        _told(stock, diluent, draw, strength),
    )


def _told(stock: Fill, diluent: Fill, draw: Fill, strength: Quantity) -> tuple[Line, ...]:
    """Return the ladder in the words of the bench."""
    taken, added, drawn = (write(of(fill.target, "mL")) for fill in (stock, diluent, draw))
    total = write(of(stock.target + diluent.target, "mL"))
    return (
        Line("ladder", f"take {taken} of stock and {added} of diluent, {total} of {short(strength)};"),
        Line("ladder", f"draw {drawn} of it."),
    )
