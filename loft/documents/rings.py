"""Rings away from the corners: their places in words, and on the drawing with the line that a reef is taken in to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from math import cos, pi, radians, sin

from costing.quote import Design
from costing.quote.priced import Ring
from costing.sail import Point
from loft.documents import wording
from loft.documents.drawing import ACCENT, INK, SOFT, Item, Letters, Pen, Stroke, View, backed, reading_angle

_RING, _PATCH, _REEF_LINE = Pen(0.3, INK), Pen(0.15, ACCENT), Pen(0.25, INK, (2.0, 1.2))
LONGEST_RULE = 12  # characters beside a size on a drawing; longer ones stand in the table beside it alone
_RADIUS, _FIGURE, _ORIGIN = 0.8, 2.3, 1.9
_FROM = {"luff": "tack point to the middle of the ring", "leech": "clew point to the middle of the ring"}


@dataclass(frozen=True, slots=True)
class Place:
    """Where a ring lies, in words: from which point, how far in a straight line (mm), and which rule or whose word it is by."""

    name: str
    measured: str
    mm: str
    source: str


def places(design: Design) -> tuple[Place, ...]:
    """The place of every ring of a design, reefs with the rule that limits their height."""
    return tuple(Place(ring.name, _FROM[ring.edge], *_size(design, ring)) for ring in design.rings)


def items(design: Design, view: View, *, sizes: bool) -> list[Item]:
    """Rings with their patches and reef lines; sizes: with how far each end of a reef lies from tack and clew."""
    found: list[Item] = [*_patches(design, view)]
    for luff, leech in _rows(design):
        found += _reef_line(design, luff, leech, view, sizes=sizes)
    return [*found, *(Stroke(_circle(view.point(ring.at)), _RING, True) for ring in design.rings)]


def is_reef(ring: Ring) -> bool:
    return ring.name.lower().startswith("reef")


def _size(design: Design, ring: Ring) -> tuple[str, str]:
    """How far a ring lies from its corner point, and why there."""
    limited = [
        room for room in design.headroom if room.limit.measurement == "reef_height" and room.value == Decimal(str(ring.from_corner_mm))
    ]
    if is_reef(ring) and ring.edge == "luff" and limited:
        return wording.designed_text(limited[0]), ", ".join(dict.fromkeys(room.limit.rule for room in limited))
    return wording.mm(ring.from_corner_mm, 1), "pattern"


def _rows(design: Design) -> Iterator[tuple[Ring, Ring]]:
    """The rings of each reef, from its luff to its leech: "reef 1 luff" and "reef 1 leech"."""
    at_luff = {_row(ring): ring for ring in design.rings if is_reef(ring) and ring.edge == "luff"}
    at_leech = {_row(ring): ring for ring in design.rings if is_reef(ring) and ring.edge == "leech"}
    yield from ((luff, at_leech[row]) for row, luff in at_luff.items() if row in at_leech)


def _row(ring: Ring) -> str:
    return ring.name.lower().removesuffix(ring.edge).strip()


def _patches(design: Design, view: View) -> Iterator[Item]:
    names = tuple(ring.name.upper() for ring in design.rings)
    shown = (p for p in design.parts if names and p.kind == "patch" and p.on_sail and p.id.upper().startswith(names))
    yield from (Stroke(view.line(p.on_sail), _PATCH, True) for p in shown)


def _reef_line(design: Design, luff: Ring, leech: Ring, view: View, *, sizes: bool) -> Iterator[Item]:
    a, b = view.point(luff.at), view.point(leech.at)
    yield Stroke((a, b), _REEF_LINE)
    if not sizes:
        return
    (at_luff, rule), (at_leech, _) = _size(design, luff), _size(design, leech)
    outward = 1.6 if a[0] > b[0] else -1.6
    at, anchor = (a[0] + outward, a[1] - 0.8), "start" if outward > 0 else "end"
    yield from _two_lines(f"{_row(luff)} {at_luff}", rule if len(rule) <= LONGEST_RULE else "", at, anchor, 0.0)
    angle = reading_angle(a, b)
    middle = ((a[0] + b[0]) / 2 + 2.7 * sin(radians(angle)), (a[1] + b[1]) / 2 - 2.7 * cos(radians(angle)))
    yield from _two_lines(f"leech {at_leech}", "from clew · pattern", middle, "middle", angle)


def _two_lines(size: str, origin: str, at: Point, anchor: str, angle: float) -> Iterator[Item]:
    """A size and, in small type under it, where it comes from."""
    turn = radians(angle)
    yield from backed(Letters(size, at, _FIGURE, anchor, angle, colour=ACCENT))
    if origin:
        yield from backed(Letters(origin, (at[0] + 2.5 * sin(turn), at[1] - 2.5 * cos(turn)), _ORIGIN, anchor, angle, colour=SOFT))


def _circle(p: Point) -> tuple[Point, ...]:
    return tuple((p[0] + _RADIUS * cos(i * pi / 8), p[1] + _RADIUS * sin(i * pi / 8)) for i in range(16))
