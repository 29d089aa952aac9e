"""Lays with the nesting library's help beside the library alone in the same time, and 400 sails; run as a program.

The gap is that to the parts' area over the width, as in the figures that came with the measured data; behind it that to the bound, which
knows of the tool's gap and of holes that nothing fits into.

Measured data, where they are found: `shared/nesting` beside the project's folder, or the folder in LAYS_DATA. Without them only made
mains (seeds 501 to 505) are laid. Nothing was tuned on those seeds; what goes into a window first was chosen on the two single mains.
The library works by the clock, so a busy machine makes its lays, and ours with it, longer: the load average is printed with each.
`bench_nesting.py mains`, `forty`, `instances` or `many` prints a part; without a name, the mains; `forty` takes ten minutes.
"""

from __future__ import annotations

import json
import math
import os
import statistics
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from costing import cloth
from costing.cloth import Cloth, Lay, Part, Table
from loft.workshop.nesting import Nesting
from loft.workshop.nesting_child import solved
from tests.bench import made_mains

DATA = Path(os.environ.get("LAYS_DATA", Path(__file__).resolve().parents[3] / "shared" / "nesting"))
UNSEEN = (501, 502, 503, 504, 505)
#: Of the forty measured mains, looked at one by one for nothing else.
FIVE = ("S4", "S12", "S20", "S28", "S36")
TOUCHING = Table(length_mm=12000, gap_mm=0.01)
ROLL_MM = 1370.0

Sails = dict[str, tuple[Part, ...]]


def measured(name: str) -> tuple[Sails, Cloth]:
    found = json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))
    roll = replace(made_mains.WIDE, width_mm=found["roll_width"], usable_width_mm=found["roll_width"])
    sails: dict[str, list[Part]] = {}
    for p in found["parts"]:
        sail, _, own = p["id"].rpartition(".")
        holes = tuple(tuple(map(tuple, hole)) for hole in p["holes"])
        sails.setdefault(sail, []).append(Part(own, p["kind"], own, roll.code, tuple(map(tuple, p["outer"])), holes, (0, 180)))
    return {sail: tuple(parts) for sail, parts in sails.items()}, roll


def planned(sails: Sails, roll: Cloth, table: Table, seconds: float, *, fill_holes: bool = False) -> tuple[Lay, float]:
    """Laid within so many seconds: what the planner needs of them is measured before, the rest is the library's."""
    table = replace(table, window_holes=fill_holes)
    begun = time.monotonic()
    lay = cloth.plan_lay(sails, roll, table)
    took = time.monotonic() - begun
    if seconds > took:
        begun = time.monotonic()
        nesting = Nesting(sails, roll, table, seconds=seconds - took)
        lay = cloth.plan_lay(sails, roll, table, improve=nesting)
        took = time.monotonic() - begun
    found = cloth.audit_lay(lay, sails, roll, table)
    assert not found, found
    return lay, took


def library_mm(sails: Sails, roll: Cloth, seconds: float, seed: int = 0) -> float:
    """What the library alone answers, in one strip; panels as high as the roll go in 1 mm lower, as they must."""
    items: list[dict[str, Any]] = []
    for parts in sails.values():
        for part in parts:
            low, high = min(y for _, y in part.outer), max(y for _, y in part.outer)
            most = roll.usable_width_mm - 1
            scale = min(1.0, most / (high - low)) if high - low > most else 1.0
            items.append({"outline": [(x, low + (y - low) * scale) for x, y in part.outer], "angles": [float(a) for a in part.angles]})
    spots = solved({"height": roll.usable_width_mm, "seconds": seconds, "seed": seed, "items": items, "workers": 2})["spots"]
    ends: list[float] = []
    for item, (x, _, angle) in zip(items, spots, strict=True):
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        ends.append(x + max(px * c - py * s for px, py in item["outline"]))
    return max(ends)


def report(label: str, lays: Sequence[Lay], took: Sequence[float]) -> None:
    bound = statistics.median(lay.gap_fraction for lay in lays)
    _report(label, [lay.over_area_fraction for lay in lays], took, f"  over the bound {bound:.2%}")


def report_library(label: str, lays: Sequence[Lay], lengths: Sequence[float], seconds: float) -> None:
    """Lengths that the library alone answers, beside the area of our lays."""
    _report(label, [mm * lay.usable_width_mm / lay.net_area_mm2 - 1 for mm, lay in zip(lengths, lays, strict=True)], [seconds])


def _report(label: str, gaps: Sequence[float], took: Sequence[float], more: str = "") -> None:
    spread = f" ({min(gaps):.2%} to {max(gaps):.2%})" if len(gaps) > 1 else ""
    load = os.getloadavg()[0]
    print(
        f"nesting: {label:58} gap {statistics.median(gaps):6.2%}{spread}  {statistics.median(took):6.1f} s{more}  load {load:.1f}",
        flush=True,
    )


