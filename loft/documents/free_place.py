"""Where there is room for a text on a crowded drawing: a grid of what is drawn already, in paper mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil, cos, floor, hypot, pi, radians, sin

from costing.sail import Line, Point
from loft.documents import label_place, lettering
from loft.documents.drawing import INK, Item, Letters, Pen, Stroke, bounds

Box = tuple[float, float, float, float]  # x0, y0, x1, y1

_CELL = 0.7
_CAPITAL = 0.72  # capitals stand this much of the letter height
_LEADER = Pen(0.22, INK)
_CROSSING = 4.0  # a leader goes this many mm further rather than across a line


@dataclass(slots=True)
class Taken:
    """What is drawn within `area`: `line`, `text` and `inside` mark it as taken."""

    area: Box
    cells: set[tuple[int, int]] = field(default_factory=set)
    filled: set[tuple[int, int]] = field(default_factory=set)  # no place for a text, though a leader may go over it

    def line(self, line: Line) -> None:
        for a, b in pairwise(line):
            self.cells.update(_along(a, b))

    def text(self, letters: Letters) -> None:
        self.cells.update(_cells(text_box(letters, 0.5)))

    def inside(self, ring: Line) -> None:
        """The inside of a small part: a text there would be read as its own."""
        _, y0, _, y1 = bounds(ring)
        for j in range(floor(y0 / _CELL), floor(y1 / _CELL) + 1):
            for low, high in label_place.runs(ring, (j + 0.5) * _CELL):
                self.filled.update((i, j) for i in range(floor(low / _CELL), floor(high / _CELL) + 1))

    def has_room(self, letters: Letters, pad: float = 0.4) -> bool:
        """Whether the text lies inside the area and over nothing that is drawn."""
        box = text_box(letters, pad)
        inside = self.area[0] <= box[0] and self.area[1] <= box[1] and box[2] <= self.area[2] and box[3] <= self.area[3]
        return inside and not any(cell in self.cells or cell in self.filled for cell in _cells(box))

    def crossings(self, a: Point, b: Point) -> int:
        """How many times the line from a to b goes over something."""
        hits = [cell in self.cells for cell in _along(a, b)]
        return sum(now and not before for before, now in pairwise([False, *hits]))


def text_box(letters: Letters, pad: float = 0.0) -> Box:
    """The upright box round a text of capitals that is anchored at its middle."""
    turn, half = radians(letters.angle), lettering.width(letters.text, letters.height, letters.font) / 2
    rise = letters.height * _CAPITAL / 2
    x, y = letters.at[0] - rise * sin(turn), letters.at[1] + rise * cos(turn)
    wide, high = half * abs(cos(turn)) + rise * abs(sin(turn)) + pad, half * abs(sin(turn)) + rise * abs(cos(turn)) + pad
    return x - wide, y - high, x + wide, y + high


def with_leader(spot: Point, name: str, height: float, font: str, taken: Taken) -> tuple[Item, ...]:
    """The name in the nearest free place, a dot on the part and a line between them; on the part itself when the sheet is full."""
    best: tuple[float, tuple[Item, ...]] | None = None
    for away, middle in _around(spot):
        if best is not None and away >= best[0]:
            break
        letters = Letters(name, (middle[0], middle[1] - height * _CAPITAL / 2), height, "middle", 0.0, font)
        if not taken.has_room(letters):
            continue
        end = _towards(text_box(letters, 0.5), spot)
        cost = away + _CROSSING * taken.crossings(spot, end)
        if best is None or cost < best[0]:
            best = cost, (Stroke((spot, end), _LEADER), dot(spot), letters)
    return best[1] if best else (Letters(name, spot, height, "middle", 0.0, font),)


def dot(p: Point, radius: float = 0.55) -> Stroke:
    ring = tuple((p[0] + radius * cos(pi * i / 4), p[1] + radius * sin(pi * i / 4)) for i in range(8))
    return Stroke(ring, None, True, _LEADER.colour)


def _around(spot: Point) -> Iterator[tuple[float, Point]]:
    """Places round a spot, the nearest first: how far, where."""
    for step in range(3, 50):
        away = step * 1.2
        for i in range(24):
            yield away, (spot[0] + away * cos(pi * i / 12), spot[1] + away * sin(pi * i / 12))


def _towards(box: Box, p: Point) -> Point:
    """The point of the box that is nearest to p."""
    return min(max(p[0], box[0]), box[2]), min(max(p[1], box[1]), box[3])


def _along(a: Point, b: Point) -> Iterator[tuple[int, int]]:
    steps = ceil(hypot(b[0] - a[0], b[1] - a[1]) / (_CELL * 0.7)) or 1
    for i in range(steps + 1):
        t = i / steps
        yield floor((a[0] + (b[0] - a[0]) * t) / _CELL), floor((a[1] + (b[1] - a[1]) * t) / _CELL)


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    for i in range(floor(box[0] / _CELL), floor(box[2] / _CELL) + 1):
        for j in range(floor(box[1] / _CELL), floor(box[3] / _CELL) + 1):
            yield i, j
