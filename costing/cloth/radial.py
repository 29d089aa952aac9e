"""Radial cuts of spinnakers: gores that fan out from the head, or from all three corners, round a cross-cut or vertical centre.

The flat outline is a convention (costing.sail.spinnaker): depth comes from the shaping curves of the seams. Half the overlap of a seam
lies outside the sew line of each of its two panels, so that the left and the right gores of a symmetric sail are true mirrors.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from costing import sail
from costing.cloth import gore_checks, gore_panels
from costing.cloth.frame import Edges
from costing.cloth.gores import Layout, divided
from costing.cloth.grid import Floats
from costing.cloth.make import Centre, Make
from costing.cloth.part import Cloth, Orientation, Panel
from costing.cloth.taken_in import Crossed, crossings
from costing.measurements import SPINNAKERS, Corner, SailKind
from costing.sail.shape import Outline, SailShape


class Radial:
    """A radial cut: the corners that gores fan out from."""

    KINDS: frozenset[SailKind] = SPINNAKERS
    ORIENTATIONS: frozenset[Orientation] = frozenset({Orientation.WARP, Orientation.BALANCED})
    SUITS: str = "its gores run along the warp, which carries the load from the corners; take a warp-oriented or balanced cloth"

    def __init__(self, *corners: Corner) -> None:
        self._corners = corners

    def cut_shape(self, finished: SailShape, make: Make) -> SailShape:
        """The sizes to cut to: finished sizes plus take-up across the seams that each crosses and along the tapes; mm.

        Widths and foot median get back less by what the shaping curves of the crossed seams add to them: sewn, they are as asked.
        """
        flat = sail.outline(finished)
        asked = replace(finished, foot_round=0.0, foot_median=sail.measure(flat)["foot_median"])
        first = _sewn_as(asked, make, crossings(flat, self._layout(flat, make)))
        # a seam that ends near a corner may cross another size of the larger sail: what it crosses there is what counts
        larger = sail.outline(first)
        return _sewn_as(asked, make, crossings(larger, self._layout(larger, make)))

    def panels(self, cut: Outline, make: Make, cloth: Cloth) -> tuple[Panel, ...]:
        """The panels of the cut outline: the centre's from the foot up or from the luff, then each corner's gores."""
        return gore_panels.panels(self._layout(cut, make), make, cloth, folded=cut.kind is SailKind.SYMMETRIC_SPINNAKER)

    def propose_seams(self, cut: Outline, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> tuple[float, ...]:
        """Seams of the centre that use the full usable width: from the head's joint down, or as few as do, evenly, beside a centreline."""
        layout = self._layout(cut, replace(make, seams=()))
        centre = layout.pieces[0].cell.points
        # a panel is cut wider by what the pattern's own seams shape into it
        spacing = cloth.usable_width_mm - spare_mm - make.seam_overlap_mm - max((seam.broadseam_mm for seam in make.seams), default=0.0)
        if make.centre is Centre.VERTICAL:
            left, right = float(centre[:, 0].min()), float(centre[:, 0].max())
            count, first = max(1, -int(-(right - left) // spacing)), float(layout.seams["head joint"].start[0])
            return tuple(round(left - first + (right - left) * k / count, 1) for k in range(1, count))
        low, high = float(centre[:, 1].min()), float(centre[:, 1].max())
        count = max(0, -int(-(high - low + make.foot.allowance_mm) // spacing) - 1)
        lowest = high - spacing * count
        # too narrow a panel at the foot, or a seam in the foot's round: all alike
        if count and (lowest - low < gore_checks.LEAST_MM or lowest <= 0):
            spacing = (high - low) / (count + 1)
        return tuple(round(high - spacing * k, 1) for k in range(count, 0, -1))

    def threads(self, home: Edges, at: Floats) -> float:
        """How far (radians, anticlockwise) the cloth near a corner is turned from the leech's frame to lie on the roll.

        Cloth near a corner has its warp along the load line, which halves the corner, as the gores there and every layer on them have.
        """
        corners = (home.lines["luff"][0], home.lines["luff"][-1], home.lines["leech"][-1])
        near = min(range(3), key=lambda i: float(np.hypot(*(at - corners[i]))))
        sides = [corners[(near + k) % 3] - corners[near] for k in (1, 2)]
        load = sum((side / np.hypot(*side) for side in sides), np.zeros(2))
        return -math.atan2(float(load[1]), float(load[0]))

    def _layout(self, outline: Outline, make: Make) -> Layout:
        gore_checks.check(outline, make, self._corners)
        layout = divided(outline, make)
        gore_checks.check_curves(layout)
        return layout


def _sewn_as(asked: SailShape, make: Make, crossed: Mapping[str, Crossed]) -> SailShape:
    """The sizes of which sewing leaves the asked ones, where each crosses these seams; mm."""
    take_up = make.take_up

    def added(name: str) -> float:
        return take_up.per_seam_mm * crossed[name].seams - crossed[name].fullness_mm

    assert asked.foot_median is not None
    return replace(
        asked,
        luff_length=asked.luff_length * (1 + take_up.luff_fraction) + added("luff_length"),
        leech_length=asked.leech_length * (1 + take_up.leech_fraction) + added("leech_length"),
        foot_length=asked.foot_length * (1 + take_up.foot_fraction) + added("foot_length"),
        widths=tuple((name, width + added(name)) for name, width in asked.widths),
        foot_median=asked.foot_median + added("foot_median"),
    )


RADIAL_HEAD = Radial(Corner.HEAD)
TRI_RADIAL = Radial(Corner.HEAD, Corner.TACK, Corner.CLEW)
