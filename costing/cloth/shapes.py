"""The planner's own view of a part: its edge turned, grown by half the tool's gap, and moved to the corner of the strip."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import cast

import numpy as np
import shapely

from costing.cloth.grid import Floats
from costing.cloth.lay import Table
from costing.cloth.part import Part
from costing.sail.shape import Line

#: Curved edges carry more points than a lay needs; what dropping them may take off the edge, mm.
_THINNED_MM = 0.05
_FITS_MM = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """A part at one of its allowed angles: rings grown by `reach_mm`, lowest x and y at 0; dx, dy takes the part there."""

    angle: int
    rings: tuple[Floats, ...]
    width: float
    height: float
    dx: float
    dy: float


#: A sail's label and the part's id.
Copy = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Rider:
    """A copy that lies in a host's hole and goes with it.

    Its origin lies at x, y from that of the host, and it is turned by `angle`, while the host is turned by `host_angle`.
    """

    copy: Copy
    x: float
    y: float
    angle: int
    host_angle: int


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One kind of part to place, every (sail, part id) that looks exactly like it, and what goes with some of these."""

    turns: tuple[Turned, ...]
    area: float
    copies: tuple[Copy, ...]
    riders: Mapping[Copy, tuple[Rider, ...]] = field(default_factory=dict)

    @property
    def height(self) -> float:
        return max(t.height for t in self.turns)

    @property
    def least_height(self) -> float:
        """Across the roll at the turn that takes least of it."""
        return min(t.height for t in self.turns)

    @property
    def width(self) -> float:
        return max(t.width for t in self.turns)


def reach_mm(gap_mm: float) -> float:
    """By how much parts are grown: half the gap, and what thinning out the points may take off."""
    return gap_mm / 2 + _THINNED_MM


def pieces(wanted: Iterable[tuple[str, Part]], usable_width_mm: float, table: Table, *, keep_holes: bool) -> tuple[Piece, ...]:
    """The parts grouped by equal shape, in the order of their first appearance; of each part only the turns that fit."""
    groups: dict[tuple[Line, tuple[Line, ...], tuple[int, ...]], list[Copy]] = {}
    for sail, part in wanted:
        holes = part.holes if keep_holes else ()
        groups.setdefault((part.outer, holes, part.angles), []).append((sail, part.id))
    reach = reach_mm(table.gap_mm)
    length = table.length_mm - 2 * reach
    return tuple(
        _piece(outer, holes, _fitting(outer, angles, length, usable_width_mm), reach, copies)
        for (outer, holes, angles), copies in groups.items()
    )


def _fitting(outer: Line, angles: tuple[int, ...], length: float, width: float) -> tuple[int, ...]:
    """The turns at which a part is no longer and no higher than this."""
    return tuple(a for a in angles if (np.ptp(np.asarray(outer) @ turning(a), axis=0) <= (length + _FITS_MM, width + _FITS_MM)).all())


def _piece(outer: Line, holes: tuple[Line, ...], angles: tuple[int, ...], reach: float, copies: list[Copy]) -> Piece:
    # a mitred edge never comes nearer than the gap; a rounded one would, between the points of its arcs
    grown = shapely.Polygon(outer, holes).buffer(reach, join_style="mitre")
    turns = tuple(_turned(grown, angle) for angle in angles)
    return Piece(turns, float(grown.area), tuple(copies))


def _turned(grown: shapely.Polygon, angle: int) -> Turned:
    turn = turning(angle)
    # the extent is that of all points, so that an edge along the roll stays where it is
    edge = shapely.get_coordinates(grown.exterior) @ turn
    low, high = edge.min(axis=0), edge.max(axis=0)
    thin = cast(shapely.Polygon, grown.simplify(_THINNED_MM))
    rings = tuple(shapely.get_coordinates(ring)[:-1] @ turn - low for ring in (thin.exterior, *thin.interiors))
    return Turned(angle, rings, float(high[0] - low[0]), float(high[1] - low[1]), float(-low[0]), float(-low[1]))


def turning(angle: int) -> Floats:
    """What rows x, y are multiplied with to turn them; exact for quarter turns, so that an edge along the roll stays straight."""
    quarter = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}.get(angle % 360)
    c, s = quarter or (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    return np.array(((c, s), (-s, c)))
