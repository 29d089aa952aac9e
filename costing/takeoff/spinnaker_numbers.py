"""Where a sail number stands on a spinnaker: square to its centreline, in the middle, both sides at one place.

Wholly below an arc round the head point with 40 % of the foot median for its radius and, if there is room, wholly above one with 60 %
(Racing Rules of Sailing, Appendix G1.3, from memory: to be checked against the current text and the class rules).
"""

from __future__ import annotations

import math
from itertools import pairwise

from costing.sail.measure import foot_middle
from costing.sail.shape import Line, Outline, Point

BELOW, ABOVE = 0.40, 0.60  # of the foot median
SOURCE = "RRS Appendix G1.2 (heights), G1.3 (place on a spinnaker, from memory, to be checked against the class rules)"

Base = tuple[Point, Point]


def row(sail: Outline, height: float, edge: float, width: float) -> Base | None:
    """The base line of the row of characters, sail coordinates, from the luff's side; None: it finds no place between the edges."""
    upright = _Upright(sail)
    median = math.dist(sail.head_point, foot_middle(sail))
    highest = BELOW * median  # the row's upper edge is nearest to the head in its middle
    room = (ABOVE * median) ** 2 - (width / 2) ** 2
    lowest = math.sqrt(room) - height if room > 0 else 0.0  # its lower corners are farthest from it
    top = (highest + lowest) / 2 if lowest > highest else highest
    if any(span < width / 2 + edge for down in (top, top + height) for span in upright.spans(down)):
        return None
    return upright.back((-width / 2, top + height)), upright.back((width / 2, top + height))


class _Upright:
    """The sail with its head point at the origin, its centreline down along +y and the leech towards +x."""

    def __init__(self, sail: Outline) -> None:
        (tx, ty), (cx, cy) = sail.tack_point, sail.clew_point
        self.head = sail.head_point
        dx, dy = (tx + cx) / 2 - self.head[0], (ty + cy) / 2 - self.head[1]
        self.down = (dx / math.hypot(dx, dy), dy / math.hypot(dx, dy))
        self.luff, self.leech = ([self._turned(p) for p in line] for line in (sail.luff, sail.leech))

    def spans(self, down: float) -> tuple[float, float]:
        """How far the sail reaches to both sides of its centreline so far below the head."""
        return -_crossing(self.luff, down), _crossing(self.leech, down)

    def back(self, p: Point) -> Point:
        """To sail coordinates."""
        (x, y), (ux, uy) = p, self.down
        return self.head[0] + y * ux - x * uy, self.head[1] + y * uy + x * ux

    def _turned(self, p: Point) -> Point:
        x, y, (ux, uy) = p[0] - self.head[0], p[1] - self.head[1], self.down
        return y * ux - x * uy, x * ux + y * uy


def _crossing(line: list[Point] | Line, down: float) -> float:
    """Where a line passes a height; 0 where it does not."""
    for (x0, y0), (x1, y1) in pairwise(line):
        if min(y0, y1) <= down <= max(y0, y1) and y0 != y1:
            return x0 + (x1 - x0) * (down - y0) / (y1 - y0)
    return 0.0
