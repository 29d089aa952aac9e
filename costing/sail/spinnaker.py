"""A spinnaker's outline: a flat convention.

A spinnaker is a deep, doubly curved sail and has no flat outline. What is drawn here is the polygon whose straight lines between the
corners are the asked luff, leech and foot, whose luff and leech stand equally far outside those lines at the points of a fold, and whose
widths between these points are the asked ones. It measures as asked by the ERS constructions; its area is not that of the cloth.
"""

from __future__ import annotations

import math

import numpy as np

from costing.errors import Collector, problem
from costing.measurements import SailKind
from costing.sail.distance import Array
from costing.sail.edges import as_line, foot_arc, through
from costing.sail.fullness import faults, remedies, working_range
from costing.sail.knots import Frame
from costing.sail.shape import Outline, SailShape

#: Each width's fold: the two points that are laid together, upper first ("end" is tack or clew).
_FOLDS = {"half_width": ("head", "end"), "quarter_width": ("half_width", "end"), "three_quarter_width": ("head", "half_width")}
_FROM_THE_HEAD = ("head", "three_quarter_width", "half_width", "quarter_width", "end")
_SHARPEST_TURN = 0.9  # radians at one leech point
_SAME_MM = 0.05  # the two edges of a symmetric sail
_MOST_FOOT_ROUND = 0.25  # of the foot

Knots = dict[str, Array]


def check_sizes(shape: SailShape, problems: Collector) -> None:
    """Add every size that a spinnaker of this convention cannot have."""
    for name in dict(shape.widths):
        if name not in _FOLDS:
            problems.add(name, "not_of_this_sail", f"a spinnaker has no {name.replace('_', ' ')} here; it has {', '.join(_FOLDS)}")
    if shape.top_width:
        problems.add("top_width", "not_of_this_sail", f"a spinnaker's head is a point: 0 mm, not {shape.top_width:g} mm")
    if any(mm for _, mm in shape.luff_curve.stations):
        problems.add("luff_curve", "not_of_this_sail", "a spinnaker's luff is shaped by its widths, not by a luff curve")
    if shape.kind is SailKind.SYMMETRIC_SPINNAKER and abs(shape.luff_length - shape.leech_length) > _SAME_MM:
        luff, leech = f"{shape.luff_length:,g} mm", f"{shape.leech_length:,g} mm"
        problems.add("luff_length", "not_symmetric", f"luff {luff} and leech {leech} are equal on a symmetric spinnaker")
    if shape.foot_median is not None and shape.foot_round:
        problems.add("foot_median", "given_twice", "the foot round follows from the foot median: give one of the two")


def outline(shape: SailShape, frame: Frame) -> Outline:
    """The flat outline of a spinnaker; InputError with the width that no fair edge can have and the range that would work."""
    widths = dict(shape.widths)
    _check(frame, widths)
    luff, leech = _edges(frame, widths)
    down = through(np.array(list(luff.values())))
    return Outline(
        kind=shape.kind,
        luff=as_line(down[::-1]),
        head=as_line(np.array((frame.head,))),
        leech=as_line(through(np.array(list(leech.values())))),
        foot=as_line(foot_arc(frame.clew, _foot_round(shape, frame))),
    )


def _check(frame: Frame, widths: dict[str, float]) -> None:
    problems = Collector()

    def works(changed: dict[str, float]) -> bool:
        return not _faults(frame, widths | changed)

    for name, fault in _faults(frame, widths).items():
        foot = float(np.hypot(*frame.clew))
        ranges = {n: working_range(works, n, width, 0.1 * foot, 2.5 * foot) for n, width in widths.items()}
        near = {n: r for n, r in ranges.items() if n == name or r}
        problems.add(name, "unfair_leech", f"{widths[name]:,g} mm {fault}; {remedies(near)}")
    problems.raise_if_any()


def _faults(frame: Frame, widths: dict[str, float]) -> dict[str, str]:
    try:
        luff, leech = _edges(frame, widths)
    except ArithmeticError as error:
        return {str(error): "is narrower than any sail with these edges can be"}
    mirrored = {name: point * (-1, 1) for name, point in luff.items()}  # seen from the other side, the luff is a leech
    return faults(leech, hollow=False, sharpest=_SHARPEST_TURN) | faults(mirrored, hollow=False, sharpest=_SHARPEST_TURN)


def _edges(frame: Frame, widths: dict[str, float]) -> tuple[Knots, Knots]:
    """Luff and leech points from the head down: on their creases, equally far out on both edges, the width apart."""
    luff, leech = {"head": frame.head, "end": np.zeros(2)}, {"head": frame.head, "end": frame.clew}
    for name, (upper, lower) in _FOLDS.items():
        if name in widths:
            middles, outward = zip(_crease(luff[upper], luff[lower], -1), _crease(leech[upper], leech[lower], 1), strict=True)
            out = _apart(middles[1] - middles[0], outward[1] - outward[0], widths[name], name)
            luff[name], leech[name] = middles[0] + out * outward[0], middles[1] + out * outward[1]
    return _in_order(luff), _in_order(leech)


def _in_order(points: Knots) -> Knots:
    return {name: points[name] for name in _FROM_THE_HEAD if name in points}


def _crease(upper: Array, lower: Array, side: int) -> tuple[Array, Array]:
    """The middle of two points and the direction of their crease, outwards; side: 1 leech, -1 luff."""
    down = (lower - upper) / np.hypot(*(lower - upper))
    return (upper + lower) / 2, side * np.array((-down[1], down[0]))


def _apart(gap: Array, opening: Array, width: float, name: str) -> float:
    """How far out both points must go for them to be `width` apart; ArithmeticError names the width when they cannot."""
    a, b, c = float(opening @ opening), float(gap @ opening), float(gap @ gap) - width**2
    inside = b**2 - a * c
    if inside < 0 or a < 1e-12:
        raise ArithmeticError(name)
    return (math.sqrt(inside) - b) / a


def _foot_round(shape: SailShape, frame: Frame) -> float:
    """The asked foot round, or the one with which the foot's middle is the foot median away from the head point."""
    if shape.foot_median is None:
        return shape.foot_round
    chord = float(np.hypot(*frame.clew))
    ahead = frame.clew / chord
    outside = np.array((ahead[1], -ahead[0]))
    gap = frame.clew / 2 - frame.head
    along, across = float(gap @ outside), float(gap @ ahead)
    found = math.sqrt(max(shape.foot_median**2 - across**2, 0.0)) - along
    if not 0 <= found <= _MOST_FOOT_ROUND * chord:
        least, most = (math.hypot(along + r, across) for r in (0.0, _MOST_FOOT_ROUND * chord))
        message = f"{shape.foot_median:,g} mm does not go with these edges: it must be between {least:,.1f} and {most:,.1f} mm"
        raise problem("foot_median", "out_of_range", message)
    return found
