"""A tape over the cut panels: lengths of the sewn sail, found from what the pen draws on each panel and nothing else."""

from __future__ import annotations

import math

from shapely import LineString, Point, Polygon, line_merge

from costing.cloth import Panel
from costing.sail import Point as SailPoint
from tests.cloth.skerling_main import Main


def tape(main: Main, line: LineString) -> float:
    """The length of a line of the sail over the cut panels, straight in each, found from their drawn sew lines and edges alone."""
    total = 0.0
    for panel in main.panels:
        piece = line.intersection(Polygon(panel.finished).buffer(0.01))
        if piece.length > 1.0:
            start, end = (on_cloth(main, panel, Point(p)) for p in (piece.coords[0], piece.coords[-1]))
            total += math.dist(start, end)
    return total


def on_cloth(main: Main, panel: Panel, point: Point) -> SailPoint:
    """Where a point of a finished panel's edge lies on the roll: as far along the same sew line or edge."""
    found = min(drawn_lines(main, panel), key=lambda pair: pair[0].distance(point))
    assert found[0].distance(point) < 0.5, panel.mark
    on_sail, on_roll = found
    x, y = on_roll.interpolate(on_sail.project(point) / on_sail.length, normalized=True).coords[0]
    return x, y


def drawn_lines(main: Main, panel: Panel) -> list[tuple[LineString, LineString]]:
    """Every sew line and edge of a panel: in the sail and on the roll, both in one direction."""
    sews, index = [], main.panels.index(panel)
    for beside, line, names in ((index - 1, panel.lower_sew, panel.lower_ends), (index + 1, panel.upper_sew, panel.upper_ends)):
        if line:
            other = Polygon(main.panels[beside].finished)
            near = [p for p in panel.finished if other.distance(Point(p)) < 0.01]
            ends = max(((p, q) for p in near for q in near), key=lambda e: math.dist(*e))
            sews.append((directed(main, ends, names), LineString(line)))
    for sew in panel.more_sews:
        far = sorted(sew.on_sail, key=lambda p: -math.dist(p, main.cut.clew_point))
        sews.append((LineString((far[0], far[-1])), LineString(sew.line)))
    edges = []
    for mark in (m for m in panel.marks if m.kind in ("edge", "fold")):
        whole = LineString(getattr(main.cut, mark.text)).intersection(Polygon(panel.finished).buffer(0.01))
        on_sail, on_roll = (line_merge(whole) if whole.geom_type != "LineString" else whole), LineString(mark.line)
        seam, sew = sews[0]
        ahead = [Point(a.coords[0]).distance(near) < Point(a.coords[-1]).distance(near) for a, near in ((on_sail, seam), (on_roll, sew))]
        edges.append((on_sail, on_roll if ahead[0] == ahead[1] else on_roll.reverse()))
    return sews + edges


def directed(main: Main, ends: tuple[SailPoint, SailPoint], names: tuple[str, str]) -> LineString:
    """A seam in the sail from the edge that its sew line starts on."""
    index = 0 if names[0] != "mitre" else 1
    edge = LineString(getattr(main.cut, names[index]))
    first = min(ends, key=lambda p: edge.distance(Point(p)))
    last = ends[1] if first == ends[0] else ends[0]
    return LineString((first, last) if index == 0 else (last, first))
