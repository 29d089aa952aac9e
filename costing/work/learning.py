"""Learning within a batch: each doubling of the number made takes the time down to a fraction."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache

from costing.money import quantity_3
from costing.takeoff.kinds import plain
from costing.work.standards import LabourStandards, OperationMinutes, Station


def wright_factor(number: int, per_doubling: Decimal, floor: Decimal = Decimal(0)) -> Decimal:
    """The time of the n-th sail as a fraction of the first, not below the floor.

    Wright's rule T_n = T_1 n^(log2 r) (T. P. Wright, 1936); `per_doubling` is r, 1 where nothing is learned.
    """
    if number < 1 or not 0 < per_doubling <= 1:
        raise ValueError("sails count from 1, and the fraction a doubling is above 0 and at most 1")
    exponent = per_doubling.ln() / Decimal(2).ln()
    return max((Decimal(number).ln() * exponent).exp(), floor)


@lru_cache(maxsize=256)  # asked once for each sail of a batch, and each time it sums over all of them
def mean_factor(count: int, per_doubling: Decimal, floor: Decimal = Decimal(0)) -> Decimal:
    """The mean time of `count` sails as a fraction of the first, 4 places."""
    total = sum((wright_factor(n, per_doubling, floor) for n in range(1, count + 1)), Decimal(0))
    return (total / count).quantize(Decimal("0.0001"))


def learned(operations: tuple[OperationMinutes, ...], count: int, standards: LabourStandards) -> tuple[OperationMinutes, ...]:
    """The operations of one of `count` sails with what is learned as an operation of its own, in negative minutes."""
    factor = mean_factor(count, standards.learning_per_doubling, standards.learning_floor)
    if factor == 1:
        return operations
    own = sum((o.own_min for o in operations), Decimal(0))
    saved = quantity_3(own * (factor - 1))
    how = f"{plain(own)} min x ({factor} - 1), the mean of {count} sails at {plain(standards.learning_per_doubling)} a doubling"
    return (*operations, OperationMinutes("learning", "Learning within the batch", Station.DESK, saved, Decimal(0), Decimal(0), how))
