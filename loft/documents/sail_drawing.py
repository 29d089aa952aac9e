"""A sail drawn with its sizes, or with its panels and parts for the people who make it; both say which side they show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from math import atan2, hypot

from costing import sail
from costing.measurements import SPINNAKERS, WIDTH_STATIONS
from costing.quote import Design
from costing.rules import rounded
from costing.sail import Line, Point
from costing.takeoff import NumberPlan
from loft.documents import lettering, rings, sail_details, wording
from loft.documents.drawing import (
    ACCENT,
    HAIR,
    MEASURE,
    OUTLINE,
    PAPER,
    SEAM,
    SIGNAL,
    SOFT,
    Drawing,
    Item,
    Letters,
    Stroke,
    View,
    backed,
    dimension,
    fit,
    reading_angle,
)
from loft.documents.typefaces import BOLD

SIDES = ("starboard", "port")
_LUFF_OFFSET = 24.0  # room for the narrow widths between the luff and its dimension
_FIGURE = 2.4
_ORIGIN = 1.9  # the rule number under a figure
_NOTE = 2.4
_NAMES = {"quarter_width": "quarter", "half_width": "half", "three_quarter_width": "three-quarter", "upper_width": "upper"}


def noted(drawing: Drawing, not_legal: Sequence[str]) -> Drawing:
    """The drawing of a sail that is not class legal, with that above it and each limit that it is outside of; of a class sail as it is."""
    if not not_legal:
        return drawing
    room = drawing.width - 4
    lines = [wording.spelled(sentence) for sentence in not_legal]
    sizes = [lettering.fitting_size(line, _NOTE, room) for line in lines]
    height = drawing.height + 5.0 + 3.2 * len(lines)
    items: list[Item] = [Letters(wording.NOT_LEGAL, (drawing.width / 2, height - 4.0), 3.4, font=BOLD, colour=SIGNAL)]
    for number, (line, size) in enumerate(zip(lines, sizes, strict=True), start=1):
        items.append(Letters(line, (drawing.width / 2, height - 4.0 - 3.2 * number), size, colour=SIGNAL))
    return Drawing(drawing.width, height, (*drawing.items, *items), drawing.title)


def dimensioned_sail(design: Design, *, side: str = "starboard", width: float = 92.0, height: float = 138.0) -> Drawing:
    """The finished sail with luff, leech, foot, top and widths as designed; paper mm."""
    left = 11.0 if side == "starboard" else 26.0
    box = (15.0, 15.0, width - 30.0, height - 22.0) if _is_spinnaker(design) else (left, 15.0, width - 37.0, height - 22.0)
    view = _view(design, side, box)
    chosen = (*sail_details.option_items(design, view), *rings.items(design, view, sizes=True))
    items = (*_body(design, view), *chosen, *_sizes(design, view), _caption(side, width, f"dimensions in mm, finished{_shaded(design)}"))
    return Drawing(width, height, items, f"Sail, {side} side")


def making_sail(
    design: Design,
    *,
    side: str = "starboard",
    numbers: NumberPlan | None = None,
    width: float = 92.0,
    height: float = 138.0,
    marks: bool = True,
) -> Drawing:
    """The sail with its panels and seams numbered, patches, pockets and windows, and its number on this side when given."""
    view = _view(design, side, (8.0, 10.0, width - 16.0, height - 14.0))
    items: list[Item] = [*_body(design, view), *sail_details.part_items(design, view), *rings.items(design, view, sizes=False)]
    if marks:
        items += sail_details.panel_marks(design, view)
    if numbers is not None:
        items += sail_details.number_items(numbers, view, side)
    return Drawing(width, height, (*items, _caption(side, width, f"not to scale{_shaded(design)}")), f"Sail, {side} side")


def _view(design: Design, side: str, box: tuple[float, float, float, float]) -> View:
    if side not in SIDES:
        raise ValueError(f"side is {side!r}, must be one of {', '.join(SIDES)}")
    return fit(design.outline.ring, box, mirror=side == "starboard", turn=_upright(design) if _is_spinnaker(design) else 0.0)


def _is_spinnaker(design: Design) -> bool:
    return design.outline.kind in SPINNAKERS


def _upright(design: Design) -> float:
    """How far a spinnaker is turned so that its centreline, from the middle between tack and clew to the head, stands upright; radians."""
    (x0, y0), (x1, y1), (x, y) = design.outline.tack_point, design.outline.clew_point, design.outline.head_point
    return atan2(x - (x0 + x1) / 2, y - (y0 + y1) / 2)


def _body(design: Design, view: View) -> list[Item]:
    # panels of another colour than the body's are shaded: which colours they are is the sail's, not the design's
    panels = [Stroke(view.line(p.finished), SEAM, True, HAIR if p.colour else None) for p in design.panels]
    return [Stroke(view.line(design.outline.ring), None, True, PAPER), *panels, Stroke(view.line(design.outline.ring), OUTLINE, True)]


def _shaded(design: Design) -> str:
    """Which colour slots the shaded panels have."""
    slots = dict.fromkeys(panel.colour for panel in design.panels if panel.colour)
    return f"; shaded: {', '.join(slots)}" if slots else ""


def _caption(side: str, width: float, remark: str) -> Letters:
    luff = "right" if side == "starboard" else "left"
    words = f"{side.capitalize()} side (luff on the {luff}), {remark}"
    return Letters(words, (width / 2, 2.0), lettering.fitting_size(words, 2.7, width), colour=SOFT)


def _sizes(design: Design, view: View) -> list[Item]:
    edge = design.outline
    sizes = _as_printed(design)
    outward = -1.0 if view.mirror else 1.0
    tack, head, clew = (view.point(p) for p in (edge.tack_point, edge.head_point, edge.clew_point))
    bulge = max(_distance_from_line(view.point(p), head, clew) for p in edge.leech)
    room = max(_distance_from_line(view.point(p), tack, head) for p in edge.luff) + 6.0 if _is_spinnaker(design) else _LUFF_OFFSET
    sag = max(_distance_from_line(view.point(p), clew, tack) for p in edge.foot)
    origins = _origins(design)
    items: list[Item] = []
    for name, start, end, offset in (
        ("luff_length", tack, head, room),
        ("leech_length", head, clew, bulge + 6.0),
        ("foot_length", clew, tack, sag + 6.0),
    ):
        if name in sizes:
            said = " · ".join(filter(None, (wording.size(sizes[name]), origins.get(name, ""))))
            items += dimension(start, end, said, offset=offset * outward)
    widths = _width_lines(design, view, sizes, origins)
    items += widths
    if _is_spinnaker(design):
        items += _median(design, view, sizes, origins, [item.line for item in widths if isinstance(item, Stroke) and item.pen == MEASURE])
    if sizes.get("top_width"):
        items += _beside((head[0], head[1] + 3.6), f"top {wording.size(sizes['top_width'])}", origins.get("top_width", ""), outward)
    return items


def _as_printed(design: Design) -> dict[str, Decimal]:
    """The finished sizes; a limited one as the table prints it beside its limit."""
    limited = {room.limit.value_name: rounded.beside(room).value for room in design.headroom if room.limit.corner is None}
    return {name: limited.get(name, value) for name, value in design.sizes}


def _origins(design: Design) -> dict[str, str]:
    """Where each size comes from: the number of the rule that limits it, else whether it was assumed, asked for or is the pattern's."""
    decided = {"assumed": "assumed", "boat": "asked for", "spar": "the boat's spars", "pattern": "pattern"}
    found = {t.measurement: decided[t.decided_by] for t in design.targets if t.decided_by in decided}
    rules = {room.limit.value_name: room.limit.rule for room in reversed(design.headroom) if room.limit.corner is None}
    return found | {name: rule if len(rule) <= rings.LONGEST_RULE else "" for name, rule in rules.items()}


