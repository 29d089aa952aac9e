"""Where a name stands best inside a part: as large as it can, along the page, across it, or along the part."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, hypot, radians, sin

from costing.sail import Line, Point
from loft.documents import lettering
from loft.documents.drawing import Letters, bounds, reading_angle
from loft.documents.typefaces import BOLD

_CAPITAL = 0.72  # marks are capitals and figures: they stand this much of the letter height
_LEVEL_PREFERRED = 1.06  # a level name may be this much smaller than a turned one

Reach = tuple[float, float]


def label(ring: Line, name: str, font: str, largest: float) -> Letters:
    """The name inside a ring of paper points, as large as it fits, at most `largest` mm."""
    best_size, best_at, best_angle = 0.0, ring[0], 0.0
    for angle, weight in ((0.0, _LEVEL_PREFERRED), (90.0, 1.0), (_longest_edge_angle(ring), 1.0)):
        size, at = _best_spot(_turned(ring, -angle), name, largest)
        if size * weight > best_size * 1.001:
            best_size, best_at, best_angle = size * weight, _turned((at,), angle)[0], angle
    size, turn = min(best_size, largest), radians(best_angle)
    drop = size * _CAPITAL / 2  # from the middle of the letters to their base line
    return Letters(name, (best_at[0] + drop * sin(turn), best_at[1] - drop * cos(turn)), size, "middle", best_angle, font)


def clipped(ring: Line, low: float, high: float) -> Line:
    """The ring between two upright lines (Sutherland and Hodgman's clipping, 1974)."""
    for edge, sign in ((low, 1.0), (high, -1.0)):
        kept: list[Point] = []
        for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
            inside, next_inside = (x0 - edge) * sign >= 0, (x1 - edge) * sign >= 0
            if inside:
                kept.append((x0, y0))
            if inside != next_inside:
                kept.append((edge, y0 + (edge - x0) / (x1 - x0) * (y1 - y0)))
        ring = tuple(kept)
    return ring


def _longest_edge_angle(ring: Line) -> float:
    a, b = max(zip(ring, ring[1:] + ring[:1], strict=True), key=lambda e: hypot(e[1][0] - e[0][0], e[1][1] - e[0][1]))
    return reading_angle(a, b)


def _turned(points: Line, angle: float) -> Line:
    c, s = cos(radians(angle)), sin(radians(angle))
    return tuple((x * c - y * s, x * s + y * c) for x, y in points)


def _best_spot(ring: Line, name: str, largest: float) -> tuple[float, Point]:
    """The largest letter height for a name level inside a ring and the middle of its place; of equal places the roomiest one."""
    x0, y0, x1, y1 = bounds(ring)
    unit = lettering.width(name, 1.0, BOLD)
    best = (0.0, 0.0, ((x0 + x1) / 2, (y0 + y1) / 2))
    for i in range(1, 16):
        y = y0 + (y1 - y0) * i / 16
        clear = 2 * min(y - y0, y1 - y)
        half = min(clear * 0.8, largest * _CAPITAL) / 2
        for low, high in _common(runs(ring, y - half), runs(ring, y), runs(ring, y + half)):
            size = min(largest, 0.88 * (high - low) / unit, 0.8 * clear / _CAPITAL)
            best = max(best, (size, min(high - low, 30.0) + min(clear, 30.0), ((low + high) / 2, y)))
    return best[0], best[2]


def _common(*levels: Sequence[Reach]) -> Sequence[Reach]:
    """What is inside at every level."""
    common = levels[0]
    for level in levels[1:]:
        common = [(max(a, c), min(b, d)) for a, b in common for c, d in level if min(b, d) > max(a, c)]
    return common


def runs(ring: Line, y: float) -> list[Reach]:
    """Where the horizontal at y is inside the ring."""
    crossings = sorted(
        x0 + (y - y0) / (y1 - y0) * (x1 - x0) for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True) if (y0 > y) != (y1 > y)
    )
    return list(zip(crossings[::2], crossings[1::2], strict=False))
