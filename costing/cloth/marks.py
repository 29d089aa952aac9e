"""What the pen draws on a panel before it is cut."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import shapely

from costing.cloth.features import PANE_BORDER_MM, pane, pocket_line, ring_point
from costing.cloth.frame import Edges, outward_mm
from costing.cloth.grid import Floats
from costing.cloth.make import EdgeMethod, Make
from costing.cloth.part import Mark
from costing.sail.shape import Line

_STRIKE_UP_EVERY_MM = 500.0
_STRIKE_UP_MM = 15.0
_RING_CROSS_MM = 12.0

_OnRoll = Callable[[Floats], Line]


def panel_marks(
    edges: Edges, make: Make, mark: str, span: tuple[float, float], sews: tuple[Floats, Floats], on_roll: _OnRoll
) -> Iterator[Mark]:
    """Every mark of the panel between two heights; `sews` are its sew lines, `on_roll` takes points of the sewn sail to the cloth."""
    lower, upper = sews
    if len(lower):
        yield Mark("sew", on_roll(lower))
        yield from _strike_ups(lower, mark, 1.0, on_roll)
    if len(upper):
        yield Mark("sew", on_roll(upper))
        yield from _strike_ups(upper, mark, -1.0, on_roll)
    inside = edges.strip(*span, allowances=False)
    yield from _edge_lines(edges, make, span, on_roll)
    yield from _feature_marks(edges, make, span, on_roll)
    middle = inside.representative_point()
    yield Mark("mark", on_roll(np.array(((middle.x, middle.y),))), mark)


def _strike_ups(sew: Floats, mark: str, inward: float, on_roll: _OnRoll) -> Iterator[Mark]:
    """Short ticks from the sew line into the panel, at equal parts of the seam: the same on both panels."""
    left, right = sew[0, 0], sew[-1, 0]
    parts = max(2, round((right - left) / _STRIKE_UP_EVERY_MM))
    for k in range(1, parts):
        s, h = left + (right - left) * k / parts, sew[0, 1]
        yield Mark("strike-up", on_roll(np.array(((s, h), (s, h + inward * _STRIKE_UP_MM)))), str(k))


def _edge_lines(edges: Edges, make: Make, span: tuple[float, float], on_roll: _OnRoll) -> Iterator[Mark]:
    """The finished edge, where cloth stands outside it: a fold line, or the line to fair to."""
    for name in ("luff", "leech", "foot"):
        edge = {"luff": make.luff, "leech": make.leech, "foot": make.foot}[name]
        if not outward_mm(edge):
            continue
        kind = "fold" if edge.method is EdgeMethod.FOLDED else "edge"
        for line in _between(edges.lines[name], span):
            yield Mark(kind, on_roll(line), name)


def _feature_marks(edges: Edges, make: Make, span: tuple[float, float], on_roll: _OnRoll) -> Iterator[Mark]:
    for pocket in make.pockets:
        for line in _between(pocket_line(edges, pocket), span):
            yield Mark("pocket", on_roll(line), pocket.name)
    for window in make.windows:
        for kind, inset in (("window", 0.0), ("hole", PANE_BORDER_MM)):
            outline = np.asarray(pane(edges, window, inset).exterior.coords)
            for line in _between(outline, span):
                yield Mark(kind, on_roll(line), window.name)
    for patch in make.edge_patches:
        s, h = ring_point(edges, patch)
        if span[0] <= h < span[1]:
            d = _RING_CROSS_MM
            cross = np.array(((s - d, h), (s + d, h), (s, h), (s, h + d), (s, h - d)))
            yield Mark("ring", on_roll(cross), patch.name)


def _between(line: Floats, span: tuple[float, float]) -> Iterator[Floats]:
    """The pieces of a line between two heights."""
    band = shapely.box(-1e5, span[0], 1e5, span[1])
    merged = shapely.line_merge(shapely.LineString(line).intersection(band))
    for piece in shapely.get_parts(merged):
        if piece.geom_type == "LineString" and piece.length > 1e-6:
            yield np.asarray(piece.coords)
