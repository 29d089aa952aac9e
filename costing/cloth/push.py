"""An exact push to the left: every shape keeps its place across the roll and its order along it, and moves until it touches another.

Where two shapes share a height, one lies left of the other, and the one keeps a certain distance from the other. Over all pairs that is a
system of differences; its least solution is the longest path from the start of the roll to each shape.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from costing.cloth.grid import Floats, edges_of
from costing.cloth.shapes import Turned

#: Corners that are nearer than this across the roll count as level, and a slab must be thicker than a few of it.
_LEVEL_MM = 2e-6
#: Shapes that touch from above and below do not hold each other apart along the roll.
_GRAZE_MM = 1e-3
_SETTLED_MM = 1e-6


class Jammed(ValueError):
    """The shapes cannot lie in this order at these heights."""


def pushed_left(shapes: Sequence[Turned], x: Sequence[float], y: Sequence[float], *, reach_mm: float = np.inf) -> list[float]:
    """The least x for each shape's corner; small overlaps come apart by it.

    reach_mm: no shape moves left by more, so only pairs that are nearer than this are looked at. Raises Jammed when two shapes would each
    have to lie left of the other.
    """
    at = np.asarray(x)
    apart = _apart(shapes, at, np.asarray(y), reach_mm)
    least = np.maximum(0.0, at - reach_mm)
    found = least
    for _ in range(len(shapes) + 1):
        moved = np.maximum(least, (found[:, None] + apart).max(axis=0, initial=-np.inf))
        if (moved <= found + _SETTLED_MM).all():
            return [float(v) for v in found]
        found = np.maximum(found, moved)
    raise Jammed("the shapes hold each other in a ring")


def _apart(shapes: Sequence[Turned], x: Floats, y: Floats, reach_mm: float) -> Floats:
    """apart[i, j]: how far right of the corner of i that of j must lie at least; minus infinity where it is free."""
    apart = np.full((len(shapes), len(shapes)), -np.inf)
    width = np.array([s.width for s in shapes])
    top = y + np.array([s.height for s in shapes])
    shares = (np.minimum.outer(top, top) - np.maximum.outer(y, y)) > _GRAZE_MM
    near = np.maximum.outer(x, x) - np.minimum.outer(x + width, x + width) < reach_mm
    edges = [_rising(s) for s in shapes]
    for i, j in np.argwhere(np.triu(shares & near, 1)).tolist():
        low, high = max(y[i], y[j]) + _GRAZE_MM / 2 - y[i], min(top[i], top[j]) - _GRAZE_MM / 2 - y[i]
        apart[i, j], apart[j, i] = _pair(edges[i], edges[j], float(x[j] - x[i]), float(y[j] - y[i]), low, high)
    return apart


def _rising(shape: Turned) -> Floats:
    """The edges of the shape that are not level, each from its lower end; rows x0, y0, x1, y1."""
    edges = edges_of(shape.rings)
    up = edges[:, 3] > edges[:, 1]
    return np.where(up[:, None], edges, edges[:, [2, 3, 0, 1]])[np.abs(edges[:, 3] - edges[:, 1]) > _LEVEL_MM].T


def _pair(a: Floats, b: Floats, right: float, up: float, low: float, high: float) -> tuple[float, float]:
    """What keeps b right of a, and a right of b, between these levels, where b's corner lies at (right, up) from that of a."""
    levels = np.concatenate(([low, high], a[1], a[3], b[1] + up, b[3] + up))
    levels = np.unique(levels[(levels >= low) & (levels <= high)])
    left_a, right_a = _spans(a, levels)
    left_b, right_b = _spans(b, levels - up)
    mid_a, mid_b = _middle(left_a, right_a), _middle(left_b, right_b)
    beyond = mid_a[:, :, None] < mid_b[:, None, :] + right  # nan compares false, and stays out below
    keeps_b = (right_a[:, :, :, None] - left_b[:, :, None]).max(axis=0)
    keeps_a = (right_b[:, :, None] - left_a[:, :, :, None]).max(axis=0)
    known = ~np.isnan(mid_a)[:, :, None] & ~np.isnan(mid_b)[:, None, :]
    return (
        float(np.where(known & beyond, keeps_b, -np.inf).max(initial=-np.inf)),
        float(np.where(known & ~beyond, keeps_a, -np.inf).max(initial=-np.inf)),
    )


def _middle(left: Floats, right: Floats) -> Floats:
    return np.asarray((left + right).mean(axis=0) / 2)


def _spans(edges: Floats, levels: Floats) -> tuple[Floats, Floats]:
    """left[end, slab, k] and right: the k-th stretch of the shape at both ends of each slab between two levels, lower end first; NaN: none.

    No corner of the shape may lie inside a slab; slabs without thickness are left out.
    """
    x0, y0, x1, y1 = edges
    low, high = levels[:-1, None], levels[1:, None]
    thick = high - low > 4 * _LEVEL_MM
    crosses: npt.NDArray[np.bool_] = thick & (y0 <= low + _LEVEL_MM) & (y1 >= high - _LEVEL_MM)
    slope = (x1 - x0) / (y1 - y0)
    ends = np.stack((x0 + (low - y0) * slope, x0 + (high - y0) * slope))
    order = np.argsort(np.where(crosses, ends.sum(axis=0), np.inf), axis=1)
    count = int(crosses.sum(axis=1).max(initial=0))
    order = order[:, : count + count % 2]
    sorted_ends = np.take_along_axis(np.where(crosses, ends, np.nan), order[None], axis=2)
    return sorted_ends[:, :, 0::2], sorted_ends[:, :, 1::2]