def mains(seconds: float = 10.0) -> None:
    for name in ("one_main_1370", "one_main_914") if DATA.exists() else ():
        sails, roll = measured(name)
        for holes in (True, False):
            lay, took = planned(sails, roll, TOUCHING, seconds, fill_holes=holes)
            report(f"{name}, hole {'filled' if holes else 'left alone'}", [lay], [took])
        report_library(f"{name}, the library alone", [lay], [library_mm(sails, roll, seconds)], seconds)
    if DATA.exists():
        sails, roll = measured("forty_mains_1370")
        five = [planned({name: sails[name]}, roll, TOUCHING, seconds, fill_holes=True) for name in FIVE]
        report("five of the forty measured mains, each alone, hole filled", *_apart(five))
    for roll in (made_mains.WIDE, made_mains.NARROW):
        for holes in (True, False):
            sails_of = [made_mains.batch(seed, 1, roll, window_holes=holes) for seed in UNSEEN]
            done = [planned(sails, roll, TOUCHING, seconds, fill_holes=holes) for sails in sails_of]
            report(f"made main, {roll.width_mm:.0f}{', hole on the table, filled' * holes}", *_apart(done))
        alone_mm = [library_mm(made_mains.batch(seed, 1, roll), roll, seconds, seed=seed) for seed in UNSEEN]
        report_library(f"made main, {roll.width_mm:.0f}, the library alone", _apart(done)[0], alone_mm, seconds)
        usable = replace(roll, usable_width_mm=roll.width_mm - 15)
        cut = Table(length_mm=12000, gap_mm=4)
        done = [planned(made_mains.batch(seed, 1, usable), usable, cut, seconds) for seed in UNSEEN]
        report(f"made main, {usable.usable_width_mm:.0f} usable, gap 4", *_apart(done))


def forty(seconds: float = 60.0) -> None:
    if DATA.exists():
        sails, roll = measured("forty_mains_1370")
        for holes in (True, False):
            for limit in (0.0, seconds):
                lay, took = planned(sails, roll, TOUCHING, limit, fill_holes=holes)
                report(f"forty measured mains, holes {'filled' if holes else 'left alone'}", [lay], [took])
        report_library("forty measured mains, the library alone", [lay], [library_mm(sails, roll, seconds)], seconds)
    for limit in (0.0, seconds):
        done = [planned(made_mains.batch(seed, 40), made_mains.WIDE, TOUCHING, limit) for seed in UNSEEN]
        report("forty made mains", *_apart(done))


def _apart(done: Sequence[tuple[Lay, float]]) -> tuple[list[Lay], list[float]]:
    return [lay for lay, _ in done], [took for _, took in done]


def many() -> None:
    """One pass over more and more unlike sails; the exponent is the slope of a straight line through the logarithms."""
    counts, took = (10, 40, 100, 400), []
    sails = made_mains.batch(UNSEEN[0], counts[-1])
    for count in counts:
        some = dict(list(sails.items())[:count])
        begun = time.process_time()
        lay = cloth.plan_lay(some, made_mains.WIDE, TOUCHING)
        took.append(time.process_time() - begun)
        report(f"{count} unlike sails, one pass, seconds of one core", [lay], [took[-1]])
    x, y = [math.log(c) for c in counts], [math.log(t) for t in took]
    print(f"nesting: exponent of the time {statistics.linear_regression(x, y).slope:.2f}  (asked: 1.2)", flush=True)


def instances(seconds: float = 10.0) -> None:
    """Public irregular strip packing instances, grown to a strip as wide as a roll; density is the share of the strip that is covered."""
    found = sorted((DATA / "instances").glob("*.json")) if DATA.exists() else []
    if not found:
        print(f"nesting: no public instances under {DATA.name}; set LAYS_DATA to the folder that holds `instances`")
    ours, alone = [], []
    for path in found:
        if any("allowed_orientations" not in item for item in json.loads(path.read_text(encoding="utf-8"))["items"]):
            print(f"nesting: {path.stem:10} left out: its shapes may turn freely, parts on cloth may not")
            continue
        sails, roll = instance(path)
        longest = 3 * sum(cloth.net_area_mm2(part) for part in sails[""]) / ROLL_MM
        lay, _ = planned(sails, roll, replace(TOUCHING, length_mm=longest), seconds)
        ours.append(lay.yield_fraction)
        alone.append(lay.net_area_mm2 / (library_mm(sails, roll, seconds) * roll.usable_width_mm))
        print(
            f"nesting: {path.stem:10} density {ours[-1]:.2%}, the library alone {alone[-1]:.2%}  load {os.getloadavg()[0]:.1f}", flush=True
        )
    if found:
        better = sum(a >= b for a, b in zip(ours, alone, strict=True))
        means = f"mean {statistics.mean(ours):.2%} beside {statistics.mean(alone):.2%}"
        print(f"nesting: at least as dense on {better} of {len(ours)}, {means}", flush=True)


def instance(path: Path) -> tuple[Sails, Cloth]:
    found = json.loads(path.read_text(encoding="utf-8"))
    grown = ROLL_MM / found["strip_height"]
    return {"": tuple(_copies(found["items"], grown))}, made_mains.WIDE


def _copies(items: list[dict[str, Any]], grown: float) -> Iterator[Part]:
    for item in items:
        points = item["shape"]["data"]
        ring = tuple((x * grown, y * grown) for x, y in (points[:-1] if points[0] == points[-1] else points))
        angles = tuple(int(a) for a in item["allowed_orientations"])
        for n in range(int(item["demand"])):
            yield Part(f"{item['id']}-{n}", "panel", "", made_mains.WIDE.code, ring, angles=angles)


if __name__ == "__main__":
    for part in [name for name in sys.argv[1:] if name in globals()] or ["mains"]:
        globals()[part]()
