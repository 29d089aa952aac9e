"""The sizes of a cut panel that a cutter checks with a tape."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from costing.cloth import Panel
from costing.sail import Line
from loft.documents.drawing import bounds


@dataclass(frozen=True, slots=True)
class PanelSizes:
    """mm: length along the roll; width across it at the luff end, at the leech end (a gore has none), and at its greatest."""

    length: float
    luff_end: float | None
    leech_end: float | None
    widest: float


def panel_sizes(panel: Panel) -> PanelSizes:
    """Sizes of the cut edge; the ends are where both long edges are first there, seen from the luff and from the leech."""
    length, widest = extent(panel.cut)
    sews = [s for s in (panel.lower_sew, panel.upper_sew) if s]
    if not sews:
        end = None if panel.more_sews else widest
        return PanelSizes(length, end, end, widest)
    luff_left = sews[0][0][0] < sews[0][-1][0]
    inner_luff = (max if luff_left else min)(s[0][0] for s in sews)
    inner_leech = (min if luff_left else max)(s[-1][0] for s in sews)
    return PanelSizes(length, width_at(panel.cut, inner_luff), width_at(panel.cut, inner_leech), widest)


def extent(ring: Line) -> tuple[float, float]:
    """How long along the roll and how wide across it a ring is; mm."""
    x0, y0, x1, y1 = bounds(ring)
    return x1 - x0, y1 - y0


def width_at(ring: Line, x: float) -> float:
    """The ring's extent across the roll at x, the ends of upright edges included; mm."""
    ys: list[float] = []
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        if min(x0, x1) <= x <= max(x0, x1):
            ys += [y0, y1] if x0 == x1 else [y0 + (x - x0) / (x1 - x0) * (y1 - y0)]
    return max(ys) - min(ys) if ys else 0.0


def mark_counts(panel: Panel) -> dict[str, int]:
    """How many pen marks of each kind the panel carries."""
    return dict(Counter(mark.kind for mark in panel.marks))
