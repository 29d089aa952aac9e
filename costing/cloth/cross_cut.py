"""Cross-cut panels: the cut outline divided by seams square to the line head-clew, each panel laid along the roll."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from costing.cloth import drafting
from costing.cloth.bank import Bank, proposed, without_seams
from costing.cloth.frame import Edges, edges_in_frame
from costing.cloth.grid import Floats
from costing.cloth.make import Make, Seam
from costing.cloth.part import Cloth, Orientation, Panel
from costing.cloth.sewn import with_widths_held
from costing.measurements import SPINNAKERS, SailKind
from costing.sail.shape import Outline, SailShape

KINDS = frozenset(SailKind) - SPINNAKERS
ORIENTATIONS = frozenset({Orientation.FILL, Orientation.BALANCED})
SUITS = "there the fill threads run along the leech and carry it; take a fill-oriented or balanced cloth"


def cut_shape(finished: SailShape, make: Make) -> SailShape:
    """The sizes to cut to: finished sizes plus take-up across the seams and along the tablings; mm.

    The leech gets the seams that cross it, and each edge its tabling's fraction. Luff and foot also get back what the broadseams that
    end on them take out of them. Widths get nothing: the seams run along them.
    """
    take_up = make.take_up
    crossing = [seam for seam in make.seams if 0 < seam.height_mm < finished.leech_length]
    luff_back, foot_back = _given_back(finished, crossing)
    cut = replace(
        finished,
        luff_length=finished.luff_length * (1 + take_up.luff_fraction) + luff_back,
        leech_length=finished.leech_length * (1 + take_up.leech_fraction) + take_up.per_seam_mm * len(crossing),
        foot_length=finished.foot_length * (1 + take_up.foot_fraction) + foot_back,
    )
    # a main's widths run so nearly along its seams that broadseams hardly touch them: 0.4 mm on the Skerling 13's
    return cut if finished.kind is SailKind.MAINSAIL else with_widths_held(cut, finished, make, {}, banks)


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
    """The body panels of the cut outline, from the foot up: warp along the panel, fill along the leech."""
    return drafting.checked_panels(banks(cut, make), make, cloth)


def propose_seams(cut: Outline, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> tuple[float, ...]:
    """Seam heights along the line from the clew point to the head point, for a pattern to keep; mm from the clew."""
    return proposed(banks(cut, without_seams(make))[0], make, cloth, spare_mm)


def threads(home: Edges, at: Floats) -> float:
    """How far (radians, anticlockwise) the body's cloth at a point is turned from the leech's frame to lie on the roll: not at all."""
    return 0.0


def banks(cut: Outline, make: Make) -> tuple[Bank, ...]:
    """The one bank of all its panels."""
    edges = edges_in_frame(cut, make)
    return (Bank(edges, edges, make.seams, "leech", float(edges.lines["leech"][0, 1])),)
