"""Tabling strips for cut edges: they follow the curve, along the body's threads; cutter's frame, mm."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from shapely.ops import substring

from costing.cloth.frame import moved_left
from costing.cloth.grid import Floats
from costing.cloth.make import Edge

#: Longer strips are cut in pieces (common practice, no source); the pieces lap over each other by a seam's overlap.
_LONGEST_MM = 1200.0


def strips(line: Floats, edge: Edge, lap_mm: float, usable_width_mm: float) -> Iterator[Floats]:
    """The strip along an edge in equal pieces that fit across the roll; `line` runs clockwise, so that outside is to its left."""
    whole = shapely.LineString(line)
    room = min(_LONGEST_MM, usable_width_mm - 2 * (edge.finished_width_mm + edge.allowance_mm)) - lap_mm
    count = int(np.ceil(whole.length / room))
    for k in range(count):
        end = min((k + 1) * whole.length / count + lap_mm, whole.length)
        piece = np.asarray(substring(whole, k * whole.length / count, end).coords)
        yield np.vstack((moved_left(piece, edge.allowance_mm), moved_left(piece, -edge.finished_width_mm)[::-1]))
