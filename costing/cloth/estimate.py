"""Metres of cloth for a quote, without laying every copy: one quick lay, and what copies of it have been seen to save together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from costing.cloth.lay import Table
from costing.cloth.part import Cloth, Part
from costing.cloth.planner import plan_lay
from costing.errors import problem

# Fitted by least squares of the relative error on 28 mains of tests/bench/made_mains.py, seed 101, half of them for rolls 1,370 mm wide and
# half for 914 mm, each laid alone, six and forty together with the default effort; a lay is so much of its area bound and of a quick lay.
_ALONE = (0.0418, 0.9655)
_AMONG_MANY = (1.0681, 0.0422)
_ORDERS = 3  # of the parts, tried for the quick lay
#: Nine of ten lays of 40 mains from another seed (901), alone, six and forty together, end within this share of the estimate.
_UNCERTAIN = 0.02


@dataclass(frozen=True, slots=True)
class Estimate:
    """Length of cloth, mm, for all copies, the range in which nine of ten lays end, and the parts' area over the usable width."""

    length_mm: float
    low_mm: float
    high_mm: float
    bound_mm: float


def estimate(parts: Sequence[Part], copies: int, cloth: Cloth, table: Table) -> Estimate:
    """The length that `plan_lay` at its default effort needs for so many copies of one sail; the time does not grow with copies.

    Never below the area bound. Raises InputError for fewer than one copy and for all that `plan_lay` refuses.
    """
    if copies < 1:
        raise problem("copies", "copies", f"{copies} copies were asked for; it must be at least 1")
    own = [p for p in parts if p.material == cloth.code]
    quick = plan_lay({"": own}, cloth, table, placings=_ORDERS * len(own))
    by_area = quick.net_area_mm2 / quick.usable_width_mm
    alone, among_many = (area * by_area + laid * quick.length_mm for area, laid in (_ALONE, _AMONG_MANY))
    # what a copy needs beyond its share of a large batch falls with the number of copies
    each = max(by_area, among_many + (alone - among_many) / copies)
    length, bound = copies * each, copies * by_area
    return Estimate(length, max(bound, length * (1 - _UNCERTAIN)), length * (1 + _UNCERTAIN), bound)
