"""A length that no lay of these parts can pass: their area with the tool's gap around them, and what holes must waste."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import shapely

from costing.cloth.grid import Bools, Floats
from costing.cloth.lay import Table
from costing.cloth.part import Cloth, Part, net_area_mm2
from costing.cloth.shapes import turning
from costing.sail.shape import Line

#: Corners of a quarter circle around a part: arcs drawn by chords are a little too small, so the bound stays one.
_ARC = 3


def least_length_mm(parts: Sequence[Part], cloth: Cloth, table: Table, sections: int = 1) -> float:
    """No lay of these parts in so many sections can be shorter, in all, mm.

    Parts lie a gap apart, so no point is nearer than half of it to two of them: grown by that half they share a strip that is grown
    alike. A hole wastes what is left of it when all that is small enough lies in holes, and all of it where nothing may.
    """
    bare = sum(net_area_mm2(part) for part in parts) / cloth.usable_width_mm
    half = table.gap_mm / 2
    grown = _areas([part.outer for part in parts], half)
    inside = float(_areas([ring for part in parts for ring in part.holes], -half).sum())
    filling = float(grown[_small_enough(parts, table.gap_mm)].sum()) if table.window_holes else 0.0
    apart = (float(grown.sum()) - min(inside, filling)) / (cloth.usable_width_mm + table.gap_mm)
    return max(bare, apart - sections * table.gap_mm)


def _areas(rings: Sequence[Line], grown_by: float) -> Floats:
    """What each ring encloses once it is grown by so much."""
    points = np.concatenate([np.asarray(ring) for ring in rings]) if rings else np.empty((0, 2))
    lines = shapely.linearrings(points, indices=np.repeat(np.arange(len(rings)), [len(ring) for ring in rings]))
    return np.asarray(shapely.area(shapely.buffer(shapely.polygons(lines), grown_by, quad_segs=_ARC)))


def _small_enough(parts: Sequence[Part], gap: float) -> Bools:
    """Which parts are, at a turn that both allow, no longer and no higher than the largest hole in each direction."""
    fits = np.zeros(len(parts), dtype=np.bool_)
    hosts = [(part.angles, np.ptp(np.asarray(ring), axis=0)) for part in parts for ring in part.holes]
    for angles in {angles for angles, _ in hosts}:
        room = np.max([size for own, size in hosts if own == angles], axis=0) - 2 * gap
        for n, part in enumerate(parts):
            ring = np.asarray(part.outer)
            # half a turn changes no extent
            turns = {(own - of_host) % 180 for own, of_host in product(part.angles, angles)}
            fits[n] |= any((np.ptp(ring @ turning(turn), axis=0) <= room).all() for turn in turns)
    return fits
