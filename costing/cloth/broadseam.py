"""Broadseam: the curve by which the lower edge of a panel is cut narrower towards the luff, for depth in the sail."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from costing.cloth.frame import Edges
from costing.cloth.grid import Floats
from costing.cloth.make import Seam
from costing.errors import problem

_STEP_MM = 40.0
#: What a curve may be longer than the straight edge that it is sewn to, mm.
_LONGER_MM = 0.5


@dataclass(frozen=True, slots=True)
class Broadseam:
    """`taken` mm at `luff` (s of the seam's luff end), run out as a parabola at `luff + run`; it fades to nothing at `high`.

    A point of the sewn sail moves up by taken x (1 - part of the run)^2 x (1 - part of the way from `low` to `high`). So the panel's
    luff stays in line with its neighbour's when the curved edge is sewn to the straight one.
    """

    taken: float
    luff: float
    run: float
    low: float
    high: float

    def moved(self, points: Floats) -> Floats:
        """Where points of the sewn panel lie on the cloth; rows s, h."""
        if not self.taken or not len(points):
            return points
        s, h = points.T
        part = np.clip((s - self.luff) / self.run, 0.0, 1.0)
        fade = 1 - np.clip((h - self.low) / (self.high - self.low), 0.0, 1.0)
        return np.column_stack((s, h + self.taken * (1 - part) ** 2 * fade))

    def ring(self, ring: Floats) -> Floats:
        """A whole edge moved, with points enough to follow the curve."""
        if not self.taken:
            return ring
        dense = shapely.segmentize(shapely.LinearRing(ring), _STEP_MM)
        moved = shapely.LinearRing(self.moved(np.asarray(dense.coords)))
        return np.asarray(moved.simplify(0.01).coords)[:-1]

    def line(self, left: float, right: float) -> Floats:
        """The sew line, not yet moved: points along the lower edge, near enough to each other for the curve."""
        count = max(2, int(np.ceil((right - left) / _STEP_MM)) + 1) if self.taken else 2
        return np.column_stack((np.linspace(left, right, count), np.full(count, self.low)))


def broadseam(edges: Edges, seam: Seam, high: float, path: str) -> Broadseam:
    """The broadseam of the panel above this seam, whose finished upper edge is at `high`; path: of the seam.

    Raises InputError when the curve is so sharp that it could not be sewn to a straight edge of the same length.
    """
    if not seam.broadseam_mm:
        return Broadseam(0.0, 0.0, 1.0, seam.height_mm, high)
    left, right = edges.across(seam.height_mm)
    run = seam.run_out * (right - left)
    # a parabola of depth b over a run r is longer than the run by 2 b^2 / (3 r), for b much less than r
    longer = 2 * seam.broadseam_mm**2 / (3 * run)
    if longer > _LONGER_MM:
        told = f"a broadseam of {seam.broadseam_mm:g} mm run out in {run:,.0f} mm makes the sew lines {longer:.2f} mm unequal"
        most = f"at most {_LONGER_MM:.2f} mm is sewn without a pucker: take less out, or run it out further"
        raise problem(f"{path}.broadseam_mm", "broadseam_too_sharp", f"{told}; {most}")
    return Broadseam(seam.broadseam_mm, left, run, seam.height_mm, high)
