"""The ERS constructions on an outline, independent of how it was made."""

from __future__ import annotations

import math

import numpy as np

from costing.errors import problem
from costing.measurements import SailKind
from costing.sail.distance import Array, nearest
from costing.sail.shape import Outline, Point


def leech_points(sail: Outline) -> dict[str, Point]:
    """Quarter, half, three-quarter and upper leech points by folding, by the name of their width; mm."""
    return {name: (float(p[0]), float(p[1])) for name, p in _folded(sail).items()}


def measure(sail: Outline) -> dict[str, float]:
    """Every size of the finished sail by its ERS construction: measurement name -> mm.

    Rounded to a nanometre, so that the noise of float arithmetic is never read as a size over its limit.
    """
    luff, foot = np.array(sail.luff), np.array(sail.foot)
    head, tack, clew = sail.head_point, sail.tack_point, sail.clew_point
    sizes = {name: nearest(point, luff)[0] for name, point in _folded(sail).items()}
    sizes |= {
        "luff_length": math.dist(head, tack),
        "leech_length": math.dist(head, clew),
        "foot_length": math.dist(tack, clew),
        "foot_round": _greatest_outside(foot),
        "foot_median": math.dist(head, _fold(foot, foot[0], foot[-1])),
        "luff_perpendicular": nearest(np.array(clew), luff)[0],
        "top_width": math.dist(head, sail.aft_head_point),
    }
    return {name: round(size, 6) for name, size in sizes.items()}


def _folded(sail: Outline) -> dict[str, Array]:
    """The leech points: the crease of each fold is the perpendicular bisector of the two points that are laid together."""
    if sail.kind is not SailKind.MAINSAIL:
        raise problem("sail_kind", "not_measured", f"a {sail.kind.value.replace('_', ' ')} is not measured here yet; a mainsail is")
    leech = _bridged(np.array(sail.leech))
    head, clew = np.array(sail.head_point), np.array(sail.clew_point)
    half = _fold(leech, head, clew)
    three_quarter = _fold(leech, head, half)
    return {
        "quarter_width": _fold(leech, half, clew),
        "half_width": half,
        "three_quarter_width": three_quarter,
        "upper_width": _fold(leech, head, three_quarter),
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
        raise problem("leech", "no_leech_point", "the edge does not cross the crease of the fold: it is no sail's edge")
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
