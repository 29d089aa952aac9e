"""A lay drawn to scale: the roll by section, in strips that fit the page, every part with its mark."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import ceil, cos, floor, radians, sin

from costing.cloth import Lay, Part, Placement, Section
from costing.quote import Design
from costing.sail import Line
from loft.documents import label_place, wording
from loft.documents.drawing import (
    ACCENT,
    DETAIL,
    HAIR,
    INK,
    OUTLINE,
    PAPER,
    SOFT,
    TINT,
    Clip,
    Drawing,
    Item,
    Letters,
    Pen,
    Stroke,
    View,
    arrow,
    bounds,
)
from loft.documents.free_place import Taken, with_leader
from loft.documents.lay_marks import short_marks
from loft.documents.panel_ends import end_words
from loft.documents.typefaces import BOLD

Box = tuple[float, float, float, float]  # x, y, width, height
Reach = tuple[float, float]

_LEFT, _ABOVE, _BELOW = 9.0, 7.0, 6.0
_HIGHEST, _HIGHEST_SHORT = 94.0, 40.0  # the roll's width on paper: two strips share a page, a short piece takes less
_SHORT_MM = 1500.0
_READABLE, _SMALL_MARK = 2.9, 3.3  # letter heights for arm's length: a mark that would be smaller stands beside its part


def placed(ring: Line, placement: Placement) -> Line:
    """A part's line where the lay puts it: turned about its origin, then shifted; section mm."""
    turn = radians(placement.angle)
    c, s = cos(turn), sin(turn)
    return tuple((x * c - y * s + placement.x, x * s + y * c + placement.y) for x, y in ring)


def lay_strips(designs: Mapping[str, Design], lay: Lay, *, width: float, strip_mm: float | None = None) -> tuple[Drawing, ...]:
    """The lay as drawings of `width` paper mm, all at one scale; sections are split evenly into strips of at most `strip_mm` of cloth.

    designs: by the name that the lay's placements give their sail, "" for the lay of one sail. Without `strip_mm` the longest section
    makes as many strips as fill the width without standing too high.
    """
    longest = max(s.length_mm for s in lay.sections)
    highest = _HIGHEST_SHORT if lay.length_mm < _SHORT_MM else _HIGHEST
    room = width - _LEFT - 1
    if strip_mm is None:
        strip_mm = longest / max(1, floor(highest * longest / (room * lay.usable_width_mm)))
    scale = min(room / (longest / _count(longest, strip_mm)), highest / lay.usable_width_mm)
    strips = (_Strip(lay, section, reach, scale) for section in lay.sections for reach in _cuts(section.length_mm, strip_mm))
    return tuple(_strip(designs, strip, width) for strip in strips)


def _count(length: float, strip: float) -> int:
    return ceil(length / strip - 1e-9)


def _cuts(length: float, strip: float) -> list[Reach]:
    count = _count(length, strip)
    return [(i * length / count, (i + 1) * length / count) for i in range(count)]


@dataclass(frozen=True, slots=True)
class _Strip:
    """A piece of a section from `reach[0]` to `reach[1]` mm along the roll, and the scale it is drawn at."""

    lay: Lay
    section: Section
    reach: Reach
    scale: float

    @property
    def box(self) -> Box:
        return _LEFT, _BELOW, (self.reach[1] - self.reach[0]) * self.scale, self.lay.usable_width_mm * self.scale

    @property
    def words(self) -> str:
        whole = wording.metres_to_pull(self.section.length_mm)
        if self.reach == (0.0, self.section.length_mm):
            return f"{whole} m"
        end = whole if self.reach[1] == self.section.length_mm else wording.metres(self.reach[1])
        return f"{wording.metres(self.reach[0])} to {end} m of {whole} m"


def _strip(designs: Mapping[str, Design], strip: _Strip, width: float) -> Drawing:
    parts = {(sail, p.id): p for sail, design in designs.items() for p in design.parts}
    view = View(strip.scale, _LEFT - strip.reach[0] * strip.scale, _BELOW)
    in_section = (p for p in strip.lay.placements if p.section == strip.section.number)
    here = [p for p in in_section if _touches(parts[p.sail, p.part_id].outer, p, strip.reach)]
    items: list[Item] = [Stroke(_corners(strip.box), None, True, TINT)]
    items.append(Clip(strip.box, tuple(i for p in here for i in _part(parts[p.sail, p.part_id], p, view))))
    items += _words(designs, parts, strip, here, view)
    body = any(design.cloth.code == strip.lay.material for design in designs.values())
    items += _frame(strip, "warp, along the roll" if body else "along the roll")
    title = f"Section {strip.section.number + 1}, {strip.words}"
    return Drawing(width, strip.box[3] + _ABOVE + _BELOW, tuple(items), title)


def _words(
    designs: Mapping[str, Design], parts: Mapping[tuple[str, str], Part], strip: _Strip, here: Sequence[Placement], view: View
) -> list[Item]:
    """Marks inside the parts that have room for them, the ends of panels, then marks with leaders for parts that are too small."""
    panels = {(sail, p.mark): p for sail, design in designs.items() for p in design.panels}
    x, y, w, h = strip.box
    taken = Taken((x, y, x + w, y + h))
    for p in here:
        part = parts[p.sail, p.part_id]
        for line in (*_rings(part), *(m.line for m in part.marks)):
            taken.line(view.line(placed(line, p)))
        if (p.sail, p.part_id) not in panels:
            taken.inside(view.line(placed(part.outer, p)))
    short = {sail: short_marks(design.parts) for sail, design in designs.items()}
    marks = [_mark(p, parts[p.sail, p.part_id], short[p.sail][p.part_id], view, strip.box) for p in here]
    inside = [m for m in marks if m.height >= _READABLE]
    for letters in inside:
        taken.text(letters)
    items: list[Item] = list(inside)
    for p in here:
        if (p.sail, p.part_id) in panels:
            items += end_words(panels[p.sail, p.part_id], partial(_on_paper, p, view), taken)
    return items + [item for m in marks if m.height < _READABLE for item in _beside(m, taken)]


