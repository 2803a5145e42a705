"""How fast the arithmetic is, beside bare `Decimal` doing the same numbers in the same run.

    python3 -m tests.benchmarks.worksheet            from the project's root, in its own environment (.venv)

Targets (shared/guide): a worksheet of ten ingredients with its proof in 5 ms at most and linear in the
ingredients; the ladder finder in 50 ms; provisioning of 40 preparations from 6 sizes in 1 s, hard shifts
too. Nothing fails here: figures are printed to be read. Times are the processor's own, so that other work on
the machine counts for less; the best time by the clock stands beside them.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from functools import partial

from compounding.reckoning.dilution import find_ladder
from compounding.reckoning.drawing import demands_of
from compounding.reckoning.policy import Policy
from compounding.reckoning.provisioning import Need, NotEnoughStock, Sharing, Size, StockLot, provision
from compounding.reckoning.quantities import of
from compounding.reckoning.reckon import reckon
from compounding.reckoning.request import Request
from tests.reckoning.prepared_orders import EIGHT, bag, ingredient, order, solution

Sizes = tuple[tuple[Decimal, Decimal], ...]
D = Decimal
SYRINGES: Sizes = tuple(
    (D(top), D(step))
    for top, step in (
        ("1", "0.01"), ("3", "0.1"), ("5", "0.2"), ("10", "0.2"), ("20", "0.5"), ("30", "0.5"), ("60", "0.5"),
    )
)  # fmt: skip
STOCKS = tuple(map(D, ("0.2", "0.25", "0.4", "0.5", "0.8", "1", "2", "2.5", "3", "4", "5", "10")))
TOTALS = tuple(map(D, ("1", "2", "2.5", "4", "5", "10", "20", "25", "40", "50", "100")))
STRENGTHS = ("10", "25", "50", "100", "4", "2", "330", "5", "20", "40")
VOLUMES = ("7.3", "4.1", "2.2", "8.6", "5.5", "3.7", "2.9", "6.4", "9.1", "4.8")


def ordered(count: int) -> Request:
    """Return an order of that many ingredients, each one vial of 20 mL, into a bag of 1,000 mL."""
    parts = []
    for number in range(count):
        strength, volume = D(STRENGTHS[number]), D(VOLUMES[number])
        product = solution(f"drug{number} vial", of(strength * 20, "mg"), "20", of(strength, "mg/mL"))
        parts.append(ingredient(product, of(strength * volume, "mg")))
    return order(*parts, vehicle=bag(1000, 60))


def bare_worksheet(count: int) -> Decimal:
    """Return the same numbers in bare Decimal: volumes, marks, errors, concentrations, the proof's sums."""
    doses = [(D(STRENGTHS[n]) * D(VOLUMES[n]), D(STRENGTHS[n])) for n in range(count)]
    added = sum((dose / strength for dose, strength in doses), D(0))
    drawn = D(0)
    for dose, strength in doses:
        target = bare_draw(dose / strength)
        drawn += target * strength / (1000 + added) + target * strength / (1060 + added)
        drawn -= abs(target * strength - dose) / dose * 100
    return drawn


def bare_draw(volume: Decimal) -> Decimal:
    """Return the mark of the syringe of least expected error."""
    found = []
    for top, step in SYRINGES:
        target = (volume / step).quantize(D(1), rounding=ROUND_HALF_UP) * step
        if top * 20 / 100 <= target <= top:
            rounding = abs(target - volume) / volume * 100
            instrument = bare_tolerance(top, target) / target * 100
            found.append(((rounding**2 + instrument**2).sqrt(), top, target))
    return min(found)[2]


def bare_tolerance(top: Decimal, volume: Decimal) -> Decimal:
    small = top < 5
    if 2 * volume >= top:
        return volume * (5 if small else 4) / 100
    return (top * D("1.5") + volume * (2 if small else 1)) / 100


def bare_ladder() -> Decimal:
    """Return the least waste over the same pairs of stock and total."""
    wasted = [
        taken * (1 - bare_draw(wanted) / total)
        for taken in STOCKS
        for total in TOTALS
        if total > taken and D("0.2") <= (wanted := D("0.06") * total / (taken * 10)) <= 60
    ]
    return min(wasted)


def at(minutes: int) -> datetime:
    return EIGHT + timedelta(minutes=minutes)


def run_of(count: int) -> tuple[list[Need], list[Size], list[StockLot]]:
    """Return a shift of preparations of one drug, six sizes with two lots each, some shared and some not."""
    contents = (255, 510, 735, 980, 1225, 390, 615, 905)
    needs = [
        Need(f"preparation {n}", f"patient {n}", at(n * 12), of(contents[n % 8], "mg")) for n in range(count)
    ]
    alone, shared = Sharing.NOBODY, Sharing.ANYONE
    facts = (
        (100, "1.1", alone), (250, "2.2", alone), (500, "3.9", shared),
        (1000, "7", shared), (2000, "13", shared), (5000, "31", shared),
    )  # fmt: skip
    sizes = [
        Size(f"{mg} mg vial", of(mg, "mg"), D(price), sharing, timedelta(hours=6))
        for mg, price, sharing in facts
    ]
    lots = [
        StockLot(size.code, f"{size.code} {n}", at(60 * 24 * (n + 2)), 60) for size in sizes for n in (1, 2)
    ]
    return needs, sizes, lots


CONTENTS = (50, 100, 150, 200, 250, 300, 400, 440, 500, 600, 750, 800, 1000, 1500, 2000, 2500, 3000, 5000)


