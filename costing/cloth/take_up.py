"""What sewing draws in along any line of a sail: every seam that crosses it takes its share, the more the squarer it crosses."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

import numpy as np

from costing.sail import leech_points
from costing.sail.distance import nearest
from costing.sail.shape import Outline, Point

Segment = tuple[Point, Point]

_EDGE_BESIDE = 0.03  # of its length


def size_lines(sail: Outline) -> dict[str, Segment]:
    """The straight line that each size of the sail is measured along: edges, and widths from their leech point to the luff."""
    luff = np.array(sail.luff)
    lines = {
        "luff_length": (sail.tack_point, sail.head_point),
        "leech_length": (sail.clew_point, sail.head_point),
        "foot_length": (sail.clew_point, sail.tack_point),
    }
    for name, at in leech_points(sail).items():
        x, y = nearest(np.array(at), luff)[1]
        lines[name] = (at, (float(x), float(y)))
    return lines


def all_drawn_in(sail: Outline, seams: Iterable[Segment], per_seam_mm: float) -> Mapping[str, float]:
    """By how much the seams shorten every size that they cross; mm, by measurement name."""
    seams = tuple(seams)
    found = {}
    for name, line in size_lines(sail).items():
        # a hollow or round edge stands beside the straight line of its length, and seams end on the edge
        beside = _EDGE_BESIDE * math.dist(*line) if name.endswith("_length") else 0.0
        found[name] = per_seam_mm * sum(_squareness(line, seam) for seam in seams if _cross(line, seam, beside))
    return found


def _squareness(line: Segment, seam: Segment) -> float:
    """The sine of the angle between two lines."""
    (ax, ay), (bx, by) = _way(line), _way(seam)
    return abs(ax * by - ay * bx) / (math.hypot(ax, ay) * math.hypot(bx, by))


def _cross(line: Segment, seam: Segment, beside: float) -> bool:
    """Whether two lines meet, a seam that ends on the line included, but not one that ends on the line's own end: a mitre at the clew."""
    (ax, ay), (bx, by) = _way(line), _way(seam)
    turn = ax * by - ay * bx
    if not turn:
        return False
    dx, dy = seam[0][0] - line[0][0], seam[0][1] - line[0][1]
    along, across = (dx * by - dy * bx) / turn, (dx * ay - dy * ax) / turn
    slack = beside / math.hypot(bx, by) + 1e-9
    return 1e-6 < along < 1 - 1e-6 and -slack <= across <= 1 + slack


def _way(line: Segment) -> tuple[float, float]:
    return line[1][0] - line[0][0], line[1][1] - line[0][1]
