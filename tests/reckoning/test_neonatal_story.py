"""The guide's neonatal story: the engine comes to every number that the page works out by hand.

Outside sources: the hand-worked page itself; ISO 7886-1 table of tolerances (1 mL rows page, the others
memory); sum and root of the sum of squares (common practice, no source).
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import pytest
from django.core.management import call_command

from compounding.reckoning import dosing, strengths
from compounding.reckoning.dilution import diluted_strength, find_ladder
from compounding.reckoning.drawing import Fill, demands_of, fills_for, one_fill
from compounding.reckoning.policy import Policy
from compounding.reckoning.quantities import number_in, of, round_half_up, write
from compounding.reckoning.refusals import NotMeasurable
from compounding.reckoning.syringes import budget, tolerance

D = Decimal
ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "shared" / "guide" / "neonatal.md").read_text(encoding="utf-8")
ORDERS = ROOT / "shared" / "guide" / "orders"
NUMBER = re.compile(r"(?<![\w.])\d+(?:\.\d+)?")

DEMANDS = demands_of(Policy())
STOCK = of(10, "mg/mL")
DOSE = dosing.required_content(of(1, "mg/kg"), of("0.735", "kg"), None)
VOLUME = strengths.volume_of(DOSE.amount, STOCK)
LADDER = find_ladder(DOSE.amount, STOCK, DEMANDS)
DIRECT = budget(D(1), D("0.0735"), D("0.07"), D(0))


def cut(number: Decimal, step: str = "0.01") -> str:
    """Return a number as the page writes it: rounded half up, without trailing zeros."""
    return format(round_half_up(number, D(step)).normalize(), "f")


@dataclass(frozen=True)
class Way:
    """One way to dilute: stock and diluent in syringes of these sizes, then a draw of a 1 mL syringe."""

    stock: str
    diluent: str
    diluent_size: str

    @property
    def total(self) -> Decimal:
        return D(self.stock) + D(self.diluent)

    @property
    def draw(self) -> tuple[Decimal, Decimal]:
        """Return what is required of the dilution, and the mark it is drawn to."""
        required = D("0.735") * self.total / (D(10) * D(self.stock))
        return required, round_half_up(required, D("0.01"))

    @property
    def parts(self) -> tuple[Decimal, ...]:
        """Return what is off in percent: stock (as it counts), diluent, draw, rounding."""
        required, target = self.draw
        own = tolerance(D(1), D(self.stock)) / D(self.stock) * D(self.diluent) / self.total
        diluent = tolerance(D(self.diluent_size), D(self.diluent)) / self.total
        draw = tolerance(D(1), target) / target
        return tuple(part * 100 for part in (own, diluent, draw, abs(target - required) / required))

    @property
    def expected(self) -> Decimal:
        return sum((part**2 for part in self.parts), D(0)).sqrt()

    @property
    def wasted(self) -> Decimal:
        return D(self.stock) * (1 - self.draw[1] / self.total)

    def row(self, name: str, policy: str) -> str:
        """Return the row of the page's table."""
        off = cut(tolerance(D(1), D(self.stock)) / D(self.stock) * 100)
        return (
            f"| {name} | {self.stock} mL in 1 mL, {off} % off | {self.diluent} mL in {self.diluent_size} mL "
            f"| {cut(self.draw[1])} mL | {cut(self.parts[3])} % | {cut(self.expected)} % "
            f"| {cut(self.wasted, '0.001')} mL | {policy} |"
        )


SMALL, USUAL, FOUND = Way("0.1", "0.9", "1"), Way("1", "9", "10"), Way("0.4", "3.6", "5")
ROWS = (
    SMALL.row("0.1 mL made up to 1 mL", "refuses it"),
    USUAL.row("1 mL made up to 10 mL", "allows it"),
    FOUND.row("the ladder found", "allows it"),
)


def test_the_dose_and_its_volume() -> None:
    assert write(DOSE.amount) == "0.735 mg"
    assert write(VOLUME.amount) == "0.0735 mL"
    for worked in (DOSE, VOLUME):
        assert worked.lines[-1].text in PAGE


