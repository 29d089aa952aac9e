"""Lines of the finished sail on its panels as they lie on the roll: what is drawn with the pen after a design is known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import atan2, cos, dist, sin

import shapely

from costing.cloth.part import Panel
from costing.sail.shape import Line, Point

#: Shorter pieces are no line that anybody could work by, mm.
_LEAST_MM = 1.0


@dataclass(frozen=True, slots=True)
class _Placing:
    """Where a panel lies on the roll: a point of the sail is turned by `angle` about `about`, which comes to lie at `to`."""

    angle: float
    about: Point
    to: Point

    def on_roll(self, at: Point) -> Point:
        x, y = at[0] - self.about[0], at[1] - self.about[1]
        c, s = cos(self.angle), sin(self.angle)
        return (self.to[0] + c * x - s * y, self.to[1] + s * x + c * y)


def on_panels(panels: Sequence[Panel], line: Line) -> Mapping[str, tuple[Line, ...]]:
    """The pieces of a line on the sail (sail coordinates, mm) by panel mark, in the panel's roll coordinates.

    A panel lies as its seam that carries no shaping, so what its other seam draws in (up to the broadseam) is not in its line.
    """
    found: dict[str, tuple[Line, ...]] = {}
    for place, panel in enumerate(panels):
        here = shapely.intersection(shapely.LineString(line), shapely.Polygon(panel.finished))
        pieces = [piece for piece in shapely.get_parts(here) if piece.geom_type == "LineString" and piece.length > _LEAST_MM]
        placing = _placing(panels, place) if pieces else None
        if placing is not None:
            found[panel.mark] = tuple(tuple(placing.on_roll((x, y)) for x, y in piece.coords) for piece in pieces)
    return found


def _placing(panels: Sequence[Panel], place: int) -> _Placing | None:
    panel = panels[place]
    known = [(sew.on_sail, sew.line) for sew in panel.more_sews if sew.on_sail]
    if not known and panel.upper_sew and place + 1 < len(panels):
        known = [(_seam(panel, panels[place + 1]), panel.upper_sew)]
    if not known and panel.lower_sew and place > 0:
        known = [(_seam(panels[place - 1], panel), panel.lower_sew)]
    ends = [(sail[0], sail[-1], roll[0], roll[-1]) for sail, roll in known if len(sail) > 1]
    if not ends:
        return None
    a, b, c, d = max(ends, key=lambda each: dist(each[0], each[1]))
    ways = [_between(a, b, c, d), *([] if panel.more_sews and panel.more_sews[0].on_sail else [_between(b, a, c, d)])]
    middle, cut = shapely.Polygon(panel.finished).centroid, shapely.Polygon(panel.cut).centroid
    return min(ways, key=lambda way: dist(way.on_roll((middle.x, middle.y)), (cut.x, cut.y)))


def _between(a: Point, b: Point, c: Point, d: Point) -> _Placing:
    """The middle of a - b comes to lie on the middle of c - d, and their directions are one."""
    angle = atan2(d[1] - c[1], d[0] - c[0]) - atan2(b[1] - a[1], b[0] - a[0])
    return _Placing(angle, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), ((c[0] + d[0]) / 2, (c[1] + d[1]) / 2))


def _seam(lower: Panel, upper: Panel) -> Line:
    """The seam of two neighbours on the sail, from end to end; empty where they have none."""
    shared = shapely.line_merge(shapely.intersection(shapely.Polygon(lower.finished).exterior, shapely.Polygon(upper.finished).exterior))
    lines = [piece for piece in shapely.get_parts(shared) if piece.geom_type == "LineString"]
    longest = max(lines, key=lambda piece: float(piece.length), default=None)
    return () if longest is None else tuple((float(x), float(y)) for x, y in longest.coords)
