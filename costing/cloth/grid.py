"""Free places on a strip of cloth, found on a grid of cells with whole columns of bits at a time.

A strip of `rows` cells across is one long integer: the cell in column c and row r is bit c * rows + r. So all places where a
shape may not lie are found with a few shifts a column of the shape, and the lowest free bit is the leftmost, then lowest, free place.
A cell counts as covered when the shape touches it, so what is free on the grid is free on the cloth.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.intp]

#: Cells that a shape enters by less than this part of a cell do not count: a tenth of the audit's tolerance on 10 mm cells.
GRAZE = 1e-3

#: Column, columns, row, rows: that many like columns, each covered from `row` for so many cells.
Run = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True, eq=False)
class Footprint:
    """A shape on the grid: size in cells, its bits for a strip of so many rows, and the same cells as runs, in the order to try them."""

    columns: int
    height: int
    bits: int
    runs: tuple[Run, ...]


def edges_of(rings: Sequence[Floats]) -> Floats:
    """The edges of closed rings as rows x0, y0, x1, y1."""
    return np.concatenate([np.hstack((ring, np.concatenate((ring[1:], ring[:1])))) for ring in rings])


def footprints(turns: Sequence[Floats], cell: float, rows: int, ease: float = 0.0) -> tuple[Footprint, ...]:
    """The cells touched by the shapes with these edges, one after another; coordinates are measured from the strip's corner, not below 0.

    ease: cells that each shape loses at either end along the strip.
    """
    shapes = [edges / cell for edges in turns]
    # low shapes are looked at alone, without the rows above them
    rows_used = min(rows, math.ceil(max(edges[:, [1, 3]].max() for edges in shapes)) + 1)
    return tuple(
        Footprint(columns=covered.shape[0], height=_height(covered), bits=_bits(covered, rows), runs=_runs(covered))
        for covered in (_eased(shapes, rows_used, ease) if ease else _covered(shapes, rows_used))
    )


def bits_of(edges: Floats, cell: float, rows: int) -> int:
    """Only the bits of a footprint, for a shape that is put down where it is."""
    return _bits(_covered([edges / cell], rows)[0], rows)


def _columns(edges: Floats) -> int:
    return max(1, math.ceil(float(edges[:, [0, 2]].max()) - GRAZE))


def _covered(shapes: Sequence[Floats], rows: int) -> list[Bools]:
    """The cells that each shape touches; all are looked at in one go, beside one another with an empty column between."""
    columns = [_columns(edges) for edges in shapes]
    starts = [0, *accumulate(count + 1 for count in columns)]
    edges = np.concatenate([np.add(edges, (start, 0.0, start, 0.0)) for edges, start in zip(shapes, starts, strict=False)])
    most = np.repeat(np.add(starts[:-1], columns) - 1, [len(edges) for edges in shapes])
    swap = edges[:, 0] > edges[:, 2]
    edges = np.where(swap[:, None], edges[:, [2, 3, 0, 1]], edges)
    cells = _touched(edges, most, starts[-1], rows) | _inside(edges, most, starts[-1], rows)
    return [cells[start : start + count] for start, count in zip(starts, columns, strict=False)]


def _eased(shapes: Sequence[Floats], rows: int, ease: float) -> list[Bools]:
    """What each shape covers both so much further right and so much further left; of a stretch too narrow for that, all of it.

    A stretch that were lost would leave the shape lower than it is, and across the strip nothing is pushed apart.
    """
    along = np.array((ease, 0.0, ease, 0.0))
    moved = [edges + along for edges in shapes]
    moved += [np.maximum(edges - along, (0.0, -np.inf, 0.0, -np.inf)) for edges in shapes]
    covered = _covered(moved, rows)
    return [_kept(right, left) for right, left in zip(covered[: len(shapes)], covered[len(shapes) :], strict=True)]


def _kept(right: Bools, left: Bools) -> Bools:
    left = np.pad(left, ((0, right.shape[0] - left.shape[0]), (0, 0)))
    both, either = right & left, right | left
    begins = either.copy()
    begins[1:] &= ~either[:-1]
    # numbered row by row, as a stretch never goes on in the next row
    stretch = np.where(either.T, begins.T.cumsum().reshape(either.shape[::-1]), 0)
    kept = np.bincount(stretch[both.T], minlength=int(stretch.max()) + 1) > 0
    return np.asarray(both | (either & ~kept[stretch].T))


def _spread(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """For each edge, its columns first .. first + count - 1: the edge's index and the column, flat."""
    edge = np.repeat(np.arange(len(first)), count)
    start = np.repeat(np.cumsum(count) - count, count)
    return edge, first[edge] + np.arange(len(edge)) - start