def _width_lines(design: Design, view: View, sizes: Mapping[str, Decimal], origins: Mapping[str, str]) -> list[Item]:
    """Each width from its leech point to the nearest point of the luff (a spinnaker's: to the luff point of the same fold), its name and
    figure on the line and its rule number under it."""
    points = sail.leech_points(design.outline)
    folded = sail.luff_points(design.outline) if _is_spinnaker(design) else {}
    items: list[Item] = []
    for name, _ in WIDTH_STATIONS:
        outcome = _is_spinnaker(design) and name not in origins  # follows from the half width by convention, and would lie on the median
        if name not in sizes or name not in points or outcome:
            continue
        leech = view.point(points[name])
        luff = view.point(folded.get(name) or nearest_on(design.outline.luff, points[name]))
        items += [Stroke((leech, luff), MEASURE), *_dot(leech)]
        text = f"{_NAMES[name]} {wording.size(sizes[name])}"
        # a spinnaker's median runs through the middle: the figure stands in the half at its leech
        clear, part = (2, 0.25) if _is_spinnaker(design) else (1, 0.5)
        if lettering.width(text, _FIGURE) + 3 <= hypot(leech[0] - luff[0], leech[1] - luff[1]) / clear:
            middle = (leech[0] + (luff[0] - leech[0]) * part, leech[1] + (luff[1] - leech[1]) * part - 0.85)
            items += backed(Letters(text, middle, _FIGURE, colour=ACCENT))
            items += _origin(origins.get(name, "computed"), middle, "middle")
        else:
            if lettering.width(text, _FIGURE) > _LUFF_OFFSET - 2.6:
                text = text.replace(_NAMES["three_quarter_width"], "3/4")
            items += _beside((luff[0], luff[1] - 0.85), text, origins.get(name, "computed"), -1.0 if view.mirror else 1.0)
    return items


