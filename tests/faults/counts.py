"""How often a fault is tried: a few times with every test run, in full with `make faults` (LOFT_FAULTS=full)."""

from __future__ import annotations

import os

FULL = os.environ.get("LOFT_FAULTS") == "full"

#: Every random choice of these tests starts from here, so that a run can be repeated.
SEED = 20_260_302

#: The brokers to ask (the fixture `through`): Redis takes its turn in full.
BROKERS = ("broker", "redis") if FULL else ("broker",)


def count(*, full: int, short: int) -> int:
    """The number to use in this run."""
    return full if FULL else short
