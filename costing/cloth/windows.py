"""What is still free of a strip, in windows between columns that are full, and a quick test of what cannot lie in one.

High panels leave little between them: places are looked for there alone. A shape contains rectangles; where no free rectangle of one
of these sizes is left, the shape cannot lie. Neither changes where a shape comes to lie, only how soon that is found.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from costing.cloth.grid import Footprint, Strip, allowed

#: Heights of the rectangles, in parts of the strip's rows.
_SHARES = (1 / 30, 1 / 12, 1 / 6, 1 / 3)
#: Columns in all, and how wide the rectangles of each height are.
Widths = tuple[int, ...]


class Window:
    """Columns of a section from `first` on, as a strip of their own."""

    def __init__(self, first: int, strip: Strip) -> None:
        self.first, self.strip = first, strip

    @property
    def room(self) -> Widths:
        """No shape that needs more than this, in any of the numbers, can lie in this window."""
        free = ((1 << self.strip.columns * self.strip.rows) - 1) & ~self.strip.occupied
        # runs that go on in the next column make too much of the room, never too little
        return self.strip.columns, *_widest(free, self.strip.rows, lambda height: -1)


def windows(strip: Strip) -> list[Window]:
    """The parts of the strip between full columns."""
    if not strip.occupied:
        return [Window(0, strip)]
    size = strip.columns * strip.rows
    cells = np.unpackbits(np.frombuffer(strip.occupied.to_bytes((size + 7) // 8, "little"), np.uint8), count=size, bitorder="little")
    free = np.pad(~cells.reshape(strip.columns, strip.rows).all(axis=1), 1).astype(np.int8)
    steps = np.diff(free)
    return [_window(strip, int(a), int(b)) for a, b in zip(np.flatnonzero(steps == 1), np.flatnonzero(steps == -1), strict=True)]


def _window(strip: Strip, first: int, end: int) -> Window:
    own = Strip(end - first, strip.rows)
    own.put((strip.occupied >> first * strip.rows) & ((1 << own.columns * strip.rows) - 1))
    return Window(first, own)


def need(shape: Footprint, rows: int) -> Widths:
    """Of a shape: its columns and, for each height, how many columns wide the widest rectangle is that lies in it."""
    # a run that begins too high would go on in the next column
    return shape.columns, *_widest(shape.bits, rows, lambda height: allowed(rows, height, shape.columns) if height <= rows else 0)


def _widest(bits: int, rows: int, begins: Callable[[int], int]) -> Widths:
    result, height, eroded = [], 1, bits
    for share in _SHARES:
        wanted = max(1, int(rows * share))
        while height < wanted:
            more = min(height, wanted - height)
            eroded &= eroded >> more
            height += more
        result.append(_longest(eroded & begins(height), rows))
    return tuple(result)


def _longest(bits: int, rows: int) -> int:
    """The longest run along the strip."""
    if not bits:
        return 0
    levels = [bits]
    while longer := levels[-1] & levels[-1] >> (rows << (len(levels) - 1)):
        levels.append(longer)
    length, at = 1 << (len(levels) - 1), levels[-1]
    for power in range(len(levels) - 2, -1, -1):
        if longer := at & levels[power] >> length * rows:
            at, length = longer, length + (1 << power)
    return length
