"""Sizes at a class's own stations: widths at a distance from head or clew or at a part of the leech; its round between two points."""

from __future__ import annotations

import numpy as np

from costing.errors import CannotDetermine
from costing.measurements import Corner
from costing.rules.limits import LeechPoint, SailRule, Station
from costing.sail.distance import Array, nearest
from costing.sail.measure import leech_as_measured, leech_points, measure
from costing.sail.shape import Outline


def station_width(sail: Outline, station: Station) -> float:
    """The shortest distance, mm, from a station of the leech to the luff; CannotDetermine where the rule does not state the station.

    A distance is the straight line from the corner point to the leech, a part is counted along the leech's edge.
    """
    if not station.stated:
        raise CannotDetermine("the rule does not say at which point of the leech the width is taken")
    leech, corner = leech_as_measured(sail), np.array(sail.head_point)
    if station.start is Corner.CLEW:
        leech, corner = leech[::-1], np.array(sail.clew_point)
    point = _along(leech, *station.part) if station.part is not None else _at_distance(leech, corner, float(station.distance_mm or 0))
    return round(nearest(point, np.array(sail.luff))[0], 6)


def measure_for(sail: Outline, rule: SailRule) -> dict[str, float]:
    """Every size of the sail, and its widths and leech rounds at the rule's own stations by the limit's `value_name`; mm."""
    sizes = measure(sail)
    for limit in rule.limits:
        if limit.station is not None and limit.station.stated:
            found = station_width(sail, limit.station) if limit.station.between is None else leech_round(sail, *limit.station.between)
            sizes[limit.value_name] = found
    return sizes


def leech_round(sail: Outline, upper: LeechPoint, lower: LeechPoint) -> float:
    """How far, mm, the leech itself lies outside the straight line between two of its points; 0 where it lies on or inside the line.

    The leech is taken as it is cut: a hollow that the ERS bridge for widths stays a hollow.
    """
    leech = np.array(sail.leech)
    start, end = (_named(sail, point) for point in (upper, lower))
    line = end - start
    length = float(np.hypot(*line))
    if not length:
        raise CannotDetermine(f"{upper.called} and {lower.called} are one point of this sail")
    along = (leech - start) @ line / length
    outside = ((leech - start) @ np.array((-line[1], line[0])) / length)[(along >= 0) & (along <= length)]
    return round(max(0.0, float(outside.max(initial=0.0))), 6)


def _named(sail: Outline, point: LeechPoint) -> Array:
    if point is LeechPoint.AFT_HEAD:
        return np.array(sail.aft_head_point)
    return np.array(sail.clew_point if point is LeechPoint.CLEW else leech_points(sail)[f"{point.value}_width"])


def _along(leech: Array, part: int, of: int) -> Array:
    lengths = np.append(0.0, np.cumsum(np.hypot(*np.diff(leech, axis=0).T)))
    at = lengths[-1] * part / of
    return np.array((np.interp(at, lengths, leech[:, 0]), np.interp(at, lengths, leech[:, 1])))


def _at_distance(leech: Array, corner: Array, distance: float) -> Array:
    """The first point from the corner on where the leech is `distance` from it: a circle cuts a straight piece."""
    away = np.hypot(*(leech - corner).T)
    crossed = np.flatnonzero((away[:-1] <= distance) & (away[1:] > distance))
    if not len(crossed):
        raise CannotDetermine(f"no point of the leech is {distance:g} mm from that corner")
    start, along = leech[crossed[0]], leech[crossed[0] + 1] - leech[crossed[0]]
    gap = start - corner
    a, b, c = float(along @ along), float(gap @ along), float(gap @ gap) - distance**2
    point: Array = start + along * ((b * b - a * c) ** 0.5 - b) / a
    return point
