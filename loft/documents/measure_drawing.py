"""What to measure from where to where: a sail of each kind, drawn with numbered arrows. Not to scale, and nobody's sail."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from functools import cache
from math import cos, hypot, radians, sin

from costing import sail
from costing.measurements import MEASUREMENTS, SPINNAKERS, WIDTH_STATIONS, SailKind
from costing.sail import LuffCurve, Outline, Point
from loft.documents.drawing import ACCENT, INK, OUTLINE, PAPER, SOFT, Drawing, Item, Letters, Pen, Stroke, View, arrow, backed, fit
from loft.documents.sail_drawing import nearest_on
from loft.documents.typefaces import BOLD

#: Sizes, mm, that give each kind its look.
_LOOKS: dict[SailKind, dict[str, int]] = {
    SailKind.MAINSAIL: {"luff_length": 5200, "leech_length": 5600, "foot_length": 2450, "half_width": 1470, "top_width": 240},
    SailKind.HEADSAIL: {"luff_length": 4600, "leech_length": 4250, "foot_length": 1900, "top_width": 60},
    SailKind.SYMMETRIC_SPINNAKER: {"luff_length": 4300, "leech_length": 4300, "foot_length": 2500, "half_width": 2700},
    SailKind.ASYMMETRIC_SPINNAKER: {"luff_length": 4700, "leech_length": 4200, "foot_length": 2400, "half_width": 2300},
    SailKind.TRYSAIL: {"luff_length": 3000, "leech_length": 3900, "foot_length": 2400},
    SailKind.STORM_JIB: {"luff_length": 3600, "leech_length": 2900, "foot_length": 1700},
}
_ARROW = Pen(0.25, ACCENT)
_SPAR = Pen(1.1, SOFT)
_BALL = 2.1

Ends = tuple[Point, Point]


def measurable(kind: SailKind) -> tuple[str, ...]:
    """The measurements that the drawing of a kind can show, in the order of its numbers."""
    return tuple(_ends(kind))


def labelled(name: str) -> tuple[str, str]:
    """What a measurement is called, and from where to where it goes."""
    return MEASUREMENTS[name].label, MEASUREMENTS[name].construction


def measuring_drawing(kind: SailKind, names: Sequence[str], *, width: float = 80.0, height: float = 118.0) -> Drawing:
    """The sail from its port side with an arrow for each named measurement, numbered from 1 in the order of `names`."""
    ends, outline = _ends(kind), look(kind)
    with_spars = any(name.endswith("band_distance") for name in names)
    view = fit(outline.ring, (17.0 if with_spars else 11.0, 23.0, width - 29.0, height - 32.0))
    items: list[Item] = [Stroke(view.line(outline.ring), OUTLINE, True, PAPER)]
    if with_spars:
        items += _spars(outline, view)
    for number, name in enumerate(names, start=1):
        if name in ends:
            items += _numbered(number, *_on_paper(name, ends[name], outline, view), at=_AT.get(name, 0.5))
    side = "Port side (luff on the left), not to scale" + ("; the sail lies flat" if kind in SPINNAKERS else "")
    return Drawing(width, height, (*items, Letters(side, (width / 2, 2.0), 2.5, colour=SOFT)), f"What to measure on a {kind.value}")


#: Where along its arrow a number stands, so that numbers keep clear of each other.
_AT = {"luff_perpendicular": 0.32, "foot_median": 0.7, "tack_perpendicular": 0.35, "foot_round": 0.5}
#: How far outside the sail the arrow of an edge is drawn, paper mm.
_BESIDE = {"luff_length": 5.5, "leech_length": 5.5, "foot_length": 7.5, "mast_band_distance": 11.0, "boom_band_distance": 13.0}


def look(kind: SailKind) -> Outline:
    """The outline that stands for a kind of sail."""
    return _look(kind)


@cache
def _look(kind: SailKind) -> Outline:
    sizes = {name: Decimal(mm) for name, mm in _LOOKS[kind].items()}
    return sail.outline(sail.shape_from_sizes(kind, sizes, LuffCurve(())))


def _ends(kind: SailKind) -> Mapping[str, Ends]:
    """Where each measurement begins and ends, sail coordinates; what the drawn sail has none of (a pointed head) is left out."""
    return {name: (a, b) for name, (a, b) in _all_ends(look(kind), kind).items() if hypot(b[0] - a[0], b[1] - a[1]) > 5}


def _all_ends(o: Outline, kind: SailKind) -> dict[str, Ends]:
    found: dict[str, Ends] = {
        "luff_length": (o.tack_point, o.head_point),
        "leech_length": (o.head_point, o.clew_point),
        "foot_length": (o.tack_point, o.clew_point),
    }
    points = sail.leech_points(o)
    across: Callable[[Point], Point] = (lambda p: _level(o, p)) if kind in SPINNAKERS else (lambda p: nearest_on(o.luff, p))
    for name in ("half_width",) if kind in SPINNAKERS else tuple(n for n, _ in WIDTH_STATIONS):
        found[name] = (points[name], across(points[name]))
    middle = ((o.tack_point[0] + o.clew_point[0]) / 2, (o.tack_point[1] + o.clew_point[1]) / 2)
    if kind in SPINNAKERS:
        found["foot_median"] = (o.head_point, nearest_on(o.foot, middle))
        return found
    if kind is not SailKind.TRYSAIL:
        found["top_width"] = (o.aft_head_point, o.head_point)
    found["foot_round"] = (middle, nearest_on(o.foot, middle))
    if kind in (SailKind.HEADSAIL, SailKind.STORM_JIB):
        found["luff_perpendicular"] = (o.clew_point, nearest_on(o.luff, o.clew_point))
    if kind is SailKind.TRYSAIL:
        found["tack_perpendicular"] = (o.tack_point, nearest_on(o.leech, o.tack_point))
    if kind in (SailKind.MAINSAIL, SailKind.TRYSAIL):
        found["mast_band_distance"] = (o.tack_point, o.head_point)
        found["boom_band_distance"] = (o.tack_point, o.clew_point)
    return found


def _level(o: Outline, p: Point) -> Point:
    """The point of a spinnaker's luff as far along it as p is along the leech."""
    share = (o.head_point[1] - p[1]) / (o.head_point[1] - o.clew_point[1])
    y = o.head_point[1] - share * (o.head_point[1] - o.tack_point[1])
    return min(o.luff, key=lambda q: abs(q[1] - y))


