"""What the pen draws on a panel of a gored sail before it is cut."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import shapely

from costing.cloth.frame import outward_mm
from costing.cloth.gore_draft import Draft
from costing.cloth.grid import Floats
from costing.cloth.make import EdgeMethod
from costing.cloth.part import Mark
from costing.sail.shape import Line

_STRIKE_UP_EVERY_MM = 500.0
_STRIKE_UP_MM = 15.0
#: Nearer to the end of a seam no tick is drawn: two panels meet there anyway.
_END_MM = 20.0
_FOLD_MM = 1.0  # a shorter piece of the centreline is not drawn

OnRoll = Callable[[Floats], Line]


def gore_marks(draft: Draft, on_roll: OnRoll, *, folded: bool) -> Iterator[Mark]:
    """Every mark of the panel: sew lines with their strike-ups, finished edges, the centreline of a symmetric sail, the panel's mark."""
    for name, side in draft.sides:
        if name in draft.layout.seams:
            yield Mark("sew", on_roll(side), name)
            yield from _strike_ups(draft, name, on_roll)
        else:
            edge = {"luff": draft.make.luff, "leech": draft.make.leech, "foot": draft.make.foot}[name]
            if outward_mm(edge):
                yield Mark("fold" if edge.method is EdgeMethod.FOLDED else "edge", on_roll(side), name)
    if folded:
        yield from _centreline(draft, on_roll)
    middle = shapely.Polygon(draft.piece.cell.points).centroid
    yield Mark("mark", on_roll(np.array(((middle.x, middle.y),))), draft.piece.mark)


def _strike_ups(draft: Draft, name: str, on_roll: OnRoll) -> Iterator[Mark]:
    """Ticks from the sew line into the panel: at equal parts of what it shares with each panel beside it, the same on both, and where
    one of these ends and the next begins."""
    seam = draft.layout.seams[name]
    for mark, start, end in draft.beside[name]:
        parts = max(2, round(abs(end - start) * seam.length / _STRIKE_UP_EVERY_MM))
        for k in range(1, parts):
            # counted from the seam's start, so that both panels number a tick alike
            number = k if end > start else parts - k
            yield Mark("strike-up", on_roll(_tick(draft, name, start + (end - start) * k / parts)), f"{mark} {number}")
    for mark, _, end in draft.beside[name]:
        if _END_MM < end * seam.length < seam.length - _END_MM and not _ends_there(draft, name, end):
            yield Mark("strike-up", on_roll(_tick(draft, name, end)), f"end of {mark}")


def _ends_there(draft: Draft, name: str, at: float) -> bool:
    """Whether the panel's own piece of the seam ends at that part of its way."""
    own = [end for mark, *ends in draft.beside[name] for end in ends]
    return min(abs(at - min(own)), abs(at - max(own))) * draft.layout.seams[name].length < _END_MM


def _tick(draft: Draft, name: str, at: float) -> Floats:
    """From the sew line into the panel, square to the straight seam."""
    seam = draft.layout.seams[name]
    (_, start, end), *_ = draft.beside[name]
    forward = 1.0 if end > start else -1.0
    point = seam.start + at * (seam.end - seam.start)
    ahead = (seam.end - seam.start) * forward / seam.length
    outward = np.array((-ahead[1], ahead[0]))
    on_line = point + float(seam.fullness(np.array(at))) / 2 * outward
    return np.array((on_line, on_line - _STRIKE_UP_MM * outward))


def _centreline(draft: Draft, on_roll: OnRoll) -> Iterator[Mark]:
    """The piece of the centreline inside the panel, but not where it is a seam or hardly enters."""
    points = draft.piece.cell.points
    if points[:, 0].min() > -_FOLD_MM or points[:, 0].max() < _FOLD_MM:
        return
    inside = shapely.Polygon(points).intersection(shapely.LineString(((0.0, -1e5), (0.0, 1e5))))
    if inside.length > _FOLD_MM:
        yield Mark("fold", on_roll(np.asarray(inside.coords)), "centreline")
