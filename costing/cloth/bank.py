"""A bank: panels side by side between parallel seams, a whole sail or one half of it; what its seams may not do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from costing.cloth.features import check_clear_of_seams, hank_points
from costing.cloth.frame import Edges
from costing.cloth.grid import Floats
from costing.cloth.make import Make, Seam
from costing.cloth.part import Cloth
from costing.errors import Collector
from costing.sail.shape import Point

#: A fan of narrow panels at a corner is not worth its seams: heights are tried in these steps, mm.
_TRIED_EVERY_MM = 5.0


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
    """Add a problem for each seam that lies outside the bank, too near to the one before, or to a pocket, window or ring."""
    before, heights = len(tuple(found)), [seam.height_mm for seam in bank.seams]
    for i, height in enumerate(heights):
        path = f"{bank.path}[{i}].height_mm"
        if not 0 < height < bank.top:
            told = f"seam {i + 1} at {height:,.0f} mm lies outside the sail"
            found.add(path, "seam_outside", f"{told}; seams cross the {bank.crossed}, between 0 and {bank.top:,.0f} mm")
        elif i and height - heights[i - 1] <= make.seam_overlap_mm:
            told = f"seam {i + 1} at {height:,.0f} mm must lie more than the overlap, {make.seam_overlap_mm:g} mm, above seam {i}"
            found.add(path, "seam_order", told)
        elif bank.seams[i].broadseam_mm and bank.edges.edge_at(bank.edges.across(height)[0], height) == "mitre":
            told = f"seam {i + 1} at {height:,.0f} mm ends on the mitre, where it can have no broadseam: the mitre itself can"
            found.add(f"{bank.path}[{i}].broadseam_mm", "broadseam_at_mitre", told)
    if len(tuple(found)) == before:
        check_clear_of_seams(found, bank.edges, bank.home, make, bank.seams)


def proposed(bank: Bank, make: Make, cloth: Cloth) -> tuple[float, ...]:
    """Heights that use the full usable width from the top of the first panel on, as few panels as possible.

    The first panel's height is chosen so that the seams stay clear of pockets, windows and rings as well as they can, then so that the
    smaller of the first and the last panel is as large as possible.
    """
    low, top = bank.edges.with_allowances.bounds[1], bank.edges.with_allowances.bounds[3]
    # what the curve of the seam between two halves may add to a panel's width
    usable = cloth.usable_width_mm - (bank.between.taken if bank.between else 0.0)
    spacing = usable - make.seam_overlap_mm
    count = max(0, int(np.ceil((top - low - usable) / spacing - 1e-9)))
    if count == 0:
        return ()
    highest, lowest = min(low + usable, top), max(top - count * spacing, low)

    def cost(first: float) -> tuple[int, float]:
        heights = [first + k * spacing for k in range(count)]
        found = Collector()
        check_clear_of_seams(found, bank.edges, bank.home, make, tuple(Seam(h) for h in heights))
        return len(list(found)), -min(first - float(bank.edges.finished.bounds[1]), bank.edges.top - heights[-1])

    first = min((float(f) for f in np.arange(highest, lowest - 1e-9, -_TRIED_EVERY_MM)), key=cost)
    return tuple(round(first + k * spacing, 1) for k in range(count))


def without_seams(make: Make) -> Make:
    """The same instructions before seams are proposed."""
    return replace(make, seams=(), foot_seams=())
