"""The curved edges of an outline: luff by stations, an edge through its leech points, the foot's arc."""

from __future__ import annotations

import math

import numpy as np

from costing.sail.distance import Array
from costing.sail.fair import fair_line
from costing.sail.shape import Line, LuffCurve

_CHORD_ERROR_MM = 0.03


def luff_line(length: float, curve: LuffCurve) -> Array:
    """Tack to head along +y through the curve's stations; rows x, y, mm."""
    inner = [(f, mm) for f, mm in curve.stations if 0 < f < 1 and any(o for _, o in curve.stations)]
    up, forward = np.array([(0.0, 0.0), *inner, (1.0, 0.0)]).T
    y, offset = fair_line(up * length, forward)
    return np.column_stack((-offset, y))


def through(knots: Array) -> Array:
    """A fair edge through its knots, over the chord from the first to the last; the leech from its aft head point to the clew point."""
    start, end = knots[0], knots[-1]
    chord = float(np.hypot(*(end - start)))
    down = (end - start) / chord
    aft = np.array((-down[1], down[0]))
    along, out = (knots - start) @ down, (knots - start) @ aft
    along[-1], out[-1] = chord, 0.0
    x, y = fair_line(along, out)
    edge: Array = start + x[:, None] * down + y[:, None] * aft
    edge[np.searchsorted(x, along)] = knots
    return edge


def foot_arc(clew: Array, foot_round: float) -> Array:
    """Clew to tack as a circular arc that stands `foot_round` outside the straight line at its middle."""
    chord = float(np.hypot(*clew))
    if foot_round == 0:
        return np.array((clew, (0.0, 0.0)))
    radius = (chord**2 / 4 + foot_round**2) / (2 * foot_round)
    half = 2 * math.atan2(2 * foot_round, chord)
    pieces = 2 * math.ceil(half / math.sqrt(8 * _CHORD_ERROR_MM / radius))
    angle = np.linspace(half, -half, pieces + 1)
    ahead = clew / chord
    below = np.array((ahead[1], -ahead[0]))
    arc: Array = np.outer(chord / 2 + radius * np.sin(angle), ahead) + np.outer(radius * (np.cos(angle) - math.cos(half)), below)
    arc[0], arc[-1] = clew, (0.0, 0.0)
    return arc


def as_line(points: Array) -> Line:
    """Rows x, y as a line of plain floats."""
    return tuple((x, y) for x, y in points.tolist())
