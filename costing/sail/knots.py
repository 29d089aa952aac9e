"""The leech points that the widths fix before any curve is drawn.

The head point is on the luff line, the clew from the triangle of the straight-line lengths. The half leech point lies on the
perpendicular bisector of head point and clew point, where its shortest distance to the luff is the half width; the others follow in the
same way from their two fold points (ERS: folding puts one point on the other, the crease is the bisector).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from costing.sail.distance import Array, nearest

#: Each width's leech point: the two points that are folded onto each other, upper first.
FOLDS: dict[str, tuple[str, str]] = {
    "half_width": ("head", "clew"),
    "quarter_width": ("half_width", "clew"),
    "three_quarter_width": ("head", "half_width"),
    "upper_width": ("head", "three_quarter_width"),
}
FROM_THE_HEAD = ("aft_head", "upper_width", "three_quarter_width", "half_width", "quarter_width", "clew")
_SOLVED_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Frame:
    """What is fixed before the leech: head, aft head and clew point, and the luff as rows x, y; mm."""

    head: Array
    aft_head: Array
    clew: Array
    luff: Array


def leech_knots(frame: Frame, widths: dict[str, float]) -> dict[str, Array]:
    """Aft head point, leech points and clew point by name, from the head down; those of widths not given are left out."""
    found = {"head": frame.head, "clew": frame.clew, "aft_head": frame.aft_head}
    for name, (upper, lower) in FOLDS.items():
        if name in widths:
            found[name] = _on_bisector(found[upper], found[lower], widths[name], frame.luff)
    return {name: found[name] for name in FROM_THE_HEAD if name in found}


def _on_bisector(upper: Array, lower: Array, width: float, luff: Array) -> Array:
    """The point on the perpendicular bisector, aft of the luff, whose shortest distance to the luff is `width` (Newton)."""
    down = (lower - upper) / np.hypot(*(lower - upper))
    aft = np.array((-down[1], down[0]))
    point = (upper + lower) / 2
    for _ in range(40):
        distance, foot = nearest(point, luff)
        if abs(distance - width) < _SOLVED_MM:
            break
        away = (point - foot) / distance if distance > 0 else aft
        point = point + aft * (width - distance) / max(float(away @ aft), 0.1)
    return point