def hard_shift(seed: int) -> tuple[list[Need], list[Size], list[StockLot]]:
    """Return a shift of 40 preparations and 6 sizes that leaves much to choose.

    Odd sizes, uneven doses, some patients twice, ample or scarce stock, lots and in-use times that end
    within the shift.
    """
    chance = random.Random(seed)
    contents = sorted(chance.sample(CONTENTS, 6))
    step, middle = chance.choice((1, 5, 10, 25)), contents[chance.randrange(2, 6)]
    doses = [max(step, round(middle * chance.uniform(0.2, 2) / step) * step) for _ in range(40)]
    needs = [
        Need(f"{n}", f"patient {chance.randrange(30)}", at(chance.randrange(0, 480, 5)), of(dose, "mg"))
        for n, dose in enumerate(doses)
    ]
    sharing = chance.choice((("anyone",), ("anyone", "nobody"), ("anyone", "patient"), tuple(Sharing)))
    times = chance.choice(((6,), (12,), (1, 6, 12), (6, 672)))
    sizes = [
        Size(
            code=f"{mg} mg",
            content=of(mg, "mg"),
            price=D(round(mg * chance.uniform(0.8, 1.2))),
            sharing=Sharing(chance.choice(sharing)),
            in_use=timedelta(hours=chance.choice(times)),
            is_kept=chance.random() < 0.1,
        )
        for mg in contents
        if mg * 100 >= max(doses)
    ]
    stock = chance.choice(("ample", "ample", "scarce", "ending"))
    lots = [
        StockLot(
            size.code,
            f"{size.code} {n}",
            at(240) if stock == "ending" and n == chance.choice((1, 2)) else at(60 * 24 * (n + 2)),
            100 if stock == "ample" else chance.randrange(4, 20),
        )
        for size in sizes
        for n in (1, 2)
    ]
    return needs, sizes, lots


def bare_provision(count: int) -> Decimal:
    """Return the price of the plainest plan, each preparation from its own cheapest vials."""
    needs, sizes, _lots = run_of(count)
    return cheapest_alone(needs, sizes)


def cheapest_alone(needs: list[Need], sizes: list[Size]) -> Decimal:
    prices = [(size.content.magnitude, size.price) for size in sizes]
    cheapest = (min(-(-need.content.magnitude // one) * price for one, price in prices) for need in needs)
    return sum(cheapest, D(0))


def seconds(act: Callable[[], object], times: int) -> tuple[float, float]:
    """Return the processor's median time for an act and the best by the clock, after one run to warm up."""
    act()
    worked, waited = [], []
    for _ in range(times):
        began, clock = time.process_time(), time.perf_counter()
        act()
        worked.append(time.process_time() - began)
        waited.append(time.perf_counter() - clock)
    return statistics.median(worked), min(waited)


def tell(what: str, own: tuple[float, float], bare: tuple[float, float], target: float) -> None:
    median, best = own
    kept = "within" if median <= target else "ABOVE"
    print(
        f"{what:<40} median {median * 1000:.2f} ms, best {best * 1000:.2f} ms; bare Decimal "
        f"{bare[0] * 1000:.3f} ms, ratio {median / bare[0]:.1f}; {kept} the target of {target * 1000:g} ms"
    )


def tell_of_hard_shifts(count: int) -> None:
    """Print how long the slowest of so many shifts drawn at random took, and how many plans were proved."""
    worked, bare, plans = [], [], Counter[str]()
    for seed in range(count):
        needs, sizes, lots = hard_shift(seed)
        began = time.process_time()
        try:
            plans["proved" if provision(needs, sizes, lots).is_proved else "not proved"] += 1
        except NotEnoughStock:
            plans["refused"] += 1
        worked.append(time.process_time() - began)
        bare.append(seconds(partial(cheapest_alone, needs, sizes), 1)[0])
    slowest, median, floor = max(worked), statistics.median(worked), statistics.median(bare)
    print(
        f"{f'{count} hard shifts of 40 and 6':<40} median {median * 1000:.0f} ms, "
        f"slowest {slowest * 1000:.0f} ms; "
        f"bare Decimal {floor * 1000:.3f} ms, ratio {median / floor:.0f}; "
        f"{'within' if slowest <= 1 else 'ABOVE'} the target of 1000 ms"
    )
    print("  plans: " + ", ".join(f"{number} {word}" for word, number in sorted(plans.items())))


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    demands = demands_of(Policy())
    asked = ordered(10)
    tell(
        "worksheet with proof, ten ingredients",
        seconds(lambda: reckon(asked), times),
        seconds(lambda: bare_worksheet(10), times),
        0.005,
    )
    print("  by number of ingredients:")
    for count in range(1, 11):
        request = ordered(count)
        median, best = seconds(partial(reckon, request), max(times // 4, 5))
        each = median * 1000 / count
        print(f"  {count:>4}  median {median * 1000:6.2f} ms, best {best * 1000:6.2f} ms, {each:.2f} ms each")
    tell(
        "ladder finder, 0.06 mg of 10 mg/mL",
        seconds(lambda: find_ladder(of("0.06", "mg"), of(10, "mg/mL"), demands), max(times // 10, 3)),
        seconds(bare_ladder, max(times // 10, 3)),
        0.05,
    )
    needs, sizes, lots = run_of(40)
    plan = provision(needs, sizes, lots)
    tell(
        "provisioning, 40 preparations, 6 sizes",
        seconds(lambda: provision(needs, sizes, lots), 3),
        seconds(lambda: bare_provision(40), 3),
        1.0,
    )
    print(f"  the plan is {'proved' if plan.is_proved else 'not proved'}, its waste worth {plan.cost}")
    tell_of_hard_shifts(times // 5)


if __name__ == "__main__":
    main()
