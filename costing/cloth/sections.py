"""Sections of the roll while a lay is built: what lies where, and the next free place for a piece."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from costing.cloth.chain import Chain, Link
from costing.cloth.front import Fronts, Heap
from costing.cloth.grid import Footprint, Ints, Strip, bits_of, edges_of, first, footprints, meeting, shifted
from costing.cloth.lay import Placement, Section, Table
from costing.cloth.push import Jammed, pushed_left
from costing.cloth.shapes import Piece, reach_mm
from costing.cloth.windows import Widths, Window, need, windows

#: Two parts with ease in each of two windows.
_PLAY_CELLS = 4
#: Nothing is pushed further at once, so that only neighbours are looked at.
_PUSH_MM = 100.0
#: A window between panels that is so long, or more, is laid along a front, as sections without panels are.
_WIDE_MM = 4000.0


@dataclass(frozen=True, slots=True)
class Ground:
    """The empty roll: the width that grown shapes may take, and its grid, whose cells divide the width evenly."""

    table: Table
    width: float
    rows: int
    ease: float = 0.0  # cells by which a part may overlap its neighbours along the roll, until the exact push brings them apart

    @property
    def cell(self) -> float:
        return self.width / self.rows

    @property
    def length(self) -> float:
        """Of the table, what parts may take before the exact push: with ease they may come out a little further right."""
        return self.table.length_mm - _PLAY_CELLS * self.cell * self.ease

    @property
    def columns(self) -> int:
        return max(1, math.floor(self.length / self.cell + 1e-9))

    def footprints(self, piece: Piece) -> tuple[Footprint, ...]:
        """The piece on the grid, a footprint for each of its turns."""
        return footprints([edges_of(turn.rings) for turn in piece.turns], self.cell, self.rows, self.ease)


def ground(usable_width_mm: float, table: Table, cell_mm: float, ease: float = 0.0) -> Ground:
    """What parts are grown by lies outside each usable edge: the gap is kept between parts, not at the edges."""
    width = usable_width_mm + 2 * reach_mm(table.gap_mm)
    return Ground(table, width, max(1, math.ceil(width / cell_mm - 1e-9)), ease)


@dataclass(frozen=True, slots=True)
class Laid:
    """A copy of a piece at one of its turns, its grown shape's corner at x, y in a section."""

    piece: Piece
    turn: int
    copy: tuple[str, str]
    section: int
    x: float
    y: float

    @property
    def end(self) -> float:
        return self.x + self.piece.turns[self.turn].width

    def placement(self, table: Table) -> Placement:
        shape = self.piece.turns[self.turn]
        low = self.y - reach_mm(table.gap_mm)
        return Placement(*self.copy, self.section, round(self.x + shape.dx, 3), round(low + shape.dy, 3), shape.angle)


def by_section(laid: Sequence[Laid]) -> list[list[Laid]]:
    sections: dict[int, list[Laid]] = {}
    for one in laid:
        sections.setdefault(one.section, []).append(one)
    return [own for _, own in sorted(sections.items())]


def pushed(own: Sequence[Laid]) -> list[Laid]:
    """The parts of one section pushed to the left until they touch, and small overlaps apart; Jammed where they do not come apart."""
    x = pushed_left([one.piece.turns[one.turn] for one in own], [one.x for one in own], [one.y for one in own], reach_mm=_PUSH_MM)
    return [replace(one, x=at) for one, at in zip(own, x, strict=True)]


def exact(own: Sequence[Laid]) -> list[Laid]:
    """The parts of one section pushed to the left until they touch; as they are where rounding let two of them overlap."""
    try:
        return pushed(own)
    except Jammed:
        return list(own)


def section_of(number: int, length: float) -> Section:
    """A micrometre more than the last part's end, so that rounding never puts it outside."""
    return Section(number, round(length + 5e-4, 3))


