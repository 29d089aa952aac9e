"""A lay drawn to scale: the roll by section, in strips that fit the page, every part with its mark."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, cos, radians, sin

from costing.cloth import Lay, Part, Placement, Section
from costing.quote import Design
from costing.sail import Line, Point
from loft.documents import lettering, wording
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
from loft.documents.typefaces import BOLD, REGULAR

Box = tuple[float, float, float, float]  # x, y, width, height
Reach = tuple[float, float]

_LEFT, _ABOVE, _BELOW = 9.0, 7.0, 6.0
_LARGEST, _SMALLEST = 3.2, 1.5
_HIGHEST, _HIGHEST_SHORT = 64.0, 40.0  # the roll's width on paper: three strips share a page, a short piece takes less
_SHORT_MM = 1500.0


def placed(ring: Line, placement: Placement) -> Line:
    """A part's line where the lay puts it: turned about its origin, then shifted; section mm."""
    turn = radians(placement.angle)
    c, s = cos(turn), sin(turn)
    return tuple((x * c - y * s + placement.x, x * s + y * c + placement.y) for x, y in ring)


def lay_strips(design: Design, lay: Lay, *, width: float, strip_mm: float = 3600.0) -> tuple[Drawing, ...]:
    """The lay as drawings of `width` paper mm, all at one scale; a section longer than `strip_mm` of cloth is split evenly."""
    parts = {p.id: p for p in design.parts}
    longest = max(s.length_mm / ceil(s.length_mm / strip_mm) for s in lay.sections)
    scale = min((width - _LEFT - 1) / longest, (_HIGHEST_SHORT if lay.length_mm < _SHORT_MM else _HIGHEST) / lay.usable_width_mm)
    return tuple(
        _strip(section, [p for p in lay.placements if p.section == section.number], parts, lay, (start, end), width, scale)
        for section in lay.sections
        for start, end in _cuts(section.length_mm, strip_mm)
    )


def _cuts(length: float, strip: float) -> list[Reach]:
    count = ceil(length / strip)
    return [(i * length / count, (i + 1) * length / count) for i in range(count)]


def _strip(
    section: Section,
    placements: Sequence[Placement],
    parts: dict[str, Part],
    lay: Lay,
    reach: Reach,
    width: float,
    scale: float,
) -> Drawing:
    start, end = reach
    view = View(scale, _LEFT - start * scale, _BELOW)
    high = lay.usable_width_mm * scale
    wide = (end - start) * scale
    box = (_LEFT, _BELOW, wide, high)
    here = [p for p in placements if _touches(parts[p.part_id].outer, p, reach)]
    items: list[Item] = [Stroke(_corners(box), None, True, TINT)]
    items.append(Clip(box, tuple(i for p in here for i in _part(parts[p.part_id], p, view))))
    items += [i for p in here for i in _mark(p, parts[p.part_id], view, box)]
    items += _frame(section, reach, box, lay)
    title = f"Section {section.number + 1}, {_reach_text(section, reach)}"
    return Drawing(width, high + _ABOVE + _BELOW, tuple(items), title)


def _touches(ring: Line, placement: Placement, reach: Reach) -> bool:
    x0, _, x1, _ = bounds(placed(ring, placement))
    return x1 > reach[0] and x0 < reach[1]


def _part(part: Part, placement: Placement, view: View) -> list[Item]:
    items: list[Item] = [Stroke(view.line(placed(part.outer, placement)), OUTLINE, True, PAPER)]
    items += [Stroke(view.line(placed(h, placement)), OUTLINE, True, TINT) for h in part.holes]
    items += [Stroke(view.line(placed(m.line, placement)), DETAIL) for m in part.marks if len(m.line) > 1]
    return items


