"""A panel of a gored sail before it is turned onto the roll: its sides as they are cut, and the panels beside each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from costing.cloth.frame import outward_mm
from costing.cloth.gores import Layout, Piece, SeamLine
from costing.cloth.grid import Floats
from costing.cloth.make import Make

_STEP_MM = 100.0  # a curve 10 mm deep in 2 m is followed to 0.03 mm
_MEET_MM = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A panel's piece of a seam: from one part of the seam's way to another, falling where the panel lies to the left of it."""

    mark: str
    start: float
    end: float

    def shared(self, other: Run) -> tuple[float, float]:
        return max(min(self.start, self.end), min(other.start, other.end)), min(max(self.start, self.end), max(other.start, other.end))


def runs_of(layout: Layout) -> dict[str, list[Run]]:
    found: dict[str, list[Run]] = {name: [] for name in layout.seams}
    for piece in layout.pieces:
        for name, side in piece.cell.sides():
            if name in layout.seams:
                start, end = layout.seams[name].part(side[[0, -1]])
                found[name].append(Run(piece.mark, float(start), float(end)))
    return found


def outside_mm(name: str, make: Make) -> float:
    """What a side is cut outside its line: an edge's allowance, half of a seam's overlap."""
    edges = {"luff": make.luff, "leech": make.leech, "foot": make.foot}
    return outward_mm(edges[name]) if name in edges else make.seam_overlap_mm / 2


class Draft:
    """A panel of the flat sail with its sides curved as they are cut; rows s, h."""

    def __init__(self, layout: Layout, piece: Piece, make: Make, runs: Mapping[str, Sequence[Run]]) -> None:
        self.layout, self.piece, self.make = layout, piece, make
        self.sides = [(name, self.curved(name, side)) for name, side in piece.cell.sides()]
        self.beside = {name: list(self._beside(name, runs[name])) for name, _ in self.sides if name in layout.seams}

    def curved(self, name: str, side: Floats) -> Floats:
        """A side with the fullness of its seam: half of it stands outside the flat sail."""
        seam = self.layout.seams.get(name)
        if seam is None or not seam.full:
            return side
        start, end = seam.part(side[[0, -1]])
        return self.along(seam, float(start), float(end))

    def along(self, seam: SeamLine, start: float, end: float) -> Floats:
        """The sew line from one part of the seam's way to another; the panel lies to the right of it."""
        if not seam.full:
            return np.asarray(seam.start + np.array(((start,), (end,))) * (seam.end - seam.start))
        part = np.linspace(start, end, 2 + int(abs(end - start) * seam.length / _STEP_MM))
        points = seam.start + part[:, None] * (seam.end - seam.start)
        ahead = (seam.end - seam.start) * (1.0 if end > start else -1.0) / seam.length
        return np.asarray(points + (seam.fullness(part) / 2)[:, None] * np.array((-ahead[1], ahead[0])))

    def _beside(self, name: str, runs: Sequence[Run]) -> Iterator[tuple[str, float, float]]:
        """The panels on the other side of a seam, and the parts of its way that they share with this one, in this one's direction."""
        own = next(run for run in runs if run.mark == self.piece.mark)
        length = self.layout.seams[name].length
        for other in runs:
            low, high = own.shared(other)
            if (own.end > own.start) != (other.end > other.start) and (high - low) * length > _MEET_MM:
                yield other.mark, *((low, high) if own.end > own.start else (high, low))

    def turned(self, points: Floats) -> Floats:
        """Rows s, h with the warp along x."""
        ahead = self.piece.warp
        return np.asarray(points @ np.array(((ahead[0], -ahead[1]), (ahead[1], ahead[0]))))
