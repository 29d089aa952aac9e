"""The ERS constructions on an outline, independent of how it was made."""

from __future__ import annotations

import math

import numpy as np

from costing.errors import problem
from costing.measurements import SPINNAKERS, SailKind
from costing.sail.distance import Array, nearest
from costing.sail.shape import Outline, Point


def leech_points(sail: Outline) -> dict[str, Point]:
    """Quarter, half, three-quarter and upper leech points by folding, by the name of their width; mm."""
    return {name: (float(p[0]), float(p[1])) for name, p in _leech_points(sail).items()}


def luff_points(sail: Outline) -> dict[str, Point]:
    """The points of a spinnaker's luff from which its widths go to the leech points of the same folds; mm."""
    found = _folded(np.array(sail.luff)[::-1], np.array(sail.head_point), np.array(sail.tack_point))
    return {name: (float(p[0]), float(p[1])) for name, p in found.items()}


def foot_middle(sail: Outline) -> Point:
    """Where the fold that lays tack point on clew point meets the foot: the foot median ends there; mm."""
    foot = np.array(sail.foot)
    x, y = _fold(foot, foot[0], foot[-1])
    return float(x), float(y)


def measure(sail: Outline) -> dict[str, float]:
    """Every size of the finished sail by its ERS construction: measurement name -> mm.

    A width goes from its leech point to the nearest point of the luff; a spinnaker's from the luff point to the leech point of the same
    fold. Rounded to a nanometre, so that the noise of float arithmetic is never read as a size over its limit.
    """
    luff, foot = np.array(sail.luff), np.array(sail.foot)
    head, tack, clew = sail.head_point, sail.tack_point, sail.clew_point
    sizes = _girths(sail, luff) | {
        "luff_length": math.dist(head, tack),
        "leech_length": math.dist(head, clew),
        "foot_length": math.dist(tack, clew),
        "foot_round": _greatest_outside(foot),
        "foot_median": math.dist(head, _fold(foot, foot[0], foot[-1])),
        "top_width": math.dist(head, sail.aft_head_point),
    }
    if sail.kind not in SPINNAKERS:
        sizes["luff_perpendicular"] = nearest(np.array(clew), luff)[0]
    if sail.kind is SailKind.TRYSAIL:
        sizes["tack_perpendicular"] = nearest(np.array(tack), np.array(sail.leech))[0]
    return {name: round(size, 6) for name, size in sizes.items()}


def _girths(sail: Outline, luff: Array) -> dict[str, float]:
    points = _leech_points(sail)
    if sail.kind not in SPINNAKERS:
        return {name: nearest(point, luff)[0] for name, point in points.items()}
    across = _folded(luff[::-1], np.array(sail.head_point), np.array(sail.tack_point))
    return {name: float(np.hypot(*(point - across[name]))) for name, point in points.items() if name != "upper_width"}


def leech_as_measured(sail: Outline) -> Array:
    """The leech on which points are found, rows x, y. A mainsail's hollows are bridged first: the ERS bridges them beside batten pockets
    (from memory); the other kinds, which have none here, are measured to the edge itself."""
    leech = np.array(sail.leech)
    return _bridged(leech) if sail.kind is SailKind.MAINSAIL else leech


def _leech_points(sail: Outline) -> dict[str, Array]:
    return _folded(leech_as_measured(sail), np.array(sail.head_point), np.array(sail.clew_point))


def _folded(edge: Array, head: Array, end: Array) -> dict[str, Array]:
    """The points of an edge, by the width's name: the crease of a fold is the perpendicular bisector of the two points laid together."""
    half = _fold(edge, head, end)
    three_quarter = _fold(edge, head, half)
    return {
        "quarter_width": _fold(edge, half, end),
        "half_width": half,
        "three_quarter_width": three_quarter,
        "upper_width": _fold(edge, head, three_quarter),
    }


def _bridged(leech: Array) -> Array:
    """The leech with every hollow bridged by a straight line: its hull on the aft side."""
    chord = leech[-1] - leech[0]
    out = (leech - leech[0]) @ np.array((-chord[1], chord[0]))
    along = (leech - leech[0]) @ chord
    if np.all(np.diff(along) > 0) and np.all(np.diff(np.diff(out) / np.diff(along)) <= 0):
        return leech
    kept: list[int] = []
    for i in np.lexsort((out, along)):
        while len(kept) > 1 and _turns_aft(along, out, kept[-2], kept[-1], i):
            kept.pop()
        kept.append(int(i))
    return leech[kept]


def _turns_aft(along: Array, out: Array, a: int, b: int, c: int) -> bool:
    """Whether b lies on or inside the straight line from a to c."""
    return bool((out[b] - out[a]) * (along[c] - along[a]) <= (out[c] - out[a]) * (along[b] - along[a]))


def _fold(edge: Array, one: Array, other: Array) -> Array:
    """Where the edge crosses the crease that lays `one` on `other`; of several crossings the outermost."""
    towards = other - one
    beyond = (edge - (one + other) / 2) @ towards
    crossed = np.nonzero((beyond[:-1] < 0) != (beyond[1:] < 0))[0]
    if not len(crossed):
        raise problem("outline", "no_fold_point", "the edge does not cross the crease of the fold: it is no sail's edge")
    part = beyond[crossed] / (beyond[crossed] - beyond[crossed + 1])
    points = edge[crossed] + part[:, None] * (edge[crossed + 1] - edge[crossed])
    gaps = points - one
    found: Array = points[np.abs(gaps[:, 0] * towards[1] - gaps[:, 1] * towards[0]).argmax()]
    return found


def _greatest_outside(foot: Array) -> float:
    """The greatest distance of the foot outside the straight line clew point to tack point; a hollow foot has none."""
    line = foot[-1] - foot[0]
    gaps = foot - foot[0]
    return max(0.0, float((gaps[:, 1] * line[0] - gaps[:, 0] * line[1]).max() / np.hypot(*line)))