def _on_paper(placement: Placement, view: View, line: Line) -> Line:
    return view.line(placed(line, placement))


def _beside(mark: Letters, taken: Taken) -> tuple[Item, ...]:
    """A mark with a leader to its part, and both marked as taken."""
    found = with_leader(mark.at, mark.text, _SMALL_MARK, BOLD, taken)
    for item in found:
        if isinstance(item, Letters):
            taken.text(item)
        elif isinstance(item, Stroke):
            taken.line(item.line)
    return found


def _rings(part: Part) -> list[Line]:
    """Its edges as closed lines."""
    return [(*ring, ring[0]) for ring in (part.outer, *part.holes)]


def _touches(ring: Line, placement: Placement, reach: Reach) -> bool:
    x0, _, x1, _ = bounds(placed(ring, placement))
    return x1 > reach[0] and x0 < reach[1]


def _part(part: Part, placement: Placement, view: View) -> list[Item]:
    items: list[Item] = [Stroke(view.line(placed(part.outer, placement)), OUTLINE, True, PAPER)]
    items += [Stroke(view.line(placed(h, placement)), OUTLINE, True, TINT) for h in part.holes]
    items += [Stroke(view.line(placed(m.line, placement)), DETAIL) for m in part.marks if len(m.line) > 1]
    return items


def _mark(placement: Placement, part: Part, short: str, view: View, box: Box) -> Letters:
    ring = label_place.clipped(view.line(placed(part.outer, placement)), box[0], box[0] + box[2])
    return label_place.label(ring, f"{placement.sail} {short}".strip(), BOLD, 8.0 if part.kind == "panel" else 4.6)


def _corners(box: Box) -> Line:
    x, y, w, h = box
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def _frame(strip: _Strip, direction: str) -> list[Item]:
    """Roll edges, torn or section ends, metre marks, grain arrow and headings."""
    x, y, w, h = strip.box
    start, end = strip.reach
    edge, torn = Pen(0.5, ACCENT), Pen(0.2, SOFT, (1.5, 1))
    last = end >= strip.section.length_mm - 1e-6
    items: list[Item] = [
        Stroke(((x, y), (x + w, y)), edge),
        Stroke(((x, y + h), (x + w, y + h)), edge),
        Stroke(((x, y), (x, y + h)), edge if start == 0 else torn),
        Stroke(((x + w, y), (x + w, y + h)), edge if last else torn),
        Letters(f"usable width {wording.mm(strip.lay.usable_width_mm)} mm", (x - 2, y + h / 2), 2.2, "middle", 90, colour=SOFT),
        Letters(f"Section {strip.section.number + 1}", (x, y + h + 2.2), 3.4, "start", font=BOLD, colour=ACCENT),
        Letters(strip.words, (x + 23, y + h + 2.2), 2.8, "start", colour=SOFT),
        *arrow((x + 72, y + h + 3.2), (x + 90, y + h + 3.2), Pen(0.35, INK)),
        Letters(direction, (x + 92, y + h + 2.3), 2.5, "start", colour=INK),
    ]
    return items + _ruler(strip.reach, strip.box)


def _ruler(reach: Reach, box: Box) -> list[Item]:
    """Ticks every half metre below the roll, metres in figures."""
    x, y, w, _ = box
    start, end = reach
    items: list[Item] = []
    for half in range(ceil(start / 500), int(end // 500) + 1):
        at = x + (half * 500 - start) / (end - start) * w
        items.append(Stroke(((at, y - 0.4), (at, y - (1.6 if half % 2 == 0 else 1.0))), Pen(0.2, SOFT)))
        if half % 2 == 0:
            items.append(Letters(f"{half // 2} m", (at, y - 4), 2.2, "middle", colour=SOFT))
    items.append(Stroke(((x, y - 0.4), (x + w, y - 0.4)), Pen(0.13, HAIR)))
    return items


def stacked(drawings: Sequence[Drawing], title: str, space: float = 4.0) -> Drawing:
    """Drawings one below the other as one."""
    height = sum(d.height for d in drawings) + space * (len(drawings) - 1)
    items: list[Item] = []
    top = height
    for drawing in drawings:
        top -= drawing.height
        items += [_raised(item, top) for item in drawing.items]
        top -= space
    return Drawing(max(d.width for d in drawings), height, tuple(items), title)


def _raised(item: Item, by: float) -> Item:
    match item:
        case Stroke():
            return Stroke(tuple((x, y + by) for x, y in item.line), item.pen, item.closed, item.fill)
        case Letters():
            return Letters(item.text, (item.at[0], item.at[1] + by), item.height, item.anchor, item.angle, item.font, item.colour)
        case Clip(box=(x, y, w, h)):
            return Clip((x, y + by, w, h), tuple(_raised(i, by) for i in item.items))
