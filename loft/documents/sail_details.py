"""What a maker sees on the drawing of a sail: panel and seam numbers, patches, pockets, windows, sail numbers."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, hypot, sin

from costing.cloth import Panel
from costing.quote import Design
from costing.sail import Line, Point
from costing.takeoff import NumberPlan
from loft.documents.drawing import (
    ACCENT,
    INK,
    SIGNAL,
    SOFT,
    Item,
    Letters,
    Pen,
    Stroke,
    View,
    backed,
    bounds,
    reading_angle,
)
from loft.documents.typefaces import BOLD

_MARK_PENS = {"pocket": Pen(0.9, ACCENT), "window": Pen(0.25, ACCENT), "ring": Pen(0.25, ACCENT)}
_CAPITAL = 0.72  # capitals and figures of the typeface stand this much of its size high


def panel_marks(design: Design, view: View) -> list[Item]:
    """Each panel's mark in its middle and each seam's number at its leech end."""
    items: list[Item] = []
    for panel in design.panels:
        x, y = _middle(view.line(panel.finished))
        items += backed(Letters(panel.mark, (x, y - 1.1), 3.2, font=BOLD))
    for number, seam in enumerate(seams(design.panels), start=1):
        a, b = view.point(seam[0]), view.point(seam[-1])
        along = 0.72
        at = (a[0] + (b[0] - a[0]) * along, a[1] + (b[1] - a[1]) * along - 0.8)
        items += backed(Letters(f"seam {number}", at, 2.2, colour=SOFT))
    return items


def seams(panels: tuple[Panel, ...]) -> list[Line]:
    """The line that each panel shares with the next one up, luff to leech, sail coordinates."""
    found: list[Line] = []
    for lower, upper in pairwise(panels):
        shared = [p for p in upper.finished if any(hypot(p[0] - q[0], p[1] - q[1]) < 1.0 for q in lower.finished)]
        if len(shared) > 1:
            found.append((min(shared), max(shared)))
    return found


def length(line: Line) -> float:
    """The length of a polyline, mm."""
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(line))


def _middle(ring: Line) -> Point:
    """The centre of area of a ring."""
    area = cx = cy = 0.0
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        cross = x0 * y1 - x1 * y0
        area += cross
        cx += (x0 + x1) * cross
        cy += (y0 + y1) * cross
    if area == 0:
        x0, y0, x1, y1 = bounds(ring)
        return (x0 + x1) / 2, (y0 + y1) / 2
    return cx / (3 * area), cy / (3 * area)


def mark_items(design: Design, view: View) -> list[Item]:
    """Pockets, windows and rings from the pen marks of the panels, turned back from the roll to the sail."""
    lines = seams(design.panels)
    items: list[Item] = []
    for panel, below, above in zip(design.panels, [(), *lines], [*lines, ()], strict=True):
        if not (below or above):
            continue
        back = _back_to_sail(panel, below, above)
        items += [Stroke(view.line(back.line(m.line)), _MARK_PENS[m.kind]) for m in panel.marks if m.kind in _MARK_PENS and len(m.line) > 1]
    return items


@dataclass(frozen=True, slots=True)
class _Turn:
    """Turned by an angle (its cosine and sine), then shifted."""

    cosine: float
    sine: float
    dx: float = 0.0
    dy: float = 0.0

    def point(self, p: Point) -> Point:
        return p[0] * self.cosine - p[1] * self.sine + self.dx, p[0] * self.sine + p[1] * self.cosine + self.dy

    def line(self, points: Line) -> Line:
        return tuple(self.point(p) for p in points)


def _back_to_sail(panel: Panel, below: Line, above: Line) -> _Turn:
    """From the roll to the sail, by a sew line and the seam it becomes; they are matched at the leech, where no broadseam is."""
    sew, seam = (panel.upper_sew, above) if above else (panel.lower_sew, below)
    angle = atan2(seam[-1][1] - seam[0][1], seam[-1][0] - seam[0][0])
    turn = _Turn(cos(angle), sin(angle))
    x, y = turn.point(sew[-1])
    return _Turn(turn.cosine, turn.sine, seam[-1][0] - x, seam[-1][1] - y)


def number_items(plan: NumberPlan, view: View, side: str) -> list[Item]:
    """The sail number on one side, standing on its base line; held visibly when it is still to follow."""
    base = plan.starboard_base if side == "starboard" else plan.port_base
    a, b = view.point(base[0]), view.point(base[1])
    if a[0] > b[0]:
        a, b = b, a
    high = plan.height_mm * view.scale / _CAPITAL
    turn = reading_angle(a, b)
    count = len(plan.text)
    wide = (hypot(b[0] - a[0], b[1] - a[1]) - (count - 1) * plan.gap_mm * view.scale) / count
    items: list[Item] = [Stroke((a, b), Pen(0.2, SIGNAL, (1.0, 0.8)))]
    for i, character in enumerate(plan.text):
        along = (wide * (i + 0.5) + plan.gap_mm * view.scale * i) / hypot(b[0] - a[0], b[1] - a[1])
        at = (a[0] + (b[0] - a[0]) * along, a[1] + (b[1] - a[1]) * along)
        items.append(Letters(character, at, high, "middle", turn, BOLD, INK))
    return items
