"""A fair outline with exactly the asked sizes."""

from __future__ import annotations

import math

import numpy as np

from costing.errors import Collector, problem
from costing.measurements import SailKind
from costing.rules import plausible
from costing.sail.distance import Array
from costing.sail.fair import fair_line
from costing.sail.fullness import check_leech
from costing.sail.knots import FOLDS, Frame, leech_knots
from costing.sail.shape import Line, LuffCurve, Outline, SailShape

_CHORD_ERROR_MM = 0.03
_MOST_LUFF_CURVE = 0.1  # of the luff: a mast that bends more has broken
_MOST_FOOT_ROUND = 0.25  # of the foot


def outline(shape: SailShape) -> Outline:
    """The finished sail's edge for these sizes; mm.

    Raises InputError (paths are measurement names) when luff, leech and foot make no triangle, a width is larger than the
    one at the station below, or no fair sail has these sizes; the message says which pair conflicts and what range would work.
    """
    _check(shape)
    frame = _frame(shape)
    widths = dict(shape.widths)
    check_leech(frame, widths)
    knots = np.array(list(leech_knots(frame, widths).values()))
    head = (frame.head, frame.aft_head) if shape.top_width else (frame.head,)
    return Outline(
        kind=shape.kind,
        luff=_line(frame.luff),
        head=_line(np.array(head)),
        leech=_line(_through(knots)),
        foot=_line(_foot(frame.clew, shape.foot_round)),
    )


def _check(shape: SailShape) -> None:
    if shape.kind is not SailKind.MAINSAIL:
        raise problem("sail_kind", "not_designed", f"a {shape.kind.value.replace('_', ' ')} has no outline here yet; a mainsail has")
    problems = Collector()
    widths = dict(shape.widths)
    sizes = {"luff_length": shape.luff_length, "leech_length": shape.leech_length, "foot_length": shape.foot_length}
    for name, value in (sizes | widths).items():
        if not (math.isfinite(value) and value > 0):
            problems.add(name, "not_positive", f"must be more than 0 mm, not {value:g}")
    for name, folded in FOLDS.items():
        for other in (o for o in folded if name in widths and o in FOLDS and o not in widths):
            problems.add(name, "station_missing", f"its leech point is found from that of the {_words(other)}, which is not given")
    plausible.check_width_order(widths | {"top_width": shape.top_width}, problems)
    problems.raise_if_any()
    _check_triangle(sizes, problems)
    _check_edges(shape, problems)
    problems.raise_if_any()


def _check_triangle(sizes: dict[str, float], problems: Collector) -> None:
    """Each of the three must be shorter than the other two together."""
    for name, value in sizes.items():
        others = {n: v for n, v in sizes.items() if n != name}
        low, high = 2 * max(others.values()) - sum(others.values()), sum(others.values())
        if value >= high:
            pair = " and ".join(f"{_words(n)} {v:g} mm" for n, v in others.items())
            problems.add(name, "no_triangle", f"{value:g} mm makes no triangle with {pair}: it must be between {low:g} and {high:g} mm")


def _check_edges(shape: SailShape, problems: Collector) -> None:
    if shape.top_width < 0:
        problems.add("top_width", "not_positive", f"must not be less than 0 mm, not {shape.top_width:g}")
    if not 0 <= shape.foot_round <= _MOST_FOOT_ROUND * shape.foot_length:
        most = _MOST_FOOT_ROUND * shape.foot_length
        problems.add("foot_round", "out_of_range", f"{shape.foot_round:g} mm is not between 0 and a quarter of the foot, {most:g} mm")
    fractions = [f for f, _ in shape.luff_curve.stations]
    if fractions != sorted(set(fractions)) or any(not 0 <= f <= 1 for f in fractions):
        problems.add("luff_curve", "stations", "the stations must rise from 0 (tack) to 1 (head), each one once")
    for fraction, offset in shape.luff_curve.stations:
        if fraction in (0, 1) and offset:
            problems.add("luff_curve", "ends", f"the luff curve is 0 at tack and head, not {offset:g} mm at {fraction:g}")
        if abs(offset) > _MOST_LUFF_CURVE * shape.luff_length:
            most = _MOST_LUFF_CURVE * shape.luff_length
            problems.add("luff_curve", "out_of_range", f"{offset:g} mm at {fraction:g} is more than a tenth of the luff, {most:g} mm")


def _frame(shape: SailShape) -> Frame:
    """Luff and corners: tack point at the origin, head point on +y, clew from the three straight-line lengths."""
    luff, leech, foot = shape.luff_length, shape.leech_length, shape.foot_length
    height = (luff**2 + foot**2 - leech**2) / (2 * luff)
    return Frame(
        head=np.array((0.0, luff)),
        aft_head=np.array((shape.top_width, luff)),
        clew=np.array((math.sqrt(foot**2 - height**2), height)),
        luff=_luff(luff, shape.luff_curve),
    )


def _luff(length: float, curve: LuffCurve) -> Array:
    inner = [(f, mm) for f, mm in curve.stations if 0 < f < 1 and any(o for _, o in curve.stations)]
    up, forward = np.array([(0.0, 0.0), *inner, (1.0, 0.0)]).T
    y, offset = fair_line(up * length, forward)
    return np.column_stack((-offset, y))


def _through(knots: Array) -> Array:
    """The leech through its knots: a fair line over the chord from aft head point to clew point."""
    start, end = knots[0], knots[-1]
    chord = float(np.hypot(*(end - start)))
    down = (end - start) / chord
    aft = np.array((-down[1], down[0]))
    along, out = (knots - start) @ down, (knots - start) @ aft
    along[-1], out[-1] = chord, 0.0
    x, y = fair_line(along, out)
    leech: Array = start + x[:, None] * down + y[:, None] * aft
    leech[np.searchsorted(x, along)] = knots
    return leech


def _foot(clew: Array, foot_round: float) -> Array:
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


def _line(points: Array) -> Line:
    return tuple((x, y) for x, y in points.tolist())


def _words(name: str) -> str:
    return name.replace("_", " ")