def _touched(edges: Floats, most: Ints, columns: int, rows: int) -> Bools:
    xa, ya, xb, yb = edges.T
    first = np.clip(np.floor(xa + GRAZE), 0, most).astype(np.intp)
    last = np.clip(np.ceil(xb - GRAZE) - 1, first, most).astype(np.intp)
    edge, column = _spread(first, last - first + 1)
    xa, ya, xb, yb = xa[edge], ya[edge], xb[edge], yb[edge]
    run = xb - xa
    slope = np.divide(yb - ya, run, out=np.zeros_like(run), where=run > 1e-12)
    left = ya + slope * (np.maximum(column, xa) - xa)
    right = np.where(run > 1e-12, ya + slope * (np.minimum(column + 1, xb) - xa), yb)
    low = np.clip(np.floor(np.minimum(left, right) + GRAZE), 0, rows - 1).astype(np.intp)
    high = np.clip(np.ceil(np.maximum(left, right) - GRAZE) - 1, low, rows - 1).astype(np.intp)
    size = columns * (rows + 1)
    opened = np.bincount(column * (rows + 1) + low, minlength=size)
    closed = np.bincount(column * (rows + 1) + high + 1, minlength=size)
    depth = np.cumsum((opened - closed).reshape(columns, rows + 1), axis=1)
    return np.asarray(depth[:, :rows] > 0)


def _inside(edges: Floats, most: Ints, columns: int, rows: int) -> Bools:
    """Cells whose lower left corner is inside: an odd number of edges lies below it."""
    xa, ya, xb, yb = edges.T
    first = np.ceil(xa).astype(np.intp)
    edge, column = _spread(first, np.maximum(np.ceil(xb).astype(np.intp) - first, 0))
    y = ya[edge] + (yb[edge] - ya[edge]) * (column - xa[edge]) / np.maximum(xb[edge] - xa[edge], 1e-12)
    row = np.clip(np.ceil(y), 0, rows).astype(np.intp)
    keep = column <= most[edge]
    toggles = np.bincount(column[keep] * (rows + 1) + row[keep], minlength=columns * (rows + 1))
    count = np.cumsum(toggles.reshape(columns, rows + 1), axis=1)
    return np.asarray(count[:, :rows] % 2 == 1)


def _height(covered: Bools) -> int:
    return int(np.flatnonzero(covered.any(axis=0))[-1]) + 1


def _bits(covered: Bools, rows: int) -> int:
    whole = np.zeros((covered.shape[0], rows), dtype=np.bool_)
    whole[:, : covered.shape[1]] = covered
    return int.from_bytes(np.packbits(whole.ravel(), bitorder="little").tobytes(), "little")


def _runs(covered: Bools) -> tuple[Run, ...]:
    framed = np.zeros((covered.shape[0], covered.shape[1] + 2), dtype=np.int8)
    framed[:, 1:-1] = covered
    steps = np.diff(framed, axis=1)
    columns, starts = np.nonzero(steps == 1)
    _, ends = np.nonzero(steps == -1)
    runs: list[Run] = []
    open_runs: dict[tuple[int, int], int] = {}
    for column, start, end in zip(columns.tolist(), starts.tolist(), ends.tolist(), strict=True):
        at = open_runs.get((start, end))
        if at is not None and runs[at][0] + runs[at][1] == column:
            runs[at] = (runs[at][0], runs[at][1] + 1, start, end - start)
        else:
            open_runs[(start, end)] = len(runs)
            runs.append((column, 1, start, end - start))
    return _telling_first(runs)