def test_the_direct_draw_breaks_every_limit() -> None:
    smallest = DEMANDS.sizes[0]
    assert (smallest.top, smallest.step, smallest.least) == (D(1), D("0.01"), D("0.2"))
    assert smallest.nearest_mark(D("0.0735")) == D("0.07")
    assert [cut(part) for part in (DIRECT.rounding, DIRECT.instrument, DIRECT.expected)] == [
        "4.76",
        "23.43",
        "23.91",
    ]
    policy = DEMANDS.policy
    assert (policy.rounding_limit_percent, policy.instrument_limit_percent, policy.least_fill_percent) == (
        2,
        10,
        20,
    )
    assert DIRECT.rounding > 2
    assert DIRECT.expected > 10
    with pytest.raises(NotMeasurable, match=r"used from 0\.2 mL up"):
        fills_for(VOLUME.amount, DEMANDS)


def test_the_command_refuses_it_in_the_words_of_the_page(capsys) -> None:
    with pytest.raises(SystemExit) as left:
        call_command("worksheet", str(ORDERS / "furosemide_too_small.json"))
    told = capsys.readouterr()
    assert (left.value.code, told.out) == (2, "")
    assert f"\n{told.err.strip()}\n" in PAGE


def test_the_ladder_is_the_one_of_the_page() -> None:
    def placed(fill: Fill) -> tuple[Decimal, Decimal]:
        return fill.size.top, fill.target

    assert placed(LADDER.stock) == (D(1), D("0.4"))
    assert placed(LADDER.diluent) == (D(5), D("3.6"))
    assert placed(LADDER.draw) == (D(1), D("0.74"))
    assert LADDER.draw.required == D("0.735")
    assert write(LADDER.strength) == write(diluted_strength(STOCK, of("0.4", "mL"), of(4, "mL")).amount)
    assert write(LADDER.strength) == "1 mg/mL"


def test_its_error_is_the_pencil_s() -> None:
    # by hand: 5.175² + 3.6² + 5² + 0.68² = 26.78 + 12.96 + 25 + 0.46 = 65.2, whose root is 8.07
    stock, diluent, draw, rounding = FOUND.parts
    assert [cut(part, "0.001") for part in (stock, diluent, draw)] == ["5.175", "3.6", "5"]
    assert cut(rounding) == cut(LADDER.rounding) == "0.68"
    assert cut(LADDER.stock.error.instrument) == "5.75"
    assert (LADDER.stock.off, LADDER.diluent.off, LADDER.draw.off) == (D("0.023"), D("0.144"), D("0.037"))
    assert cut(sum(FOUND.parts, D(0))) == "14.46"
    assert cut(LADDER.expected**2, "0.1") == "65.2"
    assert cut(LADDER.expected) == cut(FOUND.expected) == "8.07"
    assert cut(LADDER.wasted, "0.001") == cut(FOUND.wasted, "0.001") == "0.326"


@pytest.mark.parametrize("row", ROWS)
def test_the_ways_of_a_textbook(row: str) -> None:
    assert row in PAGE


def test_policy_allows_two_of_the_three_ways() -> None:
    limit = DEMANDS.most_instrument
    assert [way.expected <= limit for way in (SMALL, USUAL, FOUND)] == [False, True, True]
    assert one_fill(D("0.1"), DEMANDS) is None
    # "nearly three times the stock"; "measured a little better"
    assert D("2.8") < USUAL.wasted / FOUND.wasted < 3
    assert FOUND.expected - D("0.5") < USUAL.expected < FOUND.expected
    assert cut((D("0.735") - D("0.7")) / D("0.735") * 100) == cut(DIRECT.rounding) == "4.76"


def test_one_syringe_for_both_gives_nearly_twice_the_dose() -> None:
    # dead space at most 0.07 mL: ISO 7886-1, memory
    content = number_in(strengths.content_of(of("0.14", "mL"), STOCK, "mg").amount, "mg")
    assert cut(content) == "1.4"
    assert cut(content / D("0.735"), "0.1") == "1.9"


