"""What a maker sees on the drawing of a sail: panel and seam numbers, patches, pockets, windows, sail numbers."""

from __future__ import annotations

from itertools import pairwise
from math import atan2, cos, hypot, sin

from costing.cloth import Panel, Part
from costing.quote import Design
from costing.sail import Line, Point
from costing.takeoff import NumberPlan
from loft.documents import lettering
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

_PART_PEN = Pen(0.2, ACCENT)


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


def part_items(design: Design, view: View) -> list[Item]:
    """Patches, pockets and windows where they belong, drawn from the cut part turned back from the roll to the sail."""
    turn = roll_angle(design.panels)
    items: list[Item] = []
    for part in design.parts:
        if part.kind in ("patch", "pocket", "window") and part.anchor is not None:
            items.append(Stroke(view.line(on_sail(part, part.anchor, turn)), _PART_PEN, True))
    return items


def roll_angle(panels: tuple[Panel, ...]) -> float:
    """How far the roll's direction lies turned in the sail, radians, read off the longest seam."""
    lines = seams(panels)
    if not lines:
        return 0.0
    a, b = max(lines, key=lambda s: hypot(s[1][0] - s[0][0], s[1][1] - s[0][1]))
    return atan2(b[1] - a[1], b[0] - a[0])


def on_sail(part: Part, anchor: Point, turn: float) -> Line:
    """A part's edge in sail coordinates, its middle on the anchor."""
    x0, y0, x1, y1 = bounds(part.outer)
    c, s = cos(turn), sin(turn)
    centred = ((x - (x0 + x1) / 2, y - (y0 + y1) / 2) for x, y in part.outer)
    return tuple((x * c - y * s + anchor[0], x * s + y * c + anchor[1]) for x, y in centred)


def number_items(plan: NumberPlan, view: View, side: str) -> list[Item]:
    """The sail number on one side, standing on its base line; held visibly when it is still to follow."""
    base = plan.starboard_base if side == "starboard" else plan.port_base
    a, b = view.point(base[0]), view.point(base[1])
    if a[0] > b[0]:
        a, b = b, a
    high = plan.height_mm * view.scale
    length = hypot(b[0] - a[0], b[1] - a[1])
    # capitals and figures of the typeface stand 0.72 of its size high
    size = min(high / 0.72, length / lettering.width(plan.text, 1.0, BOLD))
    angle = reading_angle(a, b)
    return [
        Stroke((a, b), Pen(0.2, SIGNAL, (1.0, 0.8))),
        Letters(plan.text, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), size, "middle", angle, BOLD, INK),
    ]
