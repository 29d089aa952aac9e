"""How long one sail's outline and measurement take; run as a program, prints the median and the worst."""

from __future__ import annotations

import statistics
import time

from costing.measurements import SailKind
from costing.sail import LuffCurve, SailShape, measure, outline

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


def median_ms(rounds: int = 300) -> tuple[float, float]:
    """Median and worst time of an outline with its measurement, ms."""
    measure(outline(SKERLING))
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        measure(outline(SKERLING))
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times), max(times)


if __name__ == "__main__":
    median, worst = median_ms()
    print(f"sail: outline + measure  median {median:.2f} ms  worst {worst:.2f} ms  (asked: median at most {ASKED_MS:.0f} ms)")