def test_from_the_dilution_it_is_an_ordinary_draw(capsys) -> None:
    call_command("worksheet", str(ORDERS / "furosemide_from_dilution.json"))
    told = capsys.readouterr().out
    block = PAGE.split("prints, among the rest,\n\n```\n")[1].split("```")[0]
    assert block in told


LINES: tuple[Callable[[], str], ...] = (
    lambda: f"dose    {DOSE.lines[-1].text}",
    lambda: f"stock   20 mg ÷ 2 mL = {write(STOCK)}",
    lambda: f"volume  {VOLUME.lines[-1].text}",
    lambda: f"rounding  |0.07 mL − 0.0735 mL| ÷ 0.0735 mL = {cut(DIRECT.rounding)} %",
    lambda: (
        f"syringe   1.5 % × 1 mL + 2 % × 0.07 mL = {tolerance(D(1), D('0.07')).normalize()} mL; "
        f"÷ 0.07 mL = {cut(DIRECT.instrument)} %"
    ),
    lambda: f"expected  √({cut(DIRECT.rounding)}² + {cut(DIRECT.instrument)}²) = {cut(DIRECT.expected)} %",
    lambda: f"strength  {diluted_strength(STOCK, of('0.4', 'mL'), of(4, 'mL')).lines[-1].text}",
    lambda: f"draw      0.735 mg ÷ 1 mg/mL = 0.735 mL, to the mark: {cut(LADDER.draw.target)} mL",
    lambda: (
        "| 1.5 % × 1 mL + 2 % × 0.4 mL = 0.023 mL; ÷ 0.4 mL = 5.75 %; × 3.6 ÷ 4 "
        f"| {cut(FOUND.parts[0], '0.001')} % |"
    ),
    lambda: f"| 4 % × 3.6 mL = 0.144 mL; ÷ 4 mL | {cut(FOUND.parts[1])} % |",
    lambda: f"| 5 % × 0.74 mL = 0.037 mL; ÷ 0.74 mL | {cut(FOUND.parts[2])} % |",
    lambda: f"| 0.74 mL − 0.735 mL = 0.005 mL; ÷ 0.735 mL | {cut(FOUND.parts[3])} % |",
    lambda: f"worst     5.175 % + 3.6 % + 5 % + 0.68 % = {cut(sum(FOUND.parts, D(0)))} %",
    lambda: f"expected  √(5.175² + 3.6² + 5² + 0.68²) = √65.2 = {cut(LADDER.expected)} %",
    lambda: f"wasted    0.4 mL × (1 − 0.74 ÷ 4) = {cut(LADDER.wasted, '0.001')} mL of stock",
    lambda: "in the barrel        0.14 mL × 10 mg/mL = 1.4 mg",
    lambda: "ordered              0.735 mg; 1.4 mg ÷ 0.735 mg = 1.9 times the dose",
)


@pytest.mark.parametrize("line", LINES)
def test_every_line_of_working_stands_on_the_page(line: Callable[[], str]) -> None:
    assert line() in PAGE


# said in the prose, and taken from the order, policy, or the standard's own name
SAID = set(
    NUMBER.findall("0.735 0.0735 20 10 2 1 0.01 0.07 7886 0.2 0.4 3.6 4 0.74 0.1 0.68 0.7 4.76 8.07 1.5 5")
)


def test_no_number_of_the_page_is_left_untried(capsys) -> None:
    rest = PAGE
    for tried in (*(line() for line in LINES), *ROWS):
        rest = rest.replace(tried, "")
    call_command("worksheet", str(ORDERS / "furosemide_from_dilution.json"))
    printed = capsys.readouterr().out.splitlines()
    rest = "\n".join(line for line in rest.splitlines() if line not in printed)
    assert set(NUMBER.findall(rest)) - SAID == set()
