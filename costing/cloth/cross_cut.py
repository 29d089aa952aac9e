"""Cross-cut panels: the cut outline divided by seams square to the line head-clew, each panel laid along the roll."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from costing.cloth.broadseam import Broadseam, broadseam
from costing.cloth.features import check_clear_of_seams
from costing.cloth.frame import Edges, as_line, edges_in_frame, ring_of
from costing.cloth.grid import Floats
from costing.cloth.make import Make, Seam
from costing.cloth.marks import panel_marks
from costing.cloth.part import Cloth, Orientation, Panel
from costing.errors import Collector
from costing.measurements import SPINNAKERS, SailKind
from costing.sail.shape import Line, Outline, SailShape

KINDS = frozenset(SailKind) - SPINNAKERS
ORIENTATIONS = frozenset({Orientation.FILL, Orientation.BALANCED})
SUITS = "there the fill threads run along the leech and carry it; take a fill-oriented or balanced cloth"

#: A panel this much under the usable width still counts as touching both edges of it.
_FULL_WITHIN_MM = 1.0


def cut_shape(finished: SailShape, make: Make) -> SailShape:
    """The sizes to cut to: finished sizes plus take-up across the seams and along the tablings; mm.

    The leech gets the seams that cross it, and each edge its tabling's fraction. Luff and foot also get back what the broadseams that
    end on them take out of them. Widths get nothing: the seams run along them.
    """
    take_up = make.take_up
    crossing = [seam for seam in make.seams if 0 < seam.height_mm < finished.leech_length]
    luff_back, foot_back = _given_back(finished, crossing)
    return replace(
        finished,
        luff_length=finished.luff_length * (1 + take_up.luff_fraction) + luff_back,
        leech_length=finished.leech_length * (1 + take_up.leech_fraction) + take_up.per_seam_mm * len(crossing),
        foot_length=finished.foot_length * (1 + take_up.foot_fraction) + foot_back,
    )


def _given_back(finished: SailShape, crossing: list[Seam]) -> tuple[float, float]:
    """What the broadseams shorten luff and foot by, mm.

    A broadseam takes its depth across the roll, and the edges run slantwise: each loses that much times the cosine of its slant. It
    fades towards the panel's upper edge: of a panel that the tack lies in, the foot loses what has faded there, the luff the rest.
    """
    # the tack's height on the line clew-head: what lies above it ends on the luff, what lies below on the foot
    tack = (finished.leech_length**2 + finished.foot_length**2 - finished.luff_length**2) / (2 * finished.leech_length)
    luff = foot = 0.0
    tops = [*(seam.height_mm for seam in crossing), finished.leech_length][1:]
    for seam, high in zip(crossing, tops, strict=True):
        on_luff = seam.broadseam_mm * float(np.interp(tack, (seam.height_mm, high), (1.0, 0.0)))
        luff += on_luff * (finished.leech_length - tack) / finished.luff_length
        foot += (seam.broadseam_mm - on_luff) * tack / finished.foot_length
    return luff, foot


def panels(cut: Outline, make: Make, cloth: Cloth) -> tuple[Panel, ...]:
    """The body panels of the cut outline, from the foot up.

    The seam overlap lies wholly on the lower edge of the upper panel, below its sew line; the panel below is cut at its sew line. Luff,
    leech and foot get their allowance outward. Face up is the PORT side of the sail (see costing.cloth.frame).
    """
    edges = edges_in_frame(cut, make)
    _refuse_seams(edges, make)
    drafts = [_draft(edges, make, number) for number in range(len(make.seams) + 1)]
    _refuse_wide(drafts, cloth)
    return tuple(_panel(edges, make, cloth, number, draft) for number, draft in enumerate(drafts))


def propose_seams(cut: Outline, make: Make, cloth: Cloth) -> tuple[float, ...]:
    """Seam heights that use the full usable width from the top of the clew panel up, for a pattern to keep; mm from the clew.

    As few panels as possible; the clew panel's height is chosen so that the seams stay clear of pockets, windows and rings as well as
    they can, then so that the smaller of clew panel and head panel is as large as possible.
    """
    edges = edges_in_frame(cut, replace(make, seams=()))
    low, top = edges.with_allowances.bounds[1], edges.with_allowances.bounds[3]
    spacing = cloth.usable_width_mm - make.seam_overlap_mm
    count = max(0, int(np.ceil((top - low - cloth.usable_width_mm) / spacing - 1e-9)))
    if count == 0:
        return ()
    highest = min(low + cloth.usable_width_mm, top)
    lowest = max(top - count * spacing, low)
    first = min(np.arange(highest, lowest - 1e-9, -5.0), key=lambda f: _cost(edges, make, cloth, float(f), count))
    return tuple(round(float(first) + k * spacing, 1) for k in range(count))


def _cost(edges: Edges, make: Make, cloth: Cloth, first: float, count: int) -> tuple[int, float]:
    spacing = cloth.usable_width_mm - make.seam_overlap_mm
    heights = [first + k * spacing for k in range(count)]
    found = Collector()
    check_clear_of_seams(found, edges, replace(make, seams=tuple(Seam(h) for h in heights)))
    return len(list(found)), -min(first - float(edges.finished.bounds[1]), edges.top - heights[-1])


@dataclass(frozen=True, slots=True, eq=False)
class _Draft:
    """A panel in the cutter's frame: heights of its finished edges, its broadseam, and its cut edge."""

    low: float
    high: float
    broadseam: Broadseam
    cut: Floats

    @property
    def width(self) -> float:
        return float(np.ptp(self.cut[:, 1]))


