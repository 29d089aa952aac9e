"""A bank: panels side by side between parallel seams, a whole sail or one half of it; what its seams may not do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from costing.cloth.features import blocked, features, hank_points
from costing.cloth.frame import Edges
from costing.cloth.grid import Floats
from costing.cloth.make import Make, Seam
from costing.cloth.part import Cloth
from costing.errors import Collector, problem
from costing.sail.shape import Point

#: A fan of narrow panels at a corner is not worth its seams: heights are tried in these steps, mm.
_TRIED_EVERY_MM = 5.0
_HAIR_MM = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class HalfSeam:
    """The seam between two halves in a bank's frame: its straight line in the sewn sail from the luff to the clew, which half carries the
    overlap, and the curve that is cut into this half: `taken` mm at the luff, run out at `run` mm from it.

    A point of the sewn half moves inward, square to the seam, by taken x (1 - part of the run)^2 x (1 - part of the way to `reach`): the
    panels' seams bend with it, alike on both sides.
    """

    line: Floats
    inward: Floats
    overlap: bool
    taken: float = 0.0
    run: float = 1.0
    reach: float = 1.0

    def shift(self, points: Floats) -> Floats:
        """By how much points of the sewn half lie elsewhere on the cloth; rows s, h."""
        along = (self.line[-1] - self.line[0]) / np.hypot(*(self.line[-1] - self.line[0]))
        part = np.clip((points - self.line[0]) @ along / self.run, 0.0, 1.0)
        away = np.clip((points - self.line[0]) @ self.inward / self.reach, 0.0, 1.0)
        return np.asarray((self.taken * (1 - part) ** 2 * (1 - away))[:, None] * self.inward)


@dataclass(frozen=True, slots=True, eq=False)
class Bank:
    """Parallel seams and what they divide. edges: in the frame of the seams, its areas only those of this bank; home: the whole sail in
    the frame of its leech; path: of the seams in the pattern; first: number of its first panel; place: where that one is, in words;
    crossed: the edge that the seams cross and its length `top` from the clew point."""

    edges: Edges
    home: Edges
    seams: tuple[Seam, ...]
    crossed: str
    top: float
    path: str = "make.seams"
    first: int = 1
    place: str = "from the foot"
    free_edges: tuple[str, str] = ("foot", "head")
    between: HalfSeam | None = None
    hanks: Floats | None = None  # their places on the whole sail in the frame of its leech, once all its seams are known

    def seam_on_sail(self, seam: Seam) -> tuple[Point, Point]:
        """Where a seam's line starts and ends in the sail."""
        left, right = self.edges.across(seam.height_mm)
        start, end = self.edges.frame.to_sail(np.array(((left, seam.height_mm), (right, seam.height_mm))))
        return start, end

    def on_mitre(self, seam: Seam) -> bool:
        """Whether a seam starts on the mitre, where it can have no broadseam."""
        return self.edges.edge_at(self.edges.across(seam.height_mm)[0], seam.height_mm) == "mitre"


def with_hanks(banks: Sequence[Bank], make: Make) -> tuple[Bank, ...]:
    """The banks of a sail with the places of its hanks, which keep clear of the seams of all of them."""
    if make.hanks is None:
        return tuple(banks)
    home = banks[0].home
    on_sail = [bank.seam_on_sail(seam) for bank in banks for seam in bank.seams]
    halves = [bank.edges.frame.to_sail(bank.between.line) for bank in banks if bank.between]
    seams = [home.frame.to_roll(line) for line in (*on_sail, *halves)]
    return tuple(replace(bank, hanks=hank_points(home, make.hanks, seams, make.seam_overlap_mm)) for bank in banks)


def check_seams(bank: Bank, make: Make, found: Collector) -> None:
    """Add a problem for each seam that lies outside the bank or too near to the one before."""
    heights = [seam.height_mm for seam in bank.seams]
    for i, height in enumerate(heights):
        path = f"{bank.path}[{i}].height_mm"
        if not 0 < height < bank.top:
            told = f"seam {i + 1} at {height:,.0f} mm lies outside the sail"
            found.add(path, "seam_outside", f"{told}; seams cross the {bank.crossed}, between 0 and {bank.top:,.0f} mm")
        elif i and height - heights[i - 1] <= make.seam_overlap_mm:
            told = f"seam {i + 1} at {height:,.0f} mm must lie more than the overlap, {make.seam_overlap_mm:g} mm, above seam {i}"
            found.add(path, "seam_order", told)
        elif bank.seams[i].broadseam_mm and bank.on_mitre(bank.seams[i]):
            told = f"seam {i + 1} at {height:,.0f} mm ends on the mitre, where it can have no broadseam: the mitre itself can"
            found.add(f"{bank.path}[{i}].broadseam_mm", "broadseam_at_mitre", told)


def proposed(bank: Bank, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> tuple[float, ...]:
    """Heights that use the usable width from the top of the first panel on and keep clear of pockets, windows and rings, as few as do.

    Each seam lies as far above the one before as the roll and what is in the way allow. The first panel's height is chosen so that there
    are as few panels as possible, then so that the smaller of the first and the last is as large as possible. spare_mm: kept free of the
    roll's width, and beside what is in the way. InputError where something takes up so much height that no seam can pass it.
    """
    low, top = bank.edges.with_allowances.bounds[1], bank.edges.with_allowances.bounds[3]
    # what the curve of the seam between two halves may add to a panel's width
    usable = cloth.usable_width_mm - spare_mm - (bank.between.taken if bank.between else 0.0)
    if top - low <= usable + _HAIR_MM:
        return ()
    in_the_way = tuple(blocked(bank.edges, bank.home, make, spare_mm))
    firsts = (_clear_below(float(f), in_the_way) for f in np.arange(min(low + usable, top), max(low, 0.0), -_TRIED_EVERY_MM))
    tried = (_heights(first, usable, top, make, in_the_way) for first in firsts if first > max(low, 0.0))
    bottom, end = float(bank.edges.finished.bounds[1]), float(bank.edges.top)
    best = min((heights for heights in tried if heights), key=lambda hs: (len(hs), -min(hs[0] - bottom, end - hs[-1])), default=None)
    if best is None:
        names = ", ".join(feature.name for feature in features(bank.home, make))
        told = f"no heights keep clear of {names} with panels of at most {usable:,.0f} mm of {cloth.code}: move them or make them smaller"
        raise problem(bank.path, "no_clear_seams", told)
    return best


def _heights(first: float, usable: float, top: float, make: Make, in_the_way: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Seams from the first up to where one panel is left; none where something in the way leaves no place for the next."""
    heights = [first]
    while top - heights[-1] > usable - make.seam_overlap_mm + _HAIR_MM:
        following = _clear_below(heights[-1] + usable - make.seam_overlap_mm, in_the_way)
        if following - heights[-1] <= make.seam_overlap_mm:
            return ()
        heights.append(following)
    return tuple(heights)


def _clear_below(height: float, in_the_way: Sequence[tuple[float, float]]) -> float:
    """The highest place at a height or below it, to 0.1 mm, where a seam is clear."""
    clear = math.floor(height * 10 + _HAIR_MM) / 10
    while bands := [low for low, high in in_the_way if low < clear < high]:
        clear = math.floor(min(bands) * 10) / 10
    return clear


def without_seams(make: Make) -> Make:
    """The same instructions before seams are proposed."""
    return replace(make, seams=(), foot_seams=())