def _mark(placement: Placement, part: Part, view: View, box: Box) -> list[Item]:
    """The part's mark where it can stand largest, along the roll or across it."""
    ring = view.line(placed(part.outer, placement))
    name = f"{placement.sail} {part.id}".strip()
    x, y, wide, high = box
    size, at = _best_spot(ring, (x, x + wide), (y, y + high), name)
    turned = tuple((b, a) for a, b in ring)
    size_across, at_across = _best_spot(turned, (y, y + high), (x, x + wide), name)
    font = BOLD if part.kind == "panel" else REGULAR
    if size_across > size * 1.05:
        drop = max(size_across, _SMALLEST) * 0.36
        return [Letters(name, (at_across[1] + drop, at_across[0]), max(size_across, _SMALLEST), "middle", 90, font)]
    return [Letters(name, (at[0], at[1] - max(size, _SMALLEST) * 0.36), max(size, _SMALLEST), "middle", 0, font)]


def _best_spot(ring: Line, reach: Reach, band: Reach, name: str) -> tuple[float, Point]:
    """The largest letter height for a name inside a ring and the middle of its place; of equal places the most central one."""
    _, y0, _, y1 = bounds(ring)
    y0, y1 = max(y0, band[0]), min(y1, band[1])
    unit = lettering.width(name, 1.0, BOLD)
    best = (0.0, 0.0, (sum(reach) / 2, (y0 + y1) / 2))
    for i in range(1, 16):
        y = y0 + (y1 - y0) * i / 16
        clear = 2 * min(y - y0, y1 - y)
        half = min(clear * 0.8, _LARGEST) / 2
        for low, high in _common_runs(_runs(ring, y - half, reach), _runs(ring, y, reach), _runs(ring, y + half, reach)):
            size = min(_LARGEST, 0.88 * (high - low) / unit, 0.8 * clear)
            best = max(best, (size, min(high - low, 30.0) + min(clear, 30.0), ((low + high) / 2, y)))
    return best[0], best[2]


def _common_runs(*levels: Sequence[Reach]) -> Sequence[Reach]:
    """What is inside at every level."""
    common = levels[0]
    for level in levels[1:]:
        common = [(max(a, c), min(b, d)) for a, b in common for c, d in level if min(b, d) > max(a, c)]
    return common


def _runs(ring: Line, y: float, reach: Reach) -> list[Reach]:
    """Where the horizontal at y is inside the ring, cut to `reach`."""
    crossings = sorted(
        x0 + (y - y0) / (y1 - y0) * (x1 - x0) for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True) if (y0 > y) != (y1 > y)
    )
    inside = zip(crossings[::2], crossings[1::2], strict=False)
    cut = ((max(a, reach[0]), min(b, reach[1])) for a, b in inside)
    return [(a, b) for a, b in cut if b > a]


def _corners(box: Box) -> Line:
    x, y, w, h = box
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def _frame(section: Section, reach: Reach, box: Box, lay: Lay) -> list[Item]:
    """Roll edges, torn or section ends, metre marks, grain arrow and headings."""
    x, y, w, h = box
    start, end = reach
    edge, torn = Pen(0.5, ACCENT), Pen(0.2, SOFT, (1.5, 1))
    last = end >= section.length_mm - 1e-6
    items: list[Item] = [
        Stroke(((x, y), (x + w, y)), edge),
        Stroke(((x, y + h), (x + w, y + h)), edge),
        Stroke(((x, y), (x, y + h)), edge if start == 0 else torn),
        Stroke(((x + w, y), (x + w, y + h)), edge if last else torn),
        Letters(f"usable width {wording.mm(lay.usable_width_mm)} mm", (x - 2, y + h / 2), 2.2, "middle", 90, colour=SOFT),
        Letters(f"Section {section.number + 1}", (x, y + h + 2.2), 3.4, "start", font=BOLD, colour=ACCENT),
        Letters(_reach_text(section, reach), (x + 23, y + h + 2.2), 2.8, "start", colour=SOFT),
        *arrow((x + 72, y + h + 3.2), (x + 90, y + h + 3.2), Pen(0.35, INK)),
        Letters("warp, along the roll", (x + 92, y + h + 2.3), 2.5, "start", colour=INK),
    ]  # fmt: skip
    return items + _ruler(reach, box)


def _reach_text(section: Section, reach: Reach) -> str:
    if reach == (0.0, section.length_mm):
        return f"{wording.metres(section.length_mm)} m"
    return f"{wording.metres(reach[0])} to {wording.metres(reach[1])} m of {wording.metres(section.length_mm)} m"


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
