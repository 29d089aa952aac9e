"""Panels of a bank: each drafted between its seams, with allowances, overlap and broadseam, and laid along the roll."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from costing.cloth.bank import Bank, HalfSeam, check_seams, with_hanks
from costing.cloth.broadseam import Broadseam, broadseam
from costing.cloth.features import check_clear_of_seams
from costing.cloth.frame import as_line, ring_of
from costing.cloth.grid import Floats
from costing.cloth.make import Make, Seam
from costing.cloth.marks import panel_marks, strike_ups
from costing.cloth.part import Cloth, Mark, Panel, Sew
from costing.errors import Collector
from costing.sail.shape import Line

#: A panel this much under the usable width still counts as touching both edges of it.
_FULL_WITHIN_MM = 1.0
_STEP_MM = 40.0


@dataclass(frozen=True, slots=True, eq=False)
class Draft:
    """A panel in the cutter's frame: heights of its finished edges, what moves on the cloth, and its cut edge."""

    low: float
    high: float
    broadseam: Broadseam
    between: HalfSeam | None
    cut: Floats

    @property
    def width(self) -> float:
        return float(np.ptp(self.cut[:, 1]))

    def moved(self, points: Floats) -> Floats:
        """Where points of the sewn panel lie on the cloth."""
        return _moved(self.broadseam, self.between, points)


def drafts(bank: Bank, make: Make) -> list[Draft]:
    """Every panel of the bank, from its first on.

    The seam overlap lies wholly on the lower edge of the upper panel, below its sew line; the panel below is cut at its sew line.
    """
    return [_draft(bank, make, number) for number in range(len(bank.seams) + 1)]


def check_wide(bank: Bank, drafted: list[Draft], cloth: Cloth, found: Collector) -> None:
    """Add a problem for each panel that is wider than the roll can be cut."""
    for i, draft in enumerate(drafted, start=bank.first - 1):
        over = draft.width - cloth.usable_width_mm
        if over > 1e-6:
            told = f"panel P{i + 1} would be {draft.width:,.1f} mm wide, {over:,.1f} mm more than {cloth.code}'s usable width"
            right = f"its seams may be at most {cloth.usable_width_mm:,.0f} mm apart, overlap and allowances included"
            found.add(f"panels[{i}]", "panel_too_wide", f"{told}; {right}")


def checked_panels(banks: Sequence[Bank], make: Make, cloth: Cloth, found: Collector | None = None) -> tuple[Panel, ...]:
    """The panels of banks one after another, from the clew on; found: what is known to be wrong already.

    Raises InputError with every seam that cannot be; else with all that lies too near to a seam and every panel that is too wide.
    """
    found = Collector() if found is None else found
    for bank in banks:
        check_seams(bank, make, found)
    found.raise_if_any()
    for bank in banks:
        check_clear_of_seams(found, bank.edges, bank.home, make, bank.seams)
    drafted = []
    with found.under(""):
        drafted = [drafts(bank, make) for bank in banks]
    for bank, own in zip(banks, drafted, strict=bool(drafted)):
        check_wide(bank, own, cloth, found)
    found.raise_if_any()
    placed = zip(with_hanks(banks, make), drafted, strict=True)
    return tuple(panel for bank, own in placed for panel in panels(bank, make, cloth, own))


def panels(bank: Bank, make: Make, cloth: Cloth, drafted: list[Draft]) -> tuple[Panel, ...]:
    """The drafted panels laid along the roll, with everything that the pen draws."""
    return tuple(_panel(bank, make, cloth, number, draft) for number, draft in enumerate(drafted))


def _draft(bank: Bank, make: Make, number: int) -> Draft:
    edges = bank.edges
    heights = [edges.with_allowances.bounds[1], *(seam.height_mm for seam in bank.seams), edges.with_allowances.bounds[3]]
    low, high = heights[number], heights[number + 1]
    seam = bank.seams[number - 1] if number else Seam(low)
    below = make.seam_overlap_mm if number else 0.0
    taken = broadseam(edges, seam, high, f"{bank.path}[{number - 1}]")
    ring = ring_of(edges.strip(low - below, high, allowances=True))
    curved = bank.between if bank.between and bank.between.taken else None
    return Draft(low, high, taken, curved, _ring(taken, curved, ring))


