"""A drawing as plain lines and texts in paper millimetres, the same for PDF and SVG.

Origin at the lower left, y upwards. `View` takes sail or roll coordinates to paper; the two renderers only stroke, fill and letter.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, degrees, hypot, radians, sin

from costing.sail import Line, Point
from loft.documents import lettering
from loft.documents.typefaces import REGULAR

INK = "#1f2a30"
SOFT = "#66737b"
HAIR = "#c3ccd1"
TINT = "#f1f5f6"
ACCENT = "#1d5468"
SIGNAL = "#b3261e"
PAPER = "#ffffff"


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn: width and dashes in paper mm."""

    width: float = 0.25
    colour: str = INK
    dashes: tuple[float, ...] = ()


OUTLINE = Pen(0.4, INK)
SEAM = Pen(0.18, SOFT)
DETAIL = Pen(0.18, ACCENT)
MEASURE = Pen(0.13, ACCENT)


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line or, closed, an area; a pen of None leaves the edge undrawn."""

    line: Line
    pen: Pen | None = OUTLINE
    closed: bool = False
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class Letters:
    """A text on one line: height in paper mm, anchor start / middle / end, turned anticlockwise by `angle` degrees."""

    text: str
    at: Point
    height: float
    anchor: str = "middle"
    angle: float = 0.0
    font: str = REGULAR
    colour: str = INK


@dataclass(frozen=True, slots=True)
class Clip:
    """Items of which only what lies inside the box (x, y, width, height) is drawn."""

    box: tuple[float, float, float, float]
    items: tuple[Item, ...]


Item = Stroke | Letters | Clip


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished drawing; title says in words what it shows."""

    width: float
    height: float
    items: tuple[Item, ...]
    title: str = ""

    @property
    def texts(self) -> tuple[str, ...]:
        """Every text in the drawing, in order."""
        return tuple(_texts(self.items))


def _texts(items: Iterable[Item]) -> Iterable[str]:
    for item in items:
        if isinstance(item, Letters):
            yield item.text
        elif isinstance(item, Clip):
            yield from _texts(item.items)


@dataclass(frozen=True, slots=True)
class View:
    """Takes model mm to paper mm: turned anticlockwise by `turn` radians, scaled, mirrored left to right when asked, then shifted."""

    scale: float
    dx: float
    dy: float
    mirror: bool = False
    turn: float = 0.0

    def point(self, p: Point) -> Point:
        x, y = _turned(p, self.turn)
        return (-x if self.mirror else x) * self.scale + self.dx, y * self.scale + self.dy

    def line(self, points: Sequence[Point]) -> Line:
        """The points on paper, without those that lie near the one before and hardly turn the line."""
        moved = [self.point(p) for p in points]
        kept = moved[:1]
        for p, after in pairwise(moved[1:]):
            if not _hardly_turns(kept[-1], p, after):
                kept.append(p)
        return (*kept, *moved[-1:]) if len(moved) > 1 else tuple(kept)


def _turned(p: Point, turn: float) -> Point:
    if not turn:
        return p
    c, s = cos(turn), sin(turn)
    return p[0] * c - p[1] * s, p[0] * s + p[1] * c


def _hardly_turns(before: Point, p: Point, after: Point, near: float = 1.0) -> bool:
    """Within `near` paper mm of the point before and bending less than 6 degrees: leaving it out cannot be seen."""
    ax, ay, bx, by = p[0] - before[0], p[1] - before[1], after[0] - p[0], after[1] - p[1]
    a, b = ax * ax + ay * ay, bx * bx + by * by
    return a < near * near and ax * bx + ay * by >= 0 and (ax * by - ay * bx) ** 2 <= 0.011 * a * b


def bounds(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """Smallest and largest x and y: (x0, y0, x1, y1)."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def fit(points: Sequence[Point], box: tuple[float, float, float, float], *, mirror: bool = False, turn: float = 0.0) -> View:
    """The largest view of these model points inside a paper box (x, y, width, height), centred."""
    x0, y0, x1, y1 = bounds(_turned(p, turn) for p in points)
    if mirror:
        x0, x1 = -x1, -x0
    left, low, wide, high = box
    scale = min(wide / (x1 - x0), high / (y1 - y0))
    dx = left + (wide - (x1 - x0) * scale) / 2 - x0 * scale
    dy = low + (high - (y1 - y0) * scale) / 2 - y0 * scale
    return View(scale, dx, dy, mirror, turn)


def backed(letters: Letters, pad: float = 0.4) -> tuple[Item, ...]:
    """The text on a patch of blank paper, so that lines do not run through it."""
    length = lettering.width(letters.text, letters.height, letters.font)
    start = {"start": 0.0, "middle": -length / 2, "end": -length}[letters.anchor]
    turn = radians(letters.angle)
    left, right, low, high = start - pad, start + length + pad, -0.8 * pad, 0.78 * letters.height
    corners = ((left, low), (right, low), (right, high), (left, high))
    x, y = letters.at
    ring = tuple((x + a * cos(turn) - b * sin(turn), y + a * sin(turn) + b * cos(turn)) for a, b in corners)
    return Stroke(ring, None, True, PAPER), letters


def reading_angle(a: Point, b: Point) -> float:
    """The direction of a line in degrees, turned so that text along it is never upside down."""
    angle = degrees(atan2(b[1] - a[1], b[0] - a[0]))
    if angle > 90.0:
        return angle - 180
    return angle + 180 if angle <= -90.0 else angle


def dimension(a: Point, b: Point, text: str, *, offset: float = 0.0, height: float = 2.6) -> tuple[Item, ...]:
    """A dimension line from a to b in paper mm, shifted `offset` to the left of that direction, with its text on it."""
    length = hypot(b[0] - a[0], b[1] - a[1])
    nx, ny = -(b[1] - a[1]) / length, (b[0] - a[0]) / length
    start, end = (a[0] + nx * offset, a[1] + ny * offset), (b[0] + nx * offset, b[1] + ny * offset)
    items: list[Item] = [Stroke((start, end), MEASURE), *_ticks(start, end)]
    if offset:
        items += [Stroke((a, start), MEASURE), Stroke((b, end), MEASURE)]
    angle = reading_angle(start, end)
    turn = radians(angle)
    drop = height * 0.34
    at = ((start[0] + end[0]) / 2 + sin(turn) * drop, (start[1] + end[1]) / 2 - cos(turn) * drop)
    return (*items, *backed(Letters(text, at, height, "middle", angle, colour=ACCENT)))


def _ticks(a: Point, b: Point, size: float = 0.9) -> tuple[Stroke, Stroke]:
    """Short oblique strokes at both ends, as on a workshop drawing."""
    turn = atan2(b[1] - a[1], b[0] - a[0]) + radians(45)
    dx, dy = cos(turn) * size, sin(turn) * size
    pen = Pen(0.25, ACCENT)
    return Stroke(((a[0] - dx, a[1] - dy), (a[0] + dx, a[1] + dy)), pen), Stroke(((b[0] - dx, b[1] - dy), (b[0] + dx, b[1] + dy)), pen)


def arrow(a: Point, b: Point, pen: Pen, head: float = 1.8) -> tuple[Item, ...]:
    """A line with a filled head at b."""
    turn = atan2(b[1] - a[1], b[0] - a[0])
    wings = tuple((b[0] - head * cos(turn + s), b[1] - head * sin(turn + s)) for s in (0.35, -0.35))
    return Stroke((a, b), pen), Stroke((b, *wings), None, True, pen.colour)
