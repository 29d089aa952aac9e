"""Sections of the roll while a lay is built: what lies where, and the next free place for a piece."""

from __future__ import annotations

import math

import numpy as np

from costing.cloth.chain import Link, advance
from costing.cloth.grid import Footprint, Strip, bits_of, dilations, edges_of, footprint, forbidden_places
from costing.cloth.lay import Placement, Section, Table
from costing.cloth.shapes import Piece, Turned

#: Side of a grid cell, about, mm; the roll's width is divided evenly.
CELL_MM = 10.0


class Sections:
    """The sections of one lay. Coordinates inside are those of the grown shapes: half a gap below the usable edge is 0."""

    def __init__(self, usable_width_mm: float, table: Table, cell_mm: float = CELL_MM) -> None:
        self.table = table
        self.width = usable_width_mm + table.gap_mm
        self.rows = max(1, math.ceil(self.width / cell_mm - 1e-9))
        self.cell = self.width / self.rows
        self.columns = max(1, math.floor(table.length_mm / self.cell + 1e-9))
        self.placements: list[Placement] = []
        self._strips: list[Strip] = []
        self._lengths: list[float] = []

    @property
    def length_mm(self) -> float:
        return sum(self._lengths)

    @property
    def sections(self) -> tuple[Section, ...]:
        # a micrometre more than the last part's end, so that rounding never puts it outside
        return tuple(Section(number, round(length + 5e-4, 3)) for number, length in enumerate(self._lengths))

    def footprints(self, piece: Piece) -> tuple[Footprint, ...]:
        return tuple(footprint(edges_of(list(turn.rings)), self.cell, self.rows) for turn in piece.turns)

    def lay_chain(self, panels: list[Piece], order: list[Link]) -> None:
        """Put the panels of the chain down in this order, opening a section wherever the table ends."""
        copies = [list(reversed(piece.copies)) for piece in panels]
        before: Turned | None = None
        x = 0.0
        for panel, turn in order:
            shape = panels[panel].turns[turn]
            x = x + advance(before, shape) if before is not None else 0.0
            if before is None or x + shape.width > self.table.length_mm:
                x = self._open()
            self._put(shape, copies[panel].pop(), len(self._strips) - 1, x, 0.0)
            column = math.floor(x / self.cell)
            moved = [ring + np.array((x - column * self.cell, 0.0)) for ring in shape.rings]
            self._strips[-1].put(bits_of(edges_of(moved), self.cell, self.rows), column * self.rows)
            before = shape

    def lay_piece(self, piece: Piece) -> None:
        """Put every copy of the piece into the first section with room for it, as far left as it goes."""
        prints = self.footprints(piece)
        copies = list(reversed(piece.copies))
        section = 0
        while copies:
            if section == len(self._strips):
                self._open()
            self._fill(section, piece, prints, copies)
            section += 1

    def _fill(self, section: int, piece: Piece, prints: tuple[Footprint, ...], copies: list[tuple[str, str]]) -> None:
        strip = self._strips[section]
        taken = [strip.forbidden(shape) for shape in prints]
        meeting = _meetings(prints, self.rows) if len(copies) > 1 else ()
        while copies:
            found = self._leftmost(strip, prints, taken)
            if found is None:
                return
            turn, place = found
            column, row = divmod(place, self.rows)
            self._put(piece.turns[turn], copies.pop(), section, column * self.cell, row * self.cell)
            strip.put(prints[turn].bits, place)
            for other, (shift, places) in enumerate(meeting[turn] if meeting else ()):
                moved = place - shift
                taken[other] |= places << moved if moved >= 0 else places >> -moved

    def _leftmost(self, strip: Strip, prints: tuple[Footprint, ...], taken: list[int]) -> tuple[int, int] | None:
        """The turn and place that end furthest left, then lowest."""
        best: tuple[int, int, int] | None = None
        for turn, (shape, forbidden) in enumerate(zip(prints, taken, strict=True)):
            place = strip.first_free(shape, forbidden)
            if place is not None:
                end = place + shape.columns * self.rows
                if best is None or end < best[0]:
                    best = (end, turn, place)
        return best[1:] if best else None

    def _open(self) -> float:
        self._strips.append(Strip(self.columns, self.rows))
        self._lengths.append(0.0)
        return 0.0

    def _put(self, shape: Turned, copy: tuple[str, str], section: int, x: float, y: float) -> None:
        sail, part_id = copy
        edge = self.table.gap_mm / 2
        placed = Placement(sail, part_id, section, round(x + shape.dx, 3), round(y + shape.dy - edge, 3), shape.angle)
        self.placements.append(placed)
        self._lengths[section] = max(self._lengths[section], x + shape.width)


def _meetings(prints: tuple[Footprint, ...], rows: int) -> list[list[tuple[int, int]]]:
    """meeting[a][b]: where a shape at turn b may not lie once one at turn a lies at `shift`; as shift and places."""
    shift = (max(p.columns for p in prints) + 1) * rows
    around = [dilations(shape.bits << shift, rows) for shape in prints]
    return [[(shift, forbidden_places(dilated, other, rows)) for other in prints] for dilated in around]
