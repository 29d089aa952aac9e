"""What the pen draws on a panel before it is cut."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import shapely

from costing.cloth.bank import Bank
from costing.cloth.features import PANE_BORDER_MM, pane, pocket_line, ring_point
from costing.cloth.frame import Edges, from_frame, outward_mm
from costing.cloth.grid import Floats
from costing.cloth.make import EdgeMethod, Make
from costing.cloth.part import Mark
from costing.sail.shape import Line

_STRIKE_UP_EVERY_MM = 500.0
_STRIKE_UP_MM = 15.0
_RING_CROSS_MM = 12.0
_CURVE_STEP_MM = 100.0
_HANK_CROSS_MM = 5.0
_UP = np.array((0.0, 1.0))

_OnRoll = Callable[[Floats], Line]


def panel_marks(
    bank: Bank, make: Make, mark: str, span: tuple[float, float], sews: tuple[Floats, Floats], on_roll: _OnRoll
) -> Iterator[Mark]:
    """Every mark of the panel between two heights; `sews` are its sew lines, `on_roll` takes points of the sewn sail to the cloth."""
    for sew, inward in zip(sews, (1.0, -1.0), strict=True):
        if len(sew):
            yield Mark("sew", on_roll(sew))
            yield from strike_ups(sew, sew, inward * _UP, on_roll)
    yield from _edge_lines(bank.edges, make, span, on_roll)
    yield from _feature_marks(bank, make, span, on_roll)
    middle = bank.edges.strip(*span, allowances=False).representative_point()
    yield Mark("mark", on_roll(np.array(((middle.x, middle.y),))), mark)


def strike_ups(seam: Floats, piece: Floats, inward: Floats, on_roll: _OnRoll, within: shapely.Polygon | None = None) -> Iterator[Mark]:
    """Short ticks from the sew line into the panel, at equal parts of the straight seam: the same on both sides of it.

    piece: the part of the seam that this panel has; a tick at its very end belongs to nobody. within: where ticks end, near a corner.
    """
    whole = float(np.hypot(*(seam[-1] - seam[0])))
    along = (seam[-1] - seam[0]) / whole
    first, last = ((piece[i] - seam[0]) @ along for i in (0, -1))
    parts = max(2, round(whole / _STRIKE_UP_EVERY_MM))
    for k in range(1, parts):
        if first < whole * k / parts < last:
            at = seam[0] + (seam[-1] - seam[0]) * k / parts
            yield Mark("strike-up", on_roll(_tick(at, inward, within)), str(k))


def _tick(at: Floats, inward: Floats, within: shapely.Polygon | None) -> Floats:
    tick = np.array((at, at + inward * _STRIKE_UP_MM))
    if within is None:
        return tick
    out = shapely.LineString(tick).intersection(within.exterior)
    ends = shapely.get_coordinates(out)
    away = np.hypot(*(ends - at).T)
    ends = ends[away > 1.0]
    return tick if not len(ends) else np.array((at, ends[0]))


def _edge_lines(edges: Edges, make: Make, span: tuple[float, float], on_roll: _OnRoll) -> Iterator[Mark]:
    """The finished edge, where cloth stands outside it: a fold line, or the line to fair to."""
    for name in ("luff", "leech", "foot"):
        edge = {"luff": make.luff, "leech": make.leech, "foot": make.foot}[name]
        if not outward_mm(edge):
            continue
        kind = "fold" if edge.method is EdgeMethod.FOLDED else "edge"
        for line in _between(edges.lines[name], span, edges):
            # a straight edge is curved on the cloth where a broadseam moves it
            yield Mark(kind, on_roll(shapely.get_coordinates(shapely.segmentize(shapely.LineString(line), _CURVE_STEP_MM))), name)


def _feature_marks(bank: Bank, make: Make, span: tuple[float, float], on_roll: _OnRoll) -> Iterator[Mark]:
    """What is sewn onto the panel later; its places are those of the whole sail."""
    home, edges = bank.home, bank.edges

    def drawn(points: Floats) -> Iterator[Line]:
        return (on_roll(line) for line in _between(from_frame(points, home.frame, edges.frame), span, edges))

    def crosses(kind: str, text: str, points: Floats, size: float) -> Iterator[Mark]:
        for s, h in from_frame(points, home.frame, edges.frame):
            if span[0] <= h < span[1] and (edges.half is None or edges.half.covers(shapely.Point(s, h))):
                cross = np.array(((s - size, h), (s + size, h), (s, h), (s, h + size), (s, h - size)))
                yield Mark(kind, on_roll(cross), text)

    for pocket in make.pockets:
        yield from (Mark("pocket", line, pocket.name) for line in drawn(pocket_line(home, pocket)))
    for window in make.windows:
        for kind, inset in (("window", 0.0), ("hole", PANE_BORDER_MM)):
            yield from (Mark(kind, line, window.name) for line in drawn(np.asarray(pane(home, window, inset).exterior.coords)))
    for patch in make.edge_patches:
        yield from crosses("ring", patch.name, ring_point(home, patch)[None, :], _RING_CROSS_MM)
    if bank.hanks is not None:
        yield from crosses("hank", "", bank.hanks, _HANK_CROSS_MM)


def _between(line: Floats, span: tuple[float, float], edges: Edges) -> Iterator[Floats]:
    """The pieces of a line between two heights, and in the half of the sail that these edges are of."""
    inside = shapely.LineString(line).intersection(shapely.box(-1e5, span[0], 1e5, span[1]))
    if edges.half is not None:
        inside = inside.intersection(edges.half)
    merged = shapely.line_merge(inside)
    for piece in shapely.get_parts(merged):
        if piece.geom_type == "LineString" and piece.length > 1e-6:
            yield np.asarray(piece.coords)