class Sections:
    """The sections of one lay, with what lies there already. Inside, coordinates are those of the grown shapes, whose 0 lies below the
    usable edge.
    """

    def __init__(self, on: Ground, laid: Sequence[Laid] = ()) -> None:
        self.on = on
        self.laid: list[Laid] = []
        self._strips: list[Strip] = []
        self._windows: list[tuple[int, Window]] = []
        self._rooms: list[Widths] = []
        self._lengths: list[float] = []
        for one in laid:
            while len(self._strips) <= one.section:
                self._open()
            self._put(one)
        self._look_for_windows(0)

    def _put(self, one: Laid) -> None:
        self._note(one)
        self._strips[one.section].put(*self._bits(one))

    @property
    def length_mm(self) -> float:
        return sum(self._lengths)

    @property
    def sections(self) -> tuple[Section, ...]:
        return tuple(section_of(number, length) for number, length in enumerate(self._lengths))

    def lay_chain(self, chain: Chain, order: Sequence[Link]) -> None:
        """Put the panels of the chain down in this order, opening a section wherever the table ends."""
        copies = [list(reversed(piece.copies)) for piece in chain.panels]
        section: list[tuple[float, Link]] = []
        for link in order:
            shape = chain.shape(link)
            # a low panel in between does not hold its neighbours apart, so all before it count
            x = max(0.0, max((at + chain.step(before, link) for at, before in section), default=math.inf))
            if not section or x + shape.width > self.on.length:
                self._open()
                section, x = [], 0.0
            section.append((x, link))
            self._put(Laid(chain.panels[link[0]], link[1], copies[link[0]].pop(), len(self._strips) - 1, x, 0.0))
        self._look_for_windows(0)

    def lay_piece(self, heap: Heap) -> None:
        """Put every copy of the piece into the first section with room for it, as far left as it goes."""
        seen = 0
        while True:
            for n in seen + self._may_hold(heap, seen):
                self._fill(int(n), heap)
                if not heap.copies:
                    return
            seen = self._open_window()

    def lay_closely(self, heaps: Sequence[Heap]) -> None:
        """Put every copy into a window between panels, as far left as it goes; what is left along fronts, in wide ones and new sections."""
        wide = deque(n for n, (_, window) in enumerate(self._windows) if window.strip.columns * self.on.cell >= _WIDE_MM)
        for heap in heaps:
            for n in self._may_hold(heap, 0):
                if heap.copies and n not in wide:
                    self._fill(int(n), heap)
        fronts = Fronts(self.on.rows, max((heap.piece.area for heap in heaps), default=0.0))
        while left := [heap for heap in heaps if heap.copies]:
            n = wide.popleft() if wide else self._open_window()
            for heap, turn, place in fronts.lay(self._windows[n][1].strip, left):
                self._note_copy(n, heap, turn, place)

    def _look_for_windows(self, first_section: int) -> None:
        found = [(n, window) for n, strip in enumerate(self._strips) if n >= first_section for window in windows(strip)]
        self._windows += found
        self._rooms += [window.room for _, window in found]

    def _may_hold(self, heap: Heap, seen: int) -> Ints:
        """The windows, counted from those seen already, that are not too small for all turns of a piece."""
        needs = np.array([need(shape, self.on.rows) for shape in heap.prints])
        rooms = np.array(self._rooms[seen:], dtype=np.intp).reshape(-1, 1, needs.shape[1])
        enough = np.asarray((rooms >= needs).all(axis=2))
        return np.flatnonzero(enough.any(axis=1))

    def _fill(self, n: int, heap: Heap) -> None:
        strip, prints = self._windows[n][1].strip, heap.prints
        free = [strip.free(shape) for shape in prints]
        meetings: dict[int, list[tuple[int, int]]] = {}
        while heap.copies and (found := _leftmost(strip.rows, prints, free)):
            turn, place = found
            self._note_copy(n, heap, turn, place)
            strip.put(prints[turn].bits, place)
            self._rooms[n] = self._windows[n][1].room
            if heap.copies:
                # the next copy is equal: only the one just laid is new to it
                if turn not in meetings:
                    meetings[turn] = [meeting(prints[turn], other, self.on.rows) for other in prints]
                free = [old & ~shifted(hit, place - at) for old, (at, hit) in zip(free, meetings[turn], strict=True)]

    def _note_copy(self, n: int, heap: Heap, turn: int, place: int) -> None:
        """The next copy of the piece lies at this place of the window."""
        section, window = self._windows[n]
        column, row = divmod(place, self.on.rows)
        self._note(Laid(heap.piece, turn, heap.copies.pop(), section, (window.first + column) * self.on.cell, row * self.on.cell))

    def _open(self) -> None:
        self._strips.append(Strip(self.on.columns, self.on.rows))
        self._lengths.append(0.0)

    def _open_window(self) -> int:
        """A new section, all of it one window; the window's number."""
        self._open()
        self._look_for_windows(len(self._strips) - 1)
        return len(self._windows) - 1

    def _note(self, laid: Laid) -> None:
        self.laid.append(laid)
        self._lengths[laid.section] = max(self._lengths[laid.section], laid.end)

    def _bits(self, one: Laid) -> tuple[int, int]:
        """The bits of a shape that lies between the grid's lines, and the place to put them."""
        column = math.floor(one.x / self.on.cell)
        moved = [ring + np.array((one.x - column * self.on.cell, one.y)) for ring in one.piece.turns[one.turn].rings]
        return bits_of(edges_of(moved), self.on.cell, self.on.rows), column * self.on.rows


def _leftmost(rows: int, prints: tuple[Footprint, ...], free: list[int]) -> tuple[int, int] | None:
    """The turn and place that end furthest left, then lowest."""
    best: tuple[int, int, int] | None = None
    for turn, (shape, places) in enumerate(zip(prints, free, strict=True)):
        place = first(places)
        if place is not None:
            end = place + shape.columns * rows
            if best is None or end < best[0]:
                best = (end, turn, place)
    return best[1:] if best else None
