"""What a cut section leaves over: empty rectangles that are worth keeping."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity

from costing.cloth.lay import Lay, Placement
from costing.cloth.part import Part

Cells = np.ndarray[tuple[int, int], np.dtype[np.bool_]]

#: The grid that free cloth is looked for on: a remnant is told up to this much too small on each side, never too large.
_STEP_MM = 10.0


@dataclass(frozen=True, slots=True)
class Remnant:
    """A free rectangle of a section, warp along `length_mm`; x from the section's start, y from the lower usable edge, mm."""

    section: int
    x: float
    y: float
    length_mm: float
    width_mm: float

    @property
    def area_mm2(self) -> float:
        return self.length_mm * self.width_mm


def remnants(
    lay: Lay, section: int, parts: Mapping[tuple[str, str], Part], *, least_length_mm: float, least_width_mm: float
) -> tuple[Remnant, ...]:
    """The free rectangles of one section that are at least so long and so wide, the largest first; they do not overlap each other.

    parts: by sail and part id. A rectangle touches no part; KeyError for a part that is not there.
    """
    placed = [p for p in lay.placements if p.section == section]
    taken = _taken(lay, section, [_outline(parts[p.sail, p.part_id], p) for p in placed])
    return tuple(_largest_first(taken, section, least_length_mm, least_width_mm))


def _outline(part: Part, placed: Placement) -> shapely.Polygon:
    turned = shapely.affinity.rotate(shapely.Polygon(part.outer), placed.angle, origin=(0, 0))
    return shapely.affinity.translate(turned, placed.x, placed.y)


def _taken(lay: Lay, section: int, outlines: list[shapely.Polygon]) -> Cells:
    """Which whole cells of the section a part reaches into; rows across the roll, columns along it."""
    across = math.floor(lay.usable_width_mm / _STEP_MM)
    along = math.floor(lay.sections[section].length_mm / _STEP_MM)
    x, y = np.meshgrid(np.arange(along) * _STEP_MM, np.arange(across) * _STEP_MM)
    cells = shapely.box(x, y, x + _STEP_MM, y + _STEP_MM)
    found = np.zeros((across, along), dtype=bool)
    tree = shapely.STRtree(cells.ravel())
    for outline in outlines:
        found.ravel()[tree.query(outline, predicate="intersects")] = True
    return found


def _largest_first(taken: Cells, section: int, length: float, width: float) -> Iterator[Remnant]:
    while True:
        best = _largest(taken, length / _STEP_MM, width / _STEP_MM)
        if best is None:
            return
        row, column, rows, columns = best
        taken[row : row + rows, column : column + columns] = True
        yield Remnant(section, column * _STEP_MM, row * _STEP_MM, columns * _STEP_MM, rows * _STEP_MM)


def _largest(taken: Cells, least_columns: float, least_rows: float) -> tuple[int, int, int, int] | None:
    """The largest free rectangle that is large enough: first row and column, rows and columns; None when there is none.

    Row by row, each cell knows how many free cells lie below it; a stack of rising heights finds the widest rectangle under each.
    """
    heights = np.zeros(taken.shape[1], dtype=int)
    best: tuple[int, int, int, int] | None = None
    for row in range(taken.shape[0]):
        heights = np.where(taken[row], 0, heights + 1)
        for first, after, height in _under(heights):
            if after - first >= least_columns and height >= least_rows and (best is None or (after - first) * height > best[2] * best[3]):
                best = (row - height + 1, first, height, after - first)
    return best


def _under(heights: np.ndarray[tuple[int], np.dtype[np.int_]]) -> Iterator[tuple[int, int, int]]:
    """For every maximal rectangle below a skyline: its first column, the column after it, its height."""
    stack: list[tuple[int, int]] = []
    for at, height in enumerate([*heights.tolist(), 0]):
        start = at
        while stack and stack[-1][1] >= height:
            start, high = stack.pop()
            if high:
                yield start, at, high
        stack.append((start, height))