def _on_paper(name: str, ends: Ends, o: Outline, view: View) -> Ends:
    """The arrow on paper; of an edge beside it, outside the round of the sail. A spinnaker's lie inside its round."""
    a, b = view.point(ends[0]), view.point(ends[1])
    away = _BESIDE.get(name, 0.0)
    if not away or (o.kind in SPINNAKERS and name != "foot_length"):
        return a, b
    length = hypot(b[0] - a[0], b[1] - a[1])
    out = 1.0 if name in ("luff_length", "leech_length", "mast_band_distance") else -1.0  # to the left of the direction from a to b
    nx, ny = -(b[1] - a[1]) / length * out, (b[0] - a[0]) / length * out
    edge = {"luff_length": o.luff, "leech_length": o.leech, "foot_length": o.foot}.get(name, ())
    bulge = max((((x - a[0]) * nx + (y - a[1]) * ny) for x, y in map(view.point, edge)), default=0.0)
    away += max(bulge, 0.0)
    return (a[0] + nx * away, a[1] + ny * away), (b[0] + nx * away, b[1] + ny * away)


def _numbered(number: int, a: Point, b: Point, *, at: float) -> list[Item]:
    """The arrow with its number on it, or behind its start where it is too short to carry it."""
    length = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
    if length < 4 * _BALL:
        at = -(_BALL + 0.7) / length
    x, y = a[0] + (b[0] - a[0]) * at, a[1] + (b[1] - a[1]) * at
    ring = tuple((x + _BALL * dx, y + _BALL * dy) for dx, dy in _CIRCLE)
    ball: list[Item] = [Stroke(ring, Pen(0.2, ACCENT), True, PAPER), Letters(str(number), (x, y - 0.95), 2.7, font=BOLD, colour=INK)]
    return [*arrow(a, b, _ARROW, 1.5), *arrow(b, a, _ARROW, 1.5), *ball]


_CIRCLE = tuple((cos(radians(15 * i)), sin(radians(15 * i))) for i in range(24))


def _spars(o: Outline, view: View) -> list[Item]:
    """Mast and boom beside the sail, so that P and E have something to lie on."""
    tack, head, clew = (view.point(p) for p in (o.tack_point, o.head_point, o.clew_point))
    mast = ((tack[0] - 2.2, tack[1] - 6.0), (head[0] - 2.2, head[1] + 4.0))
    boom = ((tack[0] - 2.2, tack[1] - 4.0), (clew[0] + 4.0, clew[1] - 4.0))
    names = [
        Letters("mast", (head[0] - 4.4, head[1] + 2.5), 2.2, "end", colour=SOFT),
        Letters("boom", (clew[0] + 5.0, clew[1] - 4.8), 2.2, "start", colour=SOFT),
    ]
    return [Stroke(mast, _SPAR), Stroke(boom, _SPAR), *backed(names[0]), *backed(names[1])]
