"""How long panels, parts and lays take, and how far lays are above the area bound; run as a program."""

from __future__ import annotations

import json
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from costing import cloth, sail
from costing.cloth import Cloth, Lay, Orientation, Part, Table
from tests.cloth.skerling_main import BODY, FINISHED, MAKE, built

DATA = Path(__file__).resolve().parents[1] / "cloth" / "data" / "one_main_1370.json"
ROLL = Cloth("ROLL", "roll", "woven", "firm", 1370, 1370, 170, Orientation.FILL, True, ("white",))
TABLE = Table(length_mm=12000, gap_mm=4)
TOUCHING = Table(length_mm=12000, gap_mm=0.01)


def median_ms(work: Callable[[], object], rounds: int) -> float:
    work()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times)


def measured_main() -> tuple[Part, ...]:
    found = json.loads(DATA.read_text(encoding="utf-8"))["parts"]
    return tuple(
        Part(p["id"], p["kind"], p["id"], "ROLL", tuple(map(tuple, p["outer"])), tuple(tuple(map(tuple, h)) for h in p["holes"]))
        for p in found
    )


def report(label: str, asked: str, lay: Callable[[], Lay], rounds: int) -> None:
    made, took = lay(), median_ms(lay, rounds)
    print(
        f"cloth: {label:44} median {took:7.1f} ms  {made.length_mm / 1000:8.3f} m  gap {made.over_area_fraction:6.2%}  "
        f"{len(made.placements)} parts  (asked: {asked})"
    )


def main() -> None:
    cut = sail.outline(cloth.cut_shape(FINISHED, MAKE))
    panels = cloth.panels(cut, MAKE, BODY)
    print(f"cloth: {'panels of one main':44} median {median_ms(lambda: cloth.panels(cut, MAKE, BODY), 30):7.1f} ms")
    parts_ms = median_ms(lambda: cloth.parts(cut, panels, MAKE, BODY, patch_caps={}), 30)
    print(f"cloth: {'parts of one main':44} median {parts_ms:7.1f} ms")
    skerling: Sequence[Part] = built().parts
    measured = measured_main()
    for holes in (True, False):
        label = f"measured main, hole {'filled' if holes else 'left alone'}"
        table = replace(TOUCHING, window_holes=holes)
        report(label, "gap 15 %, 60 ms", lambda table=table: cloth.plan_lay({"": measured}, ROLL, table), 15)
    report("Skerling main, usable 1,355, gap 4", "60 ms", lambda: cloth.plan_lay({"": skerling}, BODY, TABLE), 15)
    forty = {str(n): skerling for n in range(40)}
    report("40 Skerling mains of one pattern", "1 s", lambda: cloth.plan_lay(forty, BODY, TABLE), 3)
    lay = cloth.plan_lay(forty, BODY, TABLE)
    print(f"cloth: {'audit of the 40':44} median {median_ms(lambda: cloth.audit_lay(lay, forty, BODY, TABLE), 3):7.1f} ms")


if __name__ == "__main__":
    main()
