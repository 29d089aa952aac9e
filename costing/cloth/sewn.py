"""Sizes of the sewn sail: what a tape reads that is laid over panels which broadseams have made uneven."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely

from costing import sail
from costing.cloth import drafting
from costing.cloth.bank import Bank
from costing.cloth.make import Make, Seam
from costing.cloth.take_up import Segment, size_lines
from costing.measurements import SailKind
from costing.sail.distance import nearest
from costing.sail.shape import Outline, SailShape

Banks = Callable[[Outline, Make], tuple[Bank, ...]]


def tape(banks: Sequence[Bank], make: Make, lines: Mapping[str, Segment]) -> dict[str, float]:
    """The length on the cloth of lines of the cut outline, straight within each panel; mm."""
    found = dict.fromkeys(lines, 0.0)
    for bank in banks:
        for draft in drafting.drafts(bank, make):
            strip = bank.edges.strip(draft.low, draft.high, allowances=False)
            for name, line in lines.items():
                over = shapely.LineString(bank.edges.frame.to_roll(line)).intersection(strip)
                for piece in (part for part in shapely.get_parts(over) if part.length):
                    ends = draft.moved(shapely.get_coordinates(piece)[[0, -1]])
                    found[name] += float(np.hypot(*(ends[1] - ends[0])))
    return found


def with_widths_held(cut: SailShape, finished: SailShape, make: Make, drawn: Mapping[str, float], banks_of: Banks) -> SailShape:
    """The cut sizes with widths that come out as asked when the sail is sewn; drawn: what seams draw in across each."""
    outline = sail.outline(cut)
    banks, asked = banks_of(outline, make), dict(finished.widths)
    if not _shaped(make) or not all(_in_order(bank, make) for bank in banks):
        return cut
    read = tape(banks, make, {name: line for name, line in size_lines(outline).items() if name in asked})
    return replace(cut, widths=tuple((n, mm + asked[n] + drawn.get(n, 0.0) - read[n]) for n, mm in cut.widths))


def perpendiculars(cut: Outline, make: Make, banks_of: Banks) -> dict[str, float]:
    """The luff perpendicular, of a trysail the tack perpendicular too, as a tape reads them on the sewn sail; none where nothing is shaped.

    They follow from the three edges, and shaping changes them: what it takes out of an edge is given back to that edge.
    cut: the outline without take-up.
    """
    if not _shaped(make):
        return {}
    lines = {"luff_perpendicular": _shortest(cut.clew_point, cut.luff)}
    if cut.kind is SailKind.TRYSAIL:
        lines["tack_perpendicular"] = _shortest(cut.tack_point, cut.leech)
    return {name: round(mm, 6) for name, mm in tape(banks_of(cut, make), make, lines).items()}


def _shortest(point: tuple[float, float], edge: tuple[tuple[float, float], ...]) -> Segment:
    x, y = nearest(np.array(point), np.array(edge))[1]
    return point, (float(x), float(y))


def _shaped(make: Make) -> bool:
    return bool(make.mitre_broadseam_mm) or any(seam.broadseam_mm for seam in (*make.seams, *make.foot_seams))


def _in_order(bank: Bank, make: Make) -> bool:
    """Whether the seams can be drafted; where they cannot, the panels are refused with the reason."""
    heights = [0.0, *(seam.height_mm for seam in bank.seams), bank.top]
    rising = all(b - a > (make.seam_overlap_mm if a else 0.0) for a, b in pairwise(heights))
    return rising and all(_sewable(bank, seam) for seam in bank.seams)


def _sewable(bank: Bank, seam: Seam) -> bool:
    left, right = bank.edges.across(seam.height_mm)
    return right - left > 0 and 2 * seam.broadseam_mm**2 / (3 * seam.run_out * (right - left)) <= 0.5
