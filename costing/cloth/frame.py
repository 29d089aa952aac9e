"""The cutter's frame of a sail, and the outline with its allowances in it.

s runs along the seams (warp, along the roll), h across them (fill, across the roll), both from the clew point; in a cross-cut s goes from
luff to leech and h along the line clew point - head point. A frame is the sail's picture turned, never mirrored: a panel laid out in it
shows the PORT side of the sail, so "face up" on the table means that the face of the cloth becomes the port side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from costing.cloth.grid import Floats
from costing.cloth.make import Edge, Make
from costing.sail.shape import Line, Outline, Point

_FAR = 1e5
_ON_EDGE_MM = 0.5


@dataclass(frozen=True, slots=True)
class Frame:
    """Origin at the clew point; (ux, uy) is the direction of h in the sail: to the head point, where nothing else is said."""

    clew: Point
    ux: float
    uy: float

    def to_roll(self, line: Line) -> Floats:
        """Sail coordinates -> rows s, h."""
        x, y = (np.asarray(line, dtype=np.float64).reshape(-1, 2) - np.asarray(self.clew)).T
        return np.column_stack((x * self.uy - y * self.ux, x * self.ux + y * self.uy))

    def to_sail(self, points: Floats) -> Line:
        """Rows s, h -> sail coordinates."""
        s, h = np.asarray(points, dtype=np.float64).reshape(-1, 2).T
        x = self.clew[0] + s * self.uy + h * self.ux
        y = self.clew[1] - s * self.ux + h * self.uy
        return as_line(np.column_stack((x, y)))


def frame_of(outline: Outline) -> Frame:
    """The frame of this outline: h from the clew point to the head point."""
    return frame_towards(outline, outline.head_point)


def frame_towards(outline: Outline, point: Point) -> Frame:
    """A frame of this outline whose h runs from the clew point to a point of the sail."""
    clew = np.asarray(outline.clew_point)
    ux, uy = (np.asarray(point) - clew) / np.linalg.norm(np.asarray(point) - clew)
    return Frame(outline.clew_point, float(ux), float(uy))


def from_frame(points: Floats, one: Frame, other: Frame) -> Floats:
    """Rows s, h of one frame in another of the same sail."""
    return points if one == other else other.to_roll(one.to_sail(points))


def as_line(points: Floats) -> Line:
    return tuple((x, y) for x, y in points.tolist())


def ring_of(shape: shapely.Polygon) -> Floats:
    """The outer edge without a repeated last point, anticlockwise."""
    return np.asarray(shapely.geometry.polygon.orient(shape).exterior.coords, dtype=np.float64)[:-1]


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """The sail in the frame: its four edges, the area inside them, and that area with the making allowances added outward.

    Of a sail in two halves the areas are those of one half, and `half` is everything on its side of the seam between them.
    """

    frame: Frame
    lines: dict[str, Floats]
    finished: shapely.Polygon
    with_allowances: shapely.Polygon
    half: shapely.Polygon | None = None

    @property
    def top(self) -> float:
        return float(self.finished.bounds[3])

    def strip(self, low: float, high: float, *, allowances: bool) -> shapely.Polygon:
        """The part of the sail between two heights; the largest piece where a curved edge leaves crumbs."""
        band = shapely.box(-_FAR, low, _FAR, high)
        cut = (self.with_allowances if allowances else self.finished).intersection(band)
        largest: shapely.Polygon = max(shapely.get_parts(cut), key=lambda piece: piece.area)
        return largest

    def across(self, height: float) -> tuple[float, float]:
        """Where a line along the threads at this height enters the finished sail and leaves it (in a cross-cut: luff or foot, leech)."""
        cut = self.finished.intersection(shapely.LineString(((-_FAR, height), (_FAR, height))))
        left, _, right, _ = cut.bounds
        return float(left), float(right)

    def edge_at(self, s: float, h: float) -> str:
        """The name of the edge that this point lies on; the seam between two halves where it lies on none."""
        at = shapely.Point(s, h)
        away = {name: shapely.LineString(line).distance(at) for name, line in self.lines.items() if len(line) > 1}
        name = min(away, key=lambda n: away[n])
        return name if self.half is None or away[name] < _ON_EDGE_MM else "mitre"


def edges_in_frame(outline: Outline, make: Make, frame: Frame | None = None) -> Edges:
    """The outline in the cutter's frame, with the allowances of the pattern; the head is cut to the line (headboard or tape covers it)."""
    frame = frame or frame_of(outline)
    lines = {name: frame.to_roll(getattr(outline, name)) for name in ("luff", "head", "leech", "foot")}
    outward = {"luff": outward_mm(make.luff), "head": 0.0, "leech": outward_mm(make.leech), "foot": outward_mm(make.foot)}
    sides = [(lines[name], outward[name]) for name in lines if len(lines[name]) > 1]
    grown = shapely.Polygon(grown_ring(sides))
    return Edges(frame, lines, shapely.Polygon(frame.to_roll(outline.ring)), grown)


def outward_mm(edge: Edge) -> float:
    return edge.allowance_mm + edge.left_full_mm


def grown_ring(sides: Sequence[tuple[Floats, float]]) -> Floats:
    """A ring of edges, clockwise, each moved outward by its own distance; neighbours are lengthened or shortened until they meet."""
    moved = [moved_left(line, distance) for line, distance in sides]
    corners: list[Floats] = []
    for i in range(len(moved)):
        after = (i + 1) % len(moved)
        moved[i], moved[after], corner = _joined(moved[i], moved[after])
        corners.append(corner)
    return np.vstack([part for line, corner in zip(moved, corners, strict=True) for part in (line[1:-1], corner)])


def moved_left(line: Floats, distance: float) -> Floats:
    """The line moved to its left, mitred at its points."""
    step = np.diff(line, axis=0)
    step = step[np.hypot(step[:, 0], step[:, 1]) > 1e-9]
    line = np.vstack((line[:1], line[0] + np.cumsum(step, axis=0)))
    normal = np.column_stack((-step[:, 1], step[:, 0])) / np.hypot(step[:, 0], step[:, 1])[:, None]
    before, after = np.vstack((normal[:1], normal)), np.vstack((normal, normal[-1:]))
    mitre = (before + after) / (1 + np.sum(before * after, axis=1))[:, None]
    return np.asarray(line + distance * mitre)


def _joined(before: Floats, after: Floats) -> tuple[Floats, Floats, Floats]:
    """Two edges less the points past their meeting, and where they meet when lengthened; both ends if they hardly turn."""
    while True:
        d, e, between = before[-1] - before[-2], after[1] - after[0], after[0] - before[-1]
        cross = d[0] * e[1] - d[1] * e[0]
        if abs(cross) < 0.05 * np.linalg.norm(d) * np.linalg.norm(e):
            return before, after, np.vstack((before[-1], after[0]))
        along_before = (between[0] * e[1] - between[1] * e[0]) / cross
        along_after = (between[0] * d[1] - between[1] * d[0]) / cross
        if along_before < -1 and len(before) > 2:
            before = before[:-1]
        elif along_after > 1 and len(after) > 2:
            after = after[1:]
        else:
            return before, after, np.asarray((before[-1] + along_before * d)[None, :])
