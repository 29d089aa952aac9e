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

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.intp]

#: Cells that a shape enters by less than this part of a cell do not count: a tenth of the audit's tolerance on 10 mm cells.
GRAZE = 1e-3

#: A shape that fits nowhere mostly shows it by a part of its runs: they are tried in this many interleaved shares.
_STRIDE = 10

#: Column, columns, row, rows: that many like columns, each covered from `row` for so many cells.
Run = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Footprint:
    """A shape on the grid: size in cells, its bits for a strip of so many rows, and the same cells as runs."""

    columns: int
    height: int
    bits: int
    runs: tuple[Run, ...]


def edges_of(rings: Sequence[Floats]) -> Floats:
    """The edges of closed rings as rows x0, y0, x1, y1."""
    return np.concatenate([np.hstack((ring, np.concatenate((ring[1:], ring[:1])))) for ring in rings])


def footprint(edges: Floats, cell: float, rows: int, ease: float = 0.0) -> Footprint:
    """The cells touched by the shape with these edges; its coordinates are measured from the strip's corner, not below 0.

    ease: cells that the shape loses at either end along the strip.
    """
    edges = edges / cell
    # a low shape is looked at alone, without the rows above it
    rows_used = min(rows, math.ceil(edges[:, [1, 3]].max()) + 1)
    covered = _eased(edges, rows_used, ease) if ease else _covered(edges, rows_used, _columns(edges))
    return Footprint(columns=covered.shape[0], height=_height(covered), bits=_bits(covered, rows), runs=_runs(covered))


def bits_of(edges: Floats, cell: float, rows: int) -> int:
    """Only the bits of `footprint`, for a shape that is put down where it is."""
    edges = edges / cell
    return _bits(_covered(edges, rows, _columns(edges)), rows)


def _columns(edges: Floats) -> int:
    return max(1, math.ceil(float(edges[:, [0, 2]].max()) - GRAZE))


def _covered(edges: Floats, rows: int, columns: int) -> Bools:
    swap = edges[:, 0] > edges[:, 2]
    edges = np.where(swap[:, None], edges[:, [2, 3, 0, 1]], edges)
    return _touched(edges, columns, rows) | _inside(edges, columns, rows)


def _eased(edges: Floats, rows: int, ease: float) -> Bools:
    """What the shape covers both so much further right and so much further left; of a stretch too narrow for that, all of it.

    A stretch that were lost would leave the shape lower than it is, and across the strip nothing is pushed apart.
    """
    along = np.array((ease, 0.0, ease, 0.0))
    columns = _columns(edges + along)
    right = _covered(edges + along, rows, columns)
    left = _covered(np.maximum(edges - along, (0.0, -np.inf, 0.0, -np.inf)), rows, columns)
    both, either = right & left, right | left
    begins = either.copy()
    begins[1:] &= ~either[:-1]
    # numbered row by row, as a stretch never goes on in the next row
    stretch = np.where(either.T, begins.T.cumsum().reshape(rows, columns), 0)
    kept = np.bincount(stretch[both.T], minlength=int(stretch.max()) + 1) > 0
    return both | (either & ~kept[stretch].T)


def _spread(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """For each edge, its columns first .. first + count - 1: the edge's index and the column, flat."""
    edge = np.repeat(np.arange(len(first)), count)
    start = np.repeat(np.cumsum(count) - count, count)
    return edge, first[edge] + np.arange(len(edge)) - start


def _touched(edges: Floats, columns: int, rows: int) -> Bools:
    xa, ya, xb, yb = edges.T
    first = np.clip(np.floor(xa + GRAZE), 0, columns - 1).astype(np.intp)
    last = np.clip(np.ceil(xb - GRAZE) - 1, first, columns - 1).astype(np.intp)
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


def _inside(edges: Floats, columns: int, rows: int) -> Bools:
    """Cells whose lower left corner is inside: an odd number of edges lies below it."""
    xa, ya, xb, yb = edges.T
    first = np.ceil(xa).astype(np.intp)
    edge, column = _spread(first, np.maximum(np.ceil(xb).astype(np.intp) - first, 0))
    y = ya[edge] + (yb[edge] - ya[edge]) * (column - xa[edge]) / np.maximum(xb[edge] - xa[edge], 1e-12)
    row = np.clip(np.ceil(y), 0, rows).astype(np.intp)
    keep = column < columns
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
    return tuple(runs)


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
        for every in range(_STRIDE):
            free ^= free & forbidden_places(self._dilated, shape.runs[every::_STRIDE], self.rows)
            if not free:
                break
        return free


def first(free: int) -> int | None:
    """The leftmost, then lowest, of these places."""
    return (free & -free).bit_length() - 1 if free else None


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
