"""What a maker sees on the drawing of a sail: panel and seam numbers, patches, pockets, windows, sail numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

from costing.cloth import Panel
from costing.quote import Design
from costing.sail import Line, Point
from costing.takeoff import NumberPlan
from loft.documents import label_place, lettering
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
    reading_angle,
)
from loft.documents.typefaces import BOLD

_PART_PENS = {"patch": Pen(0.13, ACCENT), "pocket": Pen(0.18, ACCENT), "window": Pen(0.2, ACCENT)}
LIGHT = Pen(0.15, SOFT)
_LARGEST_MARK, _SMALLEST_MARK, _SEAM_NAME = 4.4, 2.6, 2.6
_PARTS, _CLEAR = (0.72, 0.6, 0.5, 0.4, 0.85, 0.3), 7.5  # along a seam, and how far its name keeps from a panel's mark, paper mm
_CAPITAL = 0.72  # capitals and figures of the typeface stand this much of its size high


def panel_marks(design: Design, view: View) -> list[Item]:
    """Each panel's mark where it has most room, and each seam's name on its line, towards its leech end and clear of the marks."""
    marks = [_panel_mark(panel, view) for panel in design.panels]
    items: list[Item] = [item for mark in marks for item in backed(mark)]
    for seam in named_seams(design.panels):
        if not seam.of_gores:  # those lie close, and their panels' marks name them
            items += backed(Letters(seam.name, _clear_place(seam.line, view, marks), _SEAM_NAME, colour=INK))
    return items


def _panel_mark(panel: Panel, view: View) -> Letters:
    found = label_place.label(view.line(panel.finished), panel.mark, BOLD, _LARGEST_MARK)
    return found if found.height >= _SMALLEST_MARK else replace(found, height=_SMALLEST_MARK, angle=0.0)


def _clear_place(line: Line, view: View, marks: Sequence[Letters]) -> Point:
    """The place on a seam for its name: the first of a few that is clear of every panel's mark, else the clearest."""
    a, b = view.point(line[0]), view.point(line[-1])
    places = [(a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part - 0.9) for part in _PARTS]
    room = [min((hypot(x - m.at[0], 1.6 * (y - m.at[1])) for m in marks), default=_CLEAR) for x, y in places]
    return next((place for place, far in zip(places, room, strict=True) if far >= _CLEAR), places[room.index(max(room))])


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