def _draft(edges: Edges, make: Make, number: int) -> _Draft:
    heights = [edges.with_allowances.bounds[1], *(seam.height_mm for seam in make.seams), edges.with_allowances.bounds[3]]
    low, high = heights[number], heights[number + 1]
    seam = make.seams[number - 1] if number else Seam(low)
    below = make.seam_overlap_mm if number else 0.0
    taken = broadseam(edges, seam, high)
    strip = edges.strip(low - below, high, allowances=True)
    return _Draft(low, high, taken, taken.ring(ring_of(strip)))


def _panel(edges: Edges, make: Make, cloth: Cloth, number: int, draft: _Draft) -> Panel:
    corner = draft.cut.min(axis=0)

    def on_roll(points: Floats) -> Line:
        return as_line(draft.broadseam.moved(points) - corner)

    lower = draft.broadseam.line(*edges.across(draft.low)) if number else np.empty((0, 2))
    upper = np.array([(s, draft.high) for s in edges.across(draft.high)]) if number < len(make.seams) else np.empty((0, 2))
    mark = f"P{number + 1}"
    return Panel(
        mark=mark,
        finished=edges.frame.to_sail(ring_of(edges.strip(draft.low, draft.high, allowances=False))),
        cut=as_line(draft.cut - corner),
        lower_sew=on_roll(lower),
        upper_sew=on_roll(upper),
        marks=tuple(panel_marks(edges, make, mark, (draft.low, draft.high), (lower, upper), on_roll)),
        full_width=draft.width >= cloth.usable_width_mm - _FULL_WITHIN_MM,
    )


def _refuse_seams(edges: Edges, make: Make) -> None:
    found = Collector()
    leech_top = float(edges.lines["leech"][0, 1])
    heights = [seam.height_mm for seam in make.seams]
    for i, height in enumerate(heights):
        if not 0 < height < leech_top:
            told = f"seam {i + 1} at {height:,.0f} mm lies outside the sail; seams cross the leech, between 0 and {leech_top:,.0f} mm"
            found.add(f"make.seams[{i}].height_mm", "seam_outside", told)
        elif i and height - heights[i - 1] <= make.seam_overlap_mm:
            told = f"seam {i + 1} at {height:,.0f} mm must lie more than the overlap, {make.seam_overlap_mm:g} mm, above seam {i}"
            found.add(f"make.seams[{i}].height_mm", "seam_order", told)
    found.raise_if_any()
    check_clear_of_seams(found, edges, make)
    found.raise_if_any()


def _refuse_wide(drafts: list[_Draft], cloth: Cloth) -> None:
    found = Collector()
    for i, draft in enumerate(drafts):
        over = draft.width - cloth.usable_width_mm
        if over > 1e-6:
            told = f"panel P{i + 1} would be {draft.width:,.1f} mm wide, {over:,.1f} mm more than {cloth.code}'s usable width"
            right = f"its seams may be at most {cloth.usable_width_mm:,.0f} mm apart, overlap and allowances included"
            found.add(f"panels[{i}]", "panel_too_wide", f"{told}; {right}")
    found.raise_if_any()