def _moved(taken: Broadseam, between: HalfSeam | None, points: Floats) -> Floats:
    moved = taken.moved(points)
    return moved if between is None or not len(points) else moved + between.shift(points)


def _ring(taken: Broadseam, between: HalfSeam | None, ring: Floats) -> Floats:
    if between is None:
        return taken.ring(ring)
    dense = shapely.segmentize(shapely.LinearRing(ring), _STEP_MM)
    moved = shapely.LinearRing(_moved(taken, between, np.asarray(dense.coords)))
    return np.asarray(moved.simplify(0.01).coords)[:-1]


def _panel(bank: Bank, make: Make, cloth: Cloth, number: int, draft: Draft) -> Panel:
    edges = bank.edges
    corner = draft.cut.min(axis=0)

    def on_roll(points: Floats) -> Line:
        return as_line(draft.moved(points) - corner)

    lower = _sew(bank, draft, draft.low) if number else np.empty((0, 2))
    upper = _sew(bank, draft, draft.high) if number < len(bank.seams) else np.empty((0, 2))
    mark, span = f"P{bank.first + number}", (draft.low, draft.high)
    others, more = _half_seam(bank, span, on_roll)
    return Panel(
        mark=mark,
        finished=edges.frame.to_sail(ring_of(edges.strip(*span, allowances=False))),
        cut=as_line(draft.cut - corner),
        lower_sew=on_roll(lower),
        upper_sew=on_roll(upper),
        marks=(*panel_marks(bank, make, mark, span, (lower, upper), on_roll), *more),
        full_width=draft.width >= cloth.usable_width_mm - _FULL_WITHIN_MM,
        lower_ends=_ends(bank, lower),
        upper_ends=_ends(bank, upper),
        free_edges=bank.free_edges,
        more_sews=others,
        place=bank.place,
    )


def _sew(bank: Bank, draft: Draft, height: float) -> Floats:
    """The sew line at a height, not yet moved: points near enough to each other for every curve on it."""
    left, right = bank.edges.across(height)
    if draft.between is not None:
        count = max(2, int(np.ceil((right - left) / _STEP_MM)) + 1)
        return np.column_stack((np.linspace(left, right, count), np.full(count, height)))
    return draft.broadseam.line(left, right) if height == draft.low else np.array(((left, height), (right, height)))


def _ends(bank: Bank, sew: Floats) -> tuple[str, str]:
    if not len(sew):
        return ("", "")
    return bank.edges.edge_at(*sew[0]), bank.edges.edge_at(*sew[-1])


def _half_seam(bank: Bank, span: tuple[float, float], on_roll: Callable[[Floats], Line]) -> tuple[tuple[Sew, ...], list[Mark]]:
    """The panel's piece of the seam between the halves, with its marks; nothing where it has none."""
    if bank.between is None:
        return (), []
    band = shapely.box(-1e5, span[0], 1e5, span[1])
    piece = shapely.LineString(bank.between.line).intersection(band)
    if piece.geom_type != "LineString" or piece.length < 1e-6:
        return (), []
    ends = np.asarray(piece.coords)
    count = max(2, int(np.ceil(piece.length / _STEP_MM)) + 1) if bank.between.taken else 2
    line = ends[0] + np.linspace(0.0, 1.0, count)[:, None] * (ends[-1] - ends[0])
    ticks = strike_ups(bank.between.line, line, bank.between.inward, on_roll, bank.edges.strip(*span, allowances=False))
    sew = Sew("mitre", on_roll(line), bank.between.overlap, on_sail=bank.edges.frame.to_sail(ends))
    return (sew,), [Mark("sew", sew.line, "mitre"), *ticks]
