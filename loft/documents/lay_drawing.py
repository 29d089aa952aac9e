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
from loft.documents.typefaces import BOLD

_LEFT, _ABOVE, _BELOW = 9.0, 7.0, 6.0
_LARGEST, _SMALLEST = 3.2, 1.5
_HIGHEST = 72.0  # the roll's width on paper, so that three strips share a page


def placed(ring: Line, placement: Placement) -> Line:
    """A part's line where the lay puts it: turned about its origin, then shifted; section mm."""
    turn = radians(placement.angle)
    c, s = cos(turn), sin(turn)
    return tuple((x * c - y * s + placement.x, x * s + y * c + placement.y) for x, y in ring)


def lay_strips(design: Design, lay: Lay, *, width: float, strip_mm: float = 3600.0) -> tuple[Drawing, ...]:
    """The lay as drawings of `width` paper mm, all at one scale; a section longer than `strip_mm` of cloth is split evenly."""
    parts = {p.id: p for p in design.parts}
    longest = max(s.length_mm / ceil(s.length_mm / strip_mm) for s in lay.sections)
    scale = min((width - _LEFT - 1) / longest, _HIGHEST / lay.usable_width_mm)
    return tuple(
        _strip(section, [p for p in lay.placements if p.section == section.number], parts, lay, (start, end), width, scale)
        for section in lay.sections
        for start, end in _cuts(section.length_mm, strip_mm)
    )


def _cuts(length: float, strip: float) -> list[tuple[float, float]]:
    count = ceil(length / strip)
    return [(i * length / count, (i + 1) * length / count) for i in range(count)]


def _strip(
    section: Section,
    placements: Sequence[Placement],
    parts: dict[str, Part],
    lay: Lay,
    reach: tuple[float, float],
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
    title = f"Section {section.number + 1}, {wording.metres(start)} to {wording.metres(end)} m of {wording.metres(section.length_mm)} m"
    return Drawing(width, high + _ABOVE + _BELOW, tuple(items), title)


def _touches(ring: Line, placement: Placement, reach: tuple[float, float]) -> bool:
    x0, _, x1, _ = bounds(placed(ring, placement))
    return x1 > reach[0] and x0 < reach[1]


def _part(part: Part, placement: Placement, view: View) -> list[Item]:
    items: list[Item] = [Stroke(view.line(placed(part.outer, placement)), OUTLINE, True, PAPER)]
    items += [Stroke(view.line(placed(h, placement)), OUTLINE, True, TINT) for h in part.holes]
    items += [Stroke(view.line(placed(m.line, placement)), DETAIL) for m in part.marks if len(m.line) > 1]
    return items


def _mark(placement: Placement, part: Part, view: View, box: tuple[float, float, float, float]) -> list[Item]:
    """The part's mark where it fits best, along the roll or across it."""
    ring = view.line(placed(part.outer, placement))
    x, y, wide, high = box
    along = _spot(ring, (x, x + wide))
    flipped = tuple((b, a) for a, b in ring)
    across = _spot(flipped, (y, y + high))
    name = f"{placement.sail} {part.id}".strip()
    options = [(_letter_height(name, room, clear), at, angle) for (at, room, clear), angle in ((along, 0.0), (across, 90.0))]
    size, at, angle = max(options, key=lambda o: (o[0], -o[2]))
    if angle:
        at = (at[1] + size * 0.36, at[0])
    else:
        at = (at[0], at[1] - size * 0.36)
    return [Letters(name, at, max(size, _SMALLEST), "middle", angle, BOLD if part.kind == "panel" else lettering.REGULAR)]


def _letter_height(name: str, room: float, clear: float) -> float:
    return min(_LARGEST, 0.9 * room / lettering.width(name, 1.0, BOLD), 0.85 * clear)


def _spot(ring: Line, reach: tuple[float, float]) -> tuple[Point, float, float]:
    """The middle of the widest clear run through a ring within `reach`: point, its length, and its clearance up and down."""
    _, y0, _, y1 = bounds(ring)
    best: tuple[Point, float, float] = ((sum(reach) / 2, (y0 + y1) / 2), 0.0, 0.0)
    for i in range(1, 12):
        y = y0 + (y1 - y0) * i / 12
        clear = min(2 * min(y - y0, y1 - y), 4.0)
        for a, b in _runs(ring, y, reach):
            for c, d in _runs(ring, y + clear * 0.4, reach):
                low, high = max(a, c), min(b, d)
                if high - low > best[1] and clear >= best[2] * 0.8:
                    best = (((low + high) / 2, y), high - low, clear)
    return best


def _runs(ring: Line, y: float, reach: tuple[float, float]) -> list[tuple[float, float]]:
    """Where the horizontal at y is inside the ring, cut to `reach`."""
    crossings = sorted(
        x0 + (y - y0) / (y1 - y0) * (x1 - x0) for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True) if (y0 > y) != (y1 > y)
    )
    inside = zip(crossings[::2], crossings[1::2], strict=False)
    cut = ((max(a, reach[0]), min(b, reach[1])) for a, b in inside)
    return [(a, b) for a, b in cut if b > a]


def _corners(box: tuple[float, float, float, float]) -> Line:
    x, y, w, h = box
    return ((x, y), (x + w, y), (x + w, y + h), (x, y + h))


def _frame(section: Section, reach: tuple[float, float], box: tuple[float, float, float, float], lay: Lay) -> list[Item]:
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
        *arrow((x + 46, y + h + 3.2), (x + 66, y + h + 3.2), Pen(0.35, INK)),
        Letters("warp, along the roll", (x + 68, y + h + 2.4), 2.4, "start", colour=INK),
        Letters(
            f"{wording.metres(start)} to {wording.metres(end)} m of {wording.metres(section.length_mm)} m", (x + w, y + h + 2.2), 2.8, "end", colour=SOFT
        ),
    ]  # fmt: skip
    return items + _ruler(reach, box)


def _ruler(reach: tuple[float, float], box: tuple[float, float, float, float]) -> list[Item]:
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
