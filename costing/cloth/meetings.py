"""Where two parts may not lie beside each other: for each step across the roll, the stretch along it that one denies the other.

A part is cut into rows; in each row it reaches from `left` to `right`. Of two such parts one denies the other a single stretch of x at
each difference of their rows, so all meetings of a section's parts fit in tables, and x stays exact while y moves in steps of a row.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from costing.cloth.chain import left_profile, right_profile
from costing.cloth.shapes import Piece, Turned

Singles = npt.NDArray[np.float32]
Ints = npt.NDArray[np.intp]

#: A part, or a part beside a hole in it, row by row: its leftmost and its rightmost x; far apart the wrong way round where it is not.
Track = tuple[Singles, Singles]

_FAR = np.float32(1e7)
_EDGE_MM = 1e-3


class Meetings:
    """The tables for all turns of some pieces on a roll of `rows` rows; a shape is one turn of one piece.

    low, high and deep have a row for each track and, in it, `span` places for each track that it may meet, one a difference in rows:
    what is denied to the left edge of the first, measured from the left edge of the second, and how far the two overlap across.
    """

    def __init__(self, kinds: Sequence[Piece], rows: int, row_mm: float, fine: int) -> None:
        self.rows, self.row_mm, self.span = rows, row_mm, 2 * rows - 1
        starts = np.cumsum([0, *(len(piece.turns) for piece in kinds)]).tolist()
        self.turns = [range(a, b) for a, b in pairwise(starts)]
        self.shapes = [turn for piece in kinds for turn in piece.turns]
        self.tall = [_count(shape, row_mm, rows) for shape in self.shapes]
        self.tracks: list[range] = []
        tracks: list[Track] = []
        for shape in self.shapes:
            own = _tracks(shape, row_mm / fine, rows * fine)
            self.tracks.append(range(len(tracks), len(tracks) + len(own)))
            tracks += own
        self.nothing = len(tracks)
        left = np.array([a for a, _ in tracks] + [np.full(rows * fine, _FAR)], dtype=np.float32)
        right = np.array([b for _, b in tracks] + [np.full(rows * fine, -_FAR)], dtype=np.float32)
        high = _high(left, right, rows, fine)
        count = len(left)
        self.high = np.ascontiguousarray(high.transpose(2, 1, 0)).reshape(count, -1)
        self.low = np.ascontiguousarray(-high[::-1].transpose(1, 2, 0)).reshape(count, -1)
        self.deep = _deep(left, rows, fine, row_mm / fine).reshape(count, -1)

    def base(self, track: int, row: int) -> int:
        """Where in another track's row of a table this one stands; add the other's row to it."""
        return track * self.span - row + self.rows - 1


def _rows_of(left: Singles) -> tuple[Ints, Ints]:
    here = left < _FAR / 2
    first = np.where(here.any(axis=1), here.argmax(axis=1), left.shape[1])
    last = np.where(here.any(axis=1), left.shape[1] - here[:, ::-1].argmax(axis=1), 0)
    return first, last


def _high(left: Singles, right: Singles, rows: int, fine: int) -> Singles:
    """high[d, a, b]: how far right of a's left edge b's must lie where b's rows begin d - (rows - 1) rows above a's."""
    count, size = left.shape
    first, last = _rows_of(left)
    high = np.full((2 * rows - 1, count, count), -_FAR, dtype=np.float32)
    for d in range(2 * rows - 1):
        up = (d - rows + 1) * fine
        a = np.flatnonzero((last > max(up, 0)) & (first < min(size, int(last.max()) + up)))
        b = np.flatnonzero((first < size - up) & (last > -up))
        if not len(a) or not len(b):
            continue
        low = max(int(first[a].min()), int(first[b].min()) + up, up, 0)
        top = min(int(last[a].max()), int(last[b].max()) + up, size, size + up)
        if top > low:
            high[d][np.ix_(a, b)] = (right[a, None, low:top] - left[None, b, low - up : top - up]).max(axis=-1)
    high[high < -_FAR / 2] = -_FAR
    return high


def _deep(left: Singles, rows: int, fine: int, fine_mm: float) -> Singles:
    """deep[b, a, d]: by how much b and a overlap across the roll, mm."""
    first, last = _rows_of(left)
    ups = np.arange(1 - rows, rows)[None, None, :] * fine
    below = last[None, :, None] - (first[:, None, None] + ups)
    above = last[:, None, None] + ups - first[None, :, None]
    return np.asarray(np.minimum(below, above).clip(0) * fine_mm, dtype=np.float32)


def _count(shape: Turned, row_mm: float, rows: int) -> int:
    return min(rows, max(1, math.ceil(shape.height / row_mm - _EDGE_MM)))


def _tracks(shape: Turned, row_mm: float, rows: int) -> list[Track]:
    if len(shape.rings) > 1:
        return _beside_holes(shape, row_mm, rows)
    count = _count(shape, row_mm, rows)
    edges = np.minimum(np.arange(count + 1) * row_mm, shape.height)
    heights = np.unique(np.concatenate((edges, shape.rings[0][:, 1].clip(0, shape.height))))
    at = np.searchsorted(heights, edges - 1e-9)
    right, left = right_profile(shape, heights), left_profile(shape, heights)
    inner, outer = _empty(rows)
    # each row from its lower to its upper edge, with every corner in between
    outer[:count] = np.maximum(np.maximum.reduceat(right, at[:-1]), right[at[1:]])
    inner[:count] = np.minimum(np.minimum.reduceat(left, at[:-1]), left[at[1:]])
    return [(inner, outer)]


def _empty(rows: int) -> Track:
    return np.full(rows, _FAR, dtype=np.float32), np.full(rows, -_FAR, dtype=np.float32)


def _beside_holes(shape: Turned, row_mm: float, rows: int) -> list[Track]:
    """A shape with holes as tracks without: each goes on as long as the rows have as many stretches, one above the other."""
    whole = shapely.Polygon(shape.rings[0], shape.rings[1:])
    low = np.arange(_count(shape, row_mm, rows)) * row_mm
    high = np.minimum(low + row_mm, shape.height)
    bands = [shapely.box(-1.0, a + _EDGE_MM, shape.width + 1, b - _EDGE_MM) for a, b in zip(low, high, strict=True)]
    tracks: list[Track] = []
    going: list[Track] = []
    before: list[tuple[float, float]] = []
    for row, band in enumerate(bands):
        spans = _spans(whole.intersection(band))
        if len(spans) != len(before) or any(b <= c or d <= a for (a, b), (c, d) in zip(spans, before, strict=True)):
            going = [_empty(rows) for _ in spans]
            tracks += going
        for (a, b), (left, right) in zip(spans, going, strict=True):
            left[row], right[row] = a, b
        before = spans
    return tracks


def _spans(band: shapely.Geometry) -> list[tuple[float, float]]:
    spans: list[tuple[float, float]] = []
    for a, _, b, _ in sorted(piece.bounds for piece in shapely.get_parts(band) if piece.area > 0):
        if spans and a <= spans[-1][1]:
            spans[-1] = (spans[-1][0], max(b, spans[-1][1]))
        else:
            spans.append((a, b))
    return spans
