"""How far above the area bound lays end, by steps, on mains from seeds that nothing was tuned on; run as a program.

Steps and weights of the search were chosen on the measured main in tests/cloth/data and two mains like it, the estimate on seed 101.
`bench_lays.py full` spends the steps of the figures that are published; without it a tenth, so that it ends soon. Seconds are of one
core at work, whatever else the machine does. Windows of these mains are cut after sewing, so no part lies in a hole.
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from costing import cloth
from costing.cloth import Cloth, Lay, Table
from tests.bench import made_mains

UNSEEN = (301, 302, 303, 304, 305)
TOUCHING = Table(length_mm=12000, gap_mm=0.01)
CUT = Table(length_mm=12000, gap_mm=4)
SHARE = 1.0 if "full" in sys.argv[1:] else 0.1


def laid(sails: made_mains.Sails, roll: Cloth, table: Table, steps: int) -> tuple[Lay, float]:
    start = time.process_time()
    lay = cloth.plan_lay(sails, roll, table, steps=steps, seed=1)
    took = time.process_time() - start
    found = cloth.audit_lay(lay, sails, roll, table)
    assert not found, found
    return lay, took


def report(label: str, count: int, roll: Cloth, table: Table, steps: int) -> None:
    done = [laid(made_mains.batch(seed, count, roll), roll, table, steps) for seed in UNSEEN]
    gaps = sorted(lay.over_area_fraction for lay, _ in done)
    print(
        f"lays: {label:34} {steps:6d} steps  gap median {statistics.median(gaps):6.2%} ({gaps[0]:.2%} to {gaps[-1]:.2%})  "
        f"{statistics.median(took for _, took in done):6.2f} s",
        flush=True,
    )


def estimates() -> None:
    for copies in (1, 6, 40):
        errors, times = [], []
        for roll in (replace(made_mains.WIDE, usable_width_mm=1355), replace(made_mains.NARROW, usable_width_mm=899)):
            for parts in made_mains.batch(901, round(20 * SHARE) or 1, roll).values():
                made = cloth.plan_lay({str(n): parts for n in range(copies)}, roll, CUT)
                start = time.process_time()
                told = cloth.estimate(parts, copies, roll, CUT)
                times.append(1000 * (time.process_time() - start))
                errors.append(abs(told.length_mm / made.length_mm - 1))
        print(
            f"lays: estimate of {copies:2d} copies beside the lay: error mean {statistics.mean(errors):.2%}, worst {max(errors):.2%}, "
            f"{len(errors)} mains, median {statistics.median(times):.0f} ms",
            flush=True,
        )


def main() -> None:
    estimates()
    for roll in (made_mains.WIDE, made_mains.NARROW):
        usable = replace(roll, usable_width_mm=roll.width_mm - 15)
        for steps in (0, round(20_000 * SHARE)):
            report(f"one main, {roll.width_mm:.0f}, touching", 1, roll, TOUCHING, steps)
            report(f"one main, {usable.usable_width_mm:.0f} usable, gap 4", 1, usable, CUT, steps)
    for steps in (0, round(50_000 * SHARE)):
        report("forty mains, 1370, touching", 40, made_mains.WIDE, TOUCHING, steps)


if __name__ == "__main__":
    main()
