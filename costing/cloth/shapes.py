"""The planner's own view of a part: its edge turned, grown by half the tool's gap, and moved to the corner of the strip."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely

from costing.cloth.grid import Floats
from costing.cloth.part import Part
from costing.sail.shape import Line


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """A part at one of its allowed angles: rings grown by half the gap, lowest x and y at 0; dx, dy takes the part there."""

    angle: int
    rings: tuple[Floats, ...]
    width: float
    height: float
    dx: float
    dy: float


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One kind of part to place, and every (sail, part id) that looks exactly like it."""

    turns: tuple[Turned, ...]
    area: float
    copies: tuple[tuple[str, str], ...]

    @property
    def height(self) -> float:
        return max(t.height for t in self.turns)

    @property
    def width(self) -> float:
        return max(t.width for t in self.turns)


def pieces(wanted: Iterable[tuple[str, Part]], gap_mm: float, *, keep_holes: bool) -> tuple[Piece, ...]:
    """The parts grouped by equal shape, in the order of their first appearance."""
    groups: dict[tuple[Line, tuple[Line, ...], tuple[int, ...]], list[tuple[str, str]]] = {}
    for sail, part in wanted:
        holes = part.holes if keep_holes else ()
        groups.setdefault((part.outer, holes, part.angles), []).append((sail, part.id))
    return tuple(_piece(outer, holes, angles, gap_mm, copies) for (outer, holes, angles), copies in groups.items())


def _piece(outer: Line, holes: tuple[Line, ...], angles: tuple[int, ...], gap_mm: float, copies: list[tuple[str, str]]) -> Piece:
    # a mitred edge never comes nearer than the gap; a rounded one would, between the points of its arcs
    grown = shapely.Polygon(outer, holes).buffer(gap_mm / 2, join_style="mitre")
    rings = [np.asarray(ring.coords, dtype=np.float64)[:-1] for ring in (grown.exterior, *grown.interiors)]
    return Piece(tuple(_turned(rings, angle) for angle in angles), float(grown.area), tuple(copies))


def _turned(rings: list[Floats], angle: int) -> Turned:
    c, s = _cos_sin(angle)
    turn = np.array(((c, s), (-s, c)))
    turned = [ring @ turn for ring in rings]
    low, high = turned[0].min(axis=0), turned[0].max(axis=0)
    moved = tuple(ring - low for ring in turned)
    return Turned(angle, moved, float(high[0] - low[0]), float(high[1] - low[1]), float(-low[0]), float(-low[1]))


def _cos_sin(angle: int) -> tuple[float, float]:
    """Exact for quarter turns, so that a straight edge along the roll stays straight."""
    quarter = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}.get(angle % 360)
    return quarter or (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
