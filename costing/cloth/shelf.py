"""A shelf foot: a lens of cloth between the sail's foot and the boom, which lets the foot keep its round.

Its curved edge is as long as the foot that it is sewn to, its straight edge lies along the boom. That it is one piece with its warp along
the boom, deepest in its middle and nothing at tack and clew, is common practice, no source.
"""

from __future__ import annotations

import numpy as np
import shapely

from costing.cloth.grid import Floats
from costing.cloth.make import Shelf

_POINTS = 61


def curve(foot: Floats, shelf: Shelf) -> Floats:
    """The edge that is sewn to the foot, from the tack aft: a parabola as long as the foot, over the straight edge along x; mm."""
    length, depth = float(shapely.LineString(foot).length), shelf.depth_mm
    short, long = 0.5 * length, length  # the chord of an arc of this depth and length lies between
    for _ in range(60):
        chord = (short + long) / 2
        short, long = (chord, long) if shapely.LineString(_arc(chord, depth)).length < length else (short, chord)
    return _arc((short + long) / 2, depth)


def ring(sewn: Floats, overlap_mm: float, allowance_mm: float) -> Floats:
    """The edge to cut: the overlap of the seam above the curve, what is folded in below the boom's edge."""
    above = sewn + np.array((0.0, overlap_mm))
    end = sewn[-1, 0]
    return np.vstack((((0.0, -allowance_mm), (end, -allowance_mm)), above[::-1]))


def _arc(chord: float, depth: float) -> Floats:
    x = np.linspace(0.0, chord, _POINTS)
    return np.column_stack((x, 4 * depth * x * (chord - x) / chord**2))
