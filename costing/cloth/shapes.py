"""The planner's own view of a part: its edge turned, grown by half the tool's gap, and moved to the corner of the strip."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import cast

import numpy as np
import shapely

from costing.cloth.grid import Floats
from costing.cloth.part import Part
from costing.sail.shape import Line

#: Curved edges carry more points than a lay needs; what dropping them may take off the edge, mm.
_THINNED_MM = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """A part at one of its allowed angles: rings grown by `reach_mm`, lowest x and y at 0; dx, dy takes the part there."""

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


def reach_mm(gap_mm: float) -> float:
    """By how much parts are grown: half the gap, and what thinning out the points may take off."""
    return gap_mm / 2 + _THINNED_MM


def pieces(wanted: Iterable[tuple[str, Part]], gap_mm: float, *, keep_holes: bool) -> tuple[Piece, ...]:
    """The parts grouped by equal shape, in the order of their first appearance."""
    groups: dict[tuple[Line, tuple[Line, ...], tuple[int, ...]], list[tuple[str, str]]] = {}
    for sail, part in wanted:
        holes = part.holes if keep_holes else ()
        groups.setdefault((part.outer, holes, part.angles), []).append((sail, part.id))
    return tuple(_piece(*alike, reach_mm(gap_mm), copies) for alike, copies in groups.items())


def _piece(outer: Line, holes: tuple[Line, ...], angles: tuple[int, ...], reach: float, copies: list[tuple[str, str]]) -> Piece:
    # a mitred edge never comes nearer than the gap; a rounded one would, between the points of its arcs
    grown = shapely.Polygon(outer, holes).buffer(reach, join_style="mitre")
    turns = tuple(_turned(grown, angle) for angle in angles)
    return Piece(turns, float(grown.area), tuple(copies))


def _turned(grown: shapely.Polygon, angle: int) -> Turned:
    c, s = _cos_sin(angle)
    turn = np.array(((c, s), (-s, c)))
    # the extent is that of all points, so that an edge along the roll stays where it is
    edge = shapely.get_coordinates(grown.exterior) @ turn
    low, high = edge.min(axis=0), edge.max(axis=0)
    thin = cast(shapely.Polygon, grown.simplify(_THINNED_MM))
    rings = tuple(shapely.get_coordinates(ring)[:-1] @ turn - low for ring in (thin.exterior, *thin.interiors))
    return Turned(angle, rings, float(high[0] - low[0]), float(high[1] - low[1]), float(-low[0]), float(-low[1]))


def _cos_sin(angle: int) -> tuple[float, float]:
    """Exact for quarter turns, so that a straight edge along the roll stays straight."""
    quarter = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}.get(angle % 360)
    return quarter or (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