def _median(design: Design, view: View, sizes: Mapping[str, Decimal], origins: Mapping[str, str], widths: Sequence[Line]) -> list[Item]:
    """The foot median from the head point to the middle of the foot, its figure between the foot and the lowest of the widths' lines."""
    head, foot = view.point(design.outline.head_point), view.point(sail.foot_middle(design.outline))
    said = " · ".join(filter(None, (f"foot median {wording.size(sizes['foot_median'])}", origins.get("foot_median", ""))))
    room = min((_distance_from_line(foot, a, b) for a, b in widths), default=hypot(head[0] - foot[0], head[1] - foot[1])) - 2.0
    size, part = lettering.fitting_size(said, _FIGURE, room), (room / 2 + 1.3) / hypot(head[0] - foot[0], head[1] - foot[1])
    at = (foot[0] + (head[0] - foot[0]) * part + 0.8, foot[1] + (head[1] - foot[1]) * part)
    letters = Letters(said, at, size, "middle", reading_angle(foot, head), colour=ACCENT)
    return [Stroke((head, foot), MEASURE), *_dot(foot), *backed(letters)]


def _beside(luff: Point, text: str, origin: str, outward: float) -> list[Item]:
    """A text outside the luff, for a width that is too short to carry it."""
    at, anchor = (luff[0] - 1.6 * outward, luff[1]), "end" if outward > 0 else "start"
    return [*backed(Letters(text, at, _FIGURE, anchor, colour=ACCENT)), *_origin(origin, at, anchor)]


def _origin(text: str, above: Point, anchor: str) -> list[Item]:
    """Where a figure comes from, in small type under it."""
    return list(backed(Letters(text, (above[0], above[1] - 2.6), _ORIGIN, anchor, colour=SOFT))) if text else []


def _dot(p: Point, radius: float = 0.5) -> list[Item]:
    x, y = p
    return [Stroke(((x - radius, y), (x, y - radius), (x + radius, y), (x, y + radius)), None, True, ACCENT)]


def nearest_on(line: Line, p: Point) -> Point:
    """The point of a polyline that is nearest to p."""
    return min((_nearest_on_segment(a, b, p) for a, b in pairwise(line)), key=lambda q: hypot(q[0] - p[0], q[1] - p[1]))


def _nearest_on_segment(a: Point, b: Point, p: Point) -> Point:
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    t = 0.0 if square == 0 else max(0.0, min(1.0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square))
    return a[0] + t * dx, a[1] + t * dy


def _distance_from_line(p: Point, a: Point, b: Point) -> float:
    length = hypot(b[0] - a[0], b[1] - a[1])
    return abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / length
