"""Vertical panels: seams along the line head-clew, warp along the leech, from the leech forward.

A seam's broadseam is taken out at its foot end. h runs from the leech towards the luff, s from the foot up.
"""

from __future__ import annotations

import math
from dataclasses import replace

from costing import sail
from costing.cloth import drafting
from costing.cloth.bank import Bank, proposed, without_seams
from costing.cloth.frame import Edges, Frame, edges_in_frame, frame_of
from costing.cloth.grid import Floats
from costing.cloth.make import Make
from costing.cloth.part import Cloth, Orientation, Panel
from costing.cloth.sewn import with_widths_held
from costing.cloth.take_up import all_drawn_in
from costing.measurements import SailKind
from costing.sail.shape import Outline, SailShape

KINDS = frozenset({SailKind.HEADSAIL})
ORIENTATIONS = frozenset({Orientation.WARP, Orientation.BALANCED})
SUITS = "there the warp threads run along the leech and carry it; take a warp-oriented or balanced cloth"


def cut_shape(finished: SailShape, make: Make) -> SailShape:
    """The sizes to cut to; mm. The seams draw in the foot and the widths that they cross; broadseams take out of the foot."""
    outline = sail.outline(finished)
    (bank,) = banks(outline, make)
    inside = [seam for seam in make.seams if 0 < seam.height_mm < bank.top]
    drawn = all_drawn_in(outline, map(bank.seam_on_sail, inside), make.take_up.per_seam_mm)
    # the foot runs slantwise across the roll: it loses that much of what is taken out across
    slant = bank.top / finished.foot_length
    cut = replace(
        finished,
        luff_length=finished.luff_length * (1 + make.take_up.luff_fraction) + drawn["luff_length"],
        leech_length=finished.leech_length * (1 + make.take_up.leech_fraction) + drawn["leech_length"],
        foot_length=finished.foot_length * (1 + make.take_up.foot_fraction)
        + drawn["foot_length"]
        + slant * sum(seam.broadseam_mm for seam in inside),
        widths=tuple((name, width + drawn[name]) for name, width in finished.widths),
    )
    return with_widths_held(cut, finished, make, drawn, banks)


def panels(cut: Outline, make: Make, cloth: Cloth) -> tuple[Panel, ...]:
    """The body panels of the cut outline, from the leech forward."""
    return drafting.checked_panels(banks(cut, make), make, cloth)


def propose_seams(cut: Outline, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> tuple[float, ...]:
    """Distances of the seams from the line clew point - head point, for a pattern to keep; mm."""
    return proposed(banks(cut, without_seams(make))[0], make, cloth, spare_mm)


def threads(home: Edges, at: Floats) -> float:
    """How far (radians, anticlockwise) the body's cloth at a point is turned from the leech's frame to lie on the roll."""
    return -math.pi / 2


def banks(cut: Outline, make: Make) -> tuple[Bank, ...]:
    """The one bank of all its panels."""
    along = frame_of(cut)
    edges = edges_in_frame(cut, make, Frame(cut.clew_point, -along.uy, along.ux))
    top = float(edges.lines["foot"][-1, 1])
    home = edges_in_frame(cut, make, along)
    return (Bank(edges, home, make.seams, "foot", top, place="from the leech", free_edges=("leech", "tack")),)
