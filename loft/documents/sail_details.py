"""What a maker sees on the drawing of a sail: panel and seam numbers, patches, pockets, windows, sail numbers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from costing.cloth import Panel
from costing.quote import Design
from costing.sail import Line, Point
from costing.takeoff import NumberPlan
from loft.documents import lettering
from loft.documents.drawing import (
    ACCENT,
    INK,
    SIGNAL,
    SOFT,
    TINT,
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

_PART_PENS = {"patch": Pen(0.13, ACCENT), "pocket": Pen(0.18, ACCENT), "window": Pen(0.2, ACCENT)}
LIGHT = Pen(0.15, SOFT)
_CAPITAL = 0.72  # capitals and figures of the typeface stand this much of its size high


def panel_marks(design: Design, view: View) -> list[Item]:
    """Each panel's mark in its middle and each seam's number at its leech end."""
    items: list[Item] = []
    for panel in design.panels:
        x, y = _middle(view.line(panel.finished))
        items += backed(Letters(panel.mark, (x, y - 1.1), 3.2, font=BOLD))
    for seam in named_seams(design.panels):
        if seam.of_gores:  # they lie close, and their panels' marks name them
            continue
        a, b = view.point(seam.line[0]), view.point(seam.line[-1])
        along = 0.72
        at = (a[0] + (b[0] - a[0]) * along, a[1] + (b[1] - a[1]) * along - 0.8)
        items += backed(Letters(seam.name, at, 2.2, colour=SOFT))
    return items


@dataclass(frozen=True, slots=True)
class NamedSeam:
    """A seam on the finished sail: its name, the panels that it joins, its line in sail coordinates, and whether gores end on it."""

    name: str
    between: str
    line: Line
    of_gores: bool = False


def named_seams(panels: tuple[Panel, ...]) -> list[NamedSeam]:
    """Every seam once, from the foot up; of a gored sail in the order of its panels."""
    if not any(sew.to for p in panels for sew in p.more_sews):
        pairs = [(f"{lower.mark} to {upper.mark}", line) for lower, upper, line in _rows(panels)]
        return [*(NamedSeam(f"seam {i}", between, line) for i, (between, line) in enumerate(pairs, start=1)), *_mitre(panels)]
    found: dict[str, tuple[list[str], list[str], list[Point]]] = {}
    for panel in panels:
        for sew in (s for s in panel.more_sews if s.to):
            one, other, points = found.setdefault(sew.seam, ([], [], []))
            if panel.mark not in other:
                one += [] if panel.mark in one else [panel.mark]
                other += [] if sew.to in other else [sew.to]
            points += sew.on_sail
    return [_gored(name, one, other, _farthest_apart(points)) for name, (one, other, points) in found.items()]


def _mitre(panels: tuple[Panel, ...]) -> list[NamedSeam]:
    """The seam between the halves of a mitre-cut sail, all of whose panels on one side meet those on the other."""
    pieces = [(panel.mark, sew) for panel in panels for sew in panel.more_sews if sew.seam == "mitre"]
    if not pieces:
        return []
    upper, lower = ([mark for mark, sew in pieces if sew.overlap is side] for side in (True, False))
    line = _farthest_apart([p for _, sew in pieces for p in sew.on_sail])
    return [NamedSeam("mitre", f"{_listed(upper)} to {_listed(lower)}", line)]


def _gored(name: str, one: list[str], other: list[str], line: Line) -> NamedSeam:
    return NamedSeam(name, f"{_listed(one)} to {_listed(other)}", line, any(mark[0] != "P" for mark in (*one, *other)))


def _listed(marks: list[str]) -> str:
    """Marks of one letter as "H1-H5", others with commas."""
    letters = dict.fromkeys(mark[0] for mark in marks)
    numbers = {letter: sorted(int(mark[1:]) for mark in marks if mark[0] == letter) for letter in letters}
    return ", ".join(f"{k}{n[0]}" if len(n) == 1 else f"{k}{n[0]}–{k}{n[-1]}" for k, n in numbers.items())


def _farthest_apart(points: list[Point]) -> Line:
    return max(((a, b) for a in points for b in points), key=lambda ends: hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]))


def seams(panels: tuple[Panel, ...]) -> list[Line]:
    """The line that each panel shares with the next one of its row, from one end to the other, sail coordinates."""
    return [line for _, _, line in _rows(panels)]


def _rows(panels: tuple[Panel, ...]) -> Iterator[tuple[Panel, Panel, Line]]:
    """The neighbours within each row of panels, with the line between them."""
    for lower, upper in pairwise(panels):
        if lower.place != upper.place:
            continue
        shared = [p for p in upper.finished if any(hypot(p[0] - q[0], p[1] - q[1]) < 1.0 for q in lower.finished)]
        if len(shared) > 1:
            yield lower, upper, (min(shared), max(shared))


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
    """Patches, pockets and windows where they belong on the sail."""
    shown = (p for p in design.parts if p.kind in _PART_PENS and p.on_sail)
    return [Stroke(view.line(p.on_sail), _PART_PENS[p.kind], True, TINT if p.kind == "window" else None) for p in shown]


def option_items(design: Design, view: View) -> list[Item]:
    """Windows and batten pockets in light lines: what a customer chose, behind the sizes."""
    shown = (p for p in design.parts if p.kind in ("window", "pocket") and p.on_sail)
    return [Stroke(view.line(p.on_sail), LIGHT, True, TINT if p.kind == "window" else None) for p in shown]


def number_items(plan: NumberPlan, view: View, side: str) -> list[Item]:
    """The sail number on one side, standing on its base line; held visibly when it is still to follow."""
    base = plan.starboard_base if side == "starboard" else plan.port_base
    a, b = view.point(base[0]), view.point(base[1])
    if a[0] > b[0]:
        a, b = b, a
    high = plan.height_mm * view.scale / _CAPITAL
    turn, gap, span = reading_angle(a, b), plan.gap_mm * view.scale, hypot(b[0] - a[0], b[1] - a[1])
    wide = (span - (len(plan.text) - 1) * gap) / len(plan.text)

    def on_base(along: float) -> Point:
        return a[0] + (b[0] - a[0]) * along / span, a[1] + (b[1] - a[1]) * along / span

    middles = [wide * (i + 0.5) + gap * i for i in range(len(plan.text))]
    first, last = (lettering.width(c, high, BOLD) / 2 for c in (plan.text[0], plan.text[-1]))
    row = (on_base(middles[0] - first), on_base(middles[-1] + last))
    figures = (Letters(c, on_base(m), high, "middle", turn, BOLD, INK) for c, m in zip(plan.text, middles, strict=True))
    return [Stroke(row, Pen(0.2, SIGNAL, (1.0, 0.8))), *figures]


def under_number(design: Design, plan: NumberPlan, side: str) -> list[str]:
    """The seams and batten pockets that the number of one side crosses, from the foot up."""
    (x0, y), (x1, _) = plan.starboard_base if side == "starboard" else plan.port_base
    box = (min(x0, x1), y, max(x0, x1), y + plan.height_mm)
    found = [seam.name for seam in named_seams(design.panels) if _crosses(seam.line, box)]
    pockets = [p for p in design.parts if p.kind == "pocket" and p.on_sail]
    return found + [p.label.partition(",")[0].lower() for p in pockets if _crosses((*p.on_sail, p.on_sail[0]), box)]


def _crosses(line: Line, box: tuple[float, float, float, float]) -> bool:
    """Whether a line comes into an upright box, seen every 5 mm."""
    for a, b in pairwise(line):
        steps = int(hypot(b[0] - a[0], b[1] - a[1]) / 5) + 1
        for i in range(steps + 1):
            x, y = a[0] + (b[0] - a[0]) * i / steps, a[1] + (b[1] - a[1]) * i / steps
            if box[0] <= x <= box[2] and box[1] <= y <= box[3]:
                return True
    return False