def _telling_first(runs: list[Run]) -> tuple[Run, ...]:
    """The largest run, then runs from all over the shape: one that fits nowhere mostly shows it by a few of them."""
    largest = max(range(len(runs)), key=lambda i: runs[i][1] * runs[i][3])
    return runs[largest], *(runs[i] for i in _spread_out(len(runs)) if i != largest)


@lru_cache(maxsize=1024)
def _spread_out(count: int) -> tuple[int, ...]:
    """0 .. count - 1, the first few of them spread evenly, and so on: the order of their binary digits read backwards."""
    digits = (count - 1).bit_length()
    order = (int(f"{i:0{digits}b}"[::-1], 2) for i in range(1 << digits)) if digits else (0,)
    return tuple(i for i in order if i < count)


@lru_cache(maxsize=1024)
def allowed(rows: int, height: int, columns: int) -> int:
    """The places, in so many columns, where a shape of this height does not stick out at the top."""
    return _ones_each_column(rows, columns) * ((1 << (rows - height + 1)) - 1)


@lru_cache(maxsize=256)
def _ones_each_column(rows: int, columns: int) -> int:
    ones, have = 1, 1
    while have < columns:
        more = min(have, columns - have)
        ones |= (ones & ((1 << more * rows) - 1)) << have * rows
        have += more
    return ones


class Strip:
    """A strip of cloth, `columns` by `rows` cells, and what lies on it."""

    def __init__(self, columns: int, rows: int) -> None:
        self.columns, self.rows = columns, rows
        self.occupied = 0
        self._dilated: list[int] = []

    def put(self, bits: int, place: int = 0) -> None:
        self.occupied |= (bits << place) & ((1 << self.columns * self.rows) - 1)
        self._dilated = []

    def free(self, shape: Footprint) -> int:
        """All places inside the strip where the shape lies on nothing; a bit a place, 0 when it fits nowhere."""
        columns = self.columns - shape.columns + 1
        if columns <= 0 or shape.height > self.rows:
            return 0
        if not self._dilated:
            self._dilated = dilations(self.occupied, self.rows)
        free = allowed(self.rows, shape.height, columns)
        tried = 0
        while free and tried < len(shape.runs):
            more = max(1, tried)
            free ^= free & forbidden_places(self._dilated, shape.runs[tried : tried + more], self.rows)
            tried += more
        return free


def first(free: int) -> int | None:
    """The leftmost, then lowest, of these places."""
    return (free & -free).bit_length() - 1 if free else None


def meeting(laid: Footprint, shape: Footprint, rows: int) -> tuple[int, int]:
    """Where a shape may not lie once another one lies at place `at`: that, and a bit for each such place."""
    at = (shape.columns + 1) * rows
    return at, forbidden_places(dilations(laid.bits << at, rows), shape.runs, rows)


def shifted(bits: int, by: int) -> int:
    return bits << by if by >= 0 else bits >> -by


def dilations(occupied: int, rows: int) -> list[int]:
    """For k = 0, 1, ...: the places from which a run of 2**k cells upwards meets something occupied."""
    result, length = [occupied], 1
    while length * 2 <= rows:
        result.append(result[-1] | result[-1] >> length)
        length *= 2
    return result


def forbidden_places(dilated: list[int], runs: tuple[Run, ...], rows: int) -> int:
    """The places where a shape with these runs meets what `dilated` was made from."""
    result = 0
    for column, columns, row, length in runs:
        power = length.bit_length() - 1
        hit = dilated[power] >> (column * rows + row)
        if length > 1 << power:
            hit |= hit >> (length - (1 << power))
        have = 1
        while have < columns:
            more = min(have, columns - have)
            hit |= hit >> more * rows
            have += more
        result |= hit
    return result
