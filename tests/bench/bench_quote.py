"""Speed of pricing and of snapshots: medians, against what the project promises.

Run: python -m tests.bench.bench_quote
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Callable
from decimal import Decimal
from functools import partial
from time import perf_counter

from costing.quote import BatchRequest, BatchResult, SailRequest, freeze_batch, freeze_design, price_batch, thaw_batch, thaw_design
from costing.quote.ladder import ladder
from tests import headsails, skerling, spinnakers


def _price(sails: tuple[SailRequest, ...]) -> BatchResult:
    return price_batch(BatchRequest("Bench", "trade", sails), skerling.house(), on=skerling.PRICED_ON)


def _price_spinnaker() -> BatchResult:
    return price_batch(spinnakers.request(_boat(0)), spinnakers.symmetric(), on=skerling.PRICED_ON)


def _price_jib(cut: str) -> BatchResult:
    return price_batch(BatchRequest("Bench", "trade", (_boat(0),)), headsails.house(cut), on=skerling.PRICED_ON)


def _ladder() -> object:
    return ladder(ONE[0], skerling.house(), buyer="trade", on=skerling.PRICED_ON)


def _boat(number: int, **more: object) -> SailRequest:
    return SailRequest(f"row {number + 2}", f"Boat {number}", f"Owner {number}", str(100 + number), **more)  # type: ignore[arg-type]


ONE = (_boat(0, options=frozenset({"window"})),)
ALIKE = tuple(_boat(i, options=frozenset({"window"})) for i in range(40))
DIFFERENT = tuple(_boat(i, sizes={"leech_length": Decimal(5560) - i}) for i in range(40))


def _median_ms(work: Callable[[], object], runs: int) -> float:
    work()
    times = []
    for _ in range(runs):
        start = perf_counter()
        work()
        times.append((perf_counter() - start) * 1000)
    return statistics.median(times)


def main() -> int:
    """Print each median beside its bound; the number of bounds that were missed."""
    result = _price(ONE)
    (design,) = result.designs.values()
    batch = _price(ALIKE).batch
    design_bytes, batch_bytes = freeze_design(design), freeze_batch(batch)
    cases: tuple[tuple[str, Callable[[], object], int, float], ...] = (
        ("one sail", lambda: _price(ONE), 9, 150),
        ("one tri-radial spinnaker", _price_spinnaker, 9, 150),
        *((f"one {cut} jib", partial(_price_jib, cut), 9, 150) for cut in ("cross-cut", "mitre", "vertical")),
        ("40 sails of one pattern", lambda: _price(ALIKE), 5, 1000),
        ("40 different designs", lambda: _price(DIFFERENT), 3, 4000),
        ("price ladder of 1 to 60 sails", _ladder, 3, 2000),
        (f"freeze a design ({len(design_bytes) / 1024:.0f} KiB)", lambda: freeze_design(design), 9, 10),
        ("thaw a design", lambda: thaw_design(design_bytes), 9, 10),
        (f"freeze a batch of 40 ({len(batch_bytes) / 1024:.0f} KiB)", lambda: freeze_batch(batch), 5, 100),
        ("thaw a batch of 40", lambda: thaw_batch(batch_bytes), 5, 100),
    )
    missed = 0
    for name, work, runs, bound in cases:
        median = _median_ms(work, runs)
        missed += median > bound
        print(f"{name:40} {median:9.1f} ms   (at most {bound:.0f} ms){'' if median <= bound else '   MISSED'}")
    return missed


if __name__ == "__main__":
    sys.exit(main())
