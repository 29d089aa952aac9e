"""A convex sail divided by straight lines into cells whose every side has a name; rows s, h, clockwise, mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from costing.cloth.grid import Floats

_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Cell:
    """A ring of points, clockwise, and for each the name of the side that goes from it to the next one."""

    points: Floats
    names: tuple[str, ...]

    def sides(self) -> Iterator[tuple[str, Floats]]:
        """Each side with its points, in the order of the ring."""
        count = len(self.names)
        starts = [i for i in range(count) if self.names[i] != self.names[i - 1]]
        for k, i in enumerate(starts):
            end = starts[(k + 1) % len(starts)]
            length = (end - i) % count or count
            yield self.names[i], self.points[[(i + j) % count for j in range(length + 1)]]


def cell_of(lines: Sequence[tuple[str, Floats]]) -> Cell:
    """The cell inside lines that follow each other clockwise, each from where the one before ended."""
    points = np.vstack([line[:-1] for _, line in lines])
    names = tuple(name for name, line in lines for _ in line[:-1])
    return _without_repeats(points, names)


def right_of(cell: Cell, start: Floats, end: Floats, name: str) -> Cell | None:
    """What lies to the right of the straight line from start on through end, the new side called `name`; None where nothing does."""
    ahead = (end - start) / np.hypot(*(end - start))
    away = (cell.points - start) @ np.array((ahead[1], -ahead[0]))
    inside = away > _SAME_MM
    if inside.all():
        return cell
    if not inside.any():
        return None
    first = next(i for i in range(len(inside)) if inside[i] and not inside[i - 1])
    kept = [first]
    while inside[(kept[-1] + 1) % len(inside)]:
        kept.append((kept[-1] + 1) % len(inside))
    before, after = first - 1, (kept[-1] + 1) % len(inside)
    entry = _crossing(cell.points[before], cell.points[first], away[before], away[first])
    leaving = _crossing(cell.points[kept[-1]], cell.points[after], away[kept[-1]], away[after])
    points = np.vstack((entry, cell.points[kept], leaving))
    return _without_repeats(points, (cell.names[before], *(cell.names[i] for i in kept), name))


def _crossing(one: Floats, other: Floats, at_one: float, at_other: float) -> Floats:
    return np.asarray(one + (other - one) * (at_one / (at_one - at_other)))


def _without_repeats(points: Floats, names: tuple[str, ...]) -> Cell:
    """The same ring without sides that have no length."""
    steps = np.roll(points, -1, axis=0) - points
    kept = np.flatnonzero(np.hypot(steps[:, 0], steps[:, 1]) > _SAME_MM)
    return Cell(points[kept], tuple(names[i] for i in kept))
