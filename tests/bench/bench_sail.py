"""How long outline and measurement take, how exactly 5,000 made sails measure as asked, and how long many sails take against many limits.

Run as a program: prints each figure beside what is asked, and ends with 1 when one misses.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections import defaultdict
from decimal import Decimal

from costing import rules
from costing.errors import InputError
from costing.measurements import MEASUREMENTS, SailKind
from costing.sail import LuffCurve, SailShape, measure, outline
from tests.sail import made_sails

SKERLING = SailShape(
    kind=SailKind.MAINSAIL,
    luff_length=5210,
    leech_length=5560,
    foot_length=2440,
    widths=(("quarter_width", 1985), ("half_width", 1455), ("three_quarter_width", 855), ("upper_width", 495)),
    top_width=130,
    foot_round=50,
    luff_curve=LuffCurve(((0.25, 30), (0.5, 45), (0.75, 35))),
)
ASKED_MS = 3.0
SAILS = 5000
ASKED_WORST_MM = 0.5
ASKED_BREACHES_MS = 100.0
ASKED_REFUSED = 0.10


def median_ms(rounds: int = 300) -> tuple[float, float]:
    """Median and worst time of an outline with its measurement, ms."""
    measure(outline(SKERLING))
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        measure(outline(SKERLING))
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times), max(times)


def breaches_ms(sails: int = 1000, limits: int = 30) -> float:
    """Time of comparing many sails with many limits, three of them by formula, every seventh sail outside three; the least of 5, ms."""
    names = [n for n, m in MEASUREMENTS.items() if m.unit == "mm" and not m.of_rig][: limits - 3]
    fixed = [rules.Limit(n, "C", Decimal(1000), Decimal(9000), "") for n in names]
    computed = [rules.Limit("ratio", "C", Decimal("0.2"), None, "", formula=f"{n} / foot_length") for n in names[:2]]
    follows = rules.Limit("half_width", "C", None, None, "", maximum_formula="2 * foot_length")
    extra = [rules.Limit("luff_length", "C", Decimal(i), None, "") for i in range(limits - len(fixed) - len(computed) - 1)]
    rule = rules.SailRule(SailKind.MAINSAIL, (*fixed, *computed, follows, *extra))
    made = [{n: Decimal(5000 + i) - (5000 if n in names[:3] and i % 7 == 0 else 0) for n in names} for i in range(sails)]
    times = []
    for _ in range(5):
        start = time.perf_counter()
        for sizes in made:
            rules.breaches(rule, sizes)
        times.append(1000 * (time.perf_counter() - start))
    return min(times)


def round_trip(count: int = SAILS) -> bool:
    """Outline and measure `count` made sails and print each stratum; whether all of them are as exact and as seldom refused as asked."""
    errors, refused, times = defaultdict(list), defaultdict(int), defaultdict(list)
    for kind, boat, shape in made_sails.strata(count):
        start = time.perf_counter()
        try:
            measured = measure(outline(shape))
        except InputError:
            refused[kind, boat] += 1
            continue
        times[kind].append(1000 * (time.perf_counter() - start))
        errors[kind, boat].append(max(abs(measured[n] - mm) for n, mm in made_sails.asked(shape).items()))
    fine = True
    for (kind, boat), found in errors.items():
        share = refused[kind, boat] / (len(found) + refused[kind, boat])
        p99, worst = sorted(found)[int(0.99 * len(found))], max(found)
        fine = fine and share <= ASKED_REFUSED and worst <= ASKED_WORST_MM
        print(f"sail: {kind.value:21} {boat:16} {len(found):4} made  {share:5.1%} refused  p99 {p99:.6f} mm  worst {worst:.6f} mm")
    for kind, spent in times.items():
        print(f"sail: {kind.value:21} outline + measure  median {statistics.median(spent):.2f} ms")
        fine = fine and statistics.median(spent) <= ASKED_MS
    print(f"sail: {count} sails  (asked: a stratum at most {ASKED_REFUSED:.0%} refused, worst at most {ASKED_WORST_MM} mm)")
    return fine


if __name__ == "__main__":
    median, worst = median_ms()
    print(f"sail: outline + measure  median {median:.2f} ms  worst {worst:.2f} ms  (asked: median at most {ASKED_MS:.0f} ms)")
    compared = breaches_ms()
    print(f"rules: 1,000 sails against 30 limits  {compared:.0f} ms  (asked: at most {ASKED_BREACHES_MS:.0f} ms)")
    sys.exit(not (round_trip() and median <= ASKED_MS and compared <= ASKED_BREACHES_MS))
