"""What a gored sail is when its panels are sewn together, worked out from the cut pieces themselves."""

from __future__ import annotations

import math
from collections.abc import Iterator

from shapely import LinearRing, LineString, Point, Polygon, unary_union

from costing.cloth import Panel, Sew
from costing.sail import Outline
from costing.sail import Point as At
from tests.cloth.spinnakers import Spinnaker


def seam_pieces(sail_: Spinnaker) -> Iterator[tuple[Panel, Panel, Sew, Sew]]:
    """Every two panels that lie beside each other at a seam, with the sew line of each."""
    for panel in sail_.panels:
        for sew in panel.more_sews:
            if panel.mark < sew.to:
                other = sail_.panel(sew.to)
                (back,) = (s for s in other.more_sews if s.seam == sew.seam and s.to == panel.mark)
                yield panel, other, sew, back


def together(sail_: Spinnaker) -> LinearRing:
    """The edge of all panels together; where three meet, the roundings of floats would leave holes of nothing."""
    return unary_union([Polygon(p.finished).buffer(1e-3, join_style="mitre") for p in sail_.panels]).exterior


def half_width_points(cut: Outline) -> tuple[At, At]:
    """Where the creases that lay the head on tack and clew meet luff and leech."""
    found = []
    for edge, corner in ((cut.luff, cut.tack_point), (cut.leech, cut.clew_point)):
        head = cut.head_point
        mx, my = (head[0] + corner[0]) / 2, (head[1] + corner[1]) / 2
        dx, dy = corner[0] - head[0], corner[1] - head[1]
        crease = LineString([(mx - dy, my + dx), (mx + dy, my - dx)])
        found.append(crease.intersection(LineString(edge)))
    return (found[0].x, found[0].y), (found[1].x, found[1].y)


def across(shaped: Spinnaker, start: At, end: At) -> tuple[float, int]:
    """The length on the cloth of the straight line from start to end, panel by panel, and how many seams it crosses.

    In each panel the ends of the piece lie on its sew lines, at the same parts of them as on the sail.
    """
    way = LineString((start, end))
    length, panels, passed = 0.0, 0, LineString()
    for panel in shaped.panels:
        inside = Polygon(panel.finished).buffer(1e-3).intersection(way)
        if inside.length < 2 or passed.buffer(1e-2).intersection(inside).length > 1:  # along a seam it passes two panels at once
            continue
        passed = passed.union(inside)
        ends = [on_cloth(shaped, panel, p) for p in (inside.coords[0], inside.coords[-1])]
        length += math.dist(*ends)
        panels += 1
    return length, panels - 1


def on_cloth(shaped: Spinnaker, panel: Panel, point: At) -> At:
    """Where a point of the flat sail, on the edge of a panel, lies on its cloth."""
    for sew in panel.more_sews:
        line = LineString(sew.on_sail)
        if line.distance(Point(point)) < 0.01:
            found = LineString(sew.line).interpolate(line.project(Point(point)) / line.length, normalized=True)
            return found.x, found.y
    x, y = moved_with(panel, point)
    return x, y


def moved_with(panel: Panel, point: At) -> At:
    """Of an edge of the sail: turned and shifted as the straight line between the ends of one of the panel's seams is."""
    sew = panel.more_sews[0]
    (ax, ay), (bx, by) = sew.line[0], sew.line[-1]
    (cx, cy), (dx, dy) = sew.on_sail[0], sew.on_sail[-1]
    turn = math.atan2(by - ay, bx - ax) - math.atan2(dy - cy, dx - cx)
    c, s = math.cos(turn), math.sin(turn)
    return (point[0] - cx) * c - (point[1] - cy) * s + ax, (point[0] - cx) * s + (point[1] - cy) * c + ay
