"""A fair outline with exactly the asked sizes."""

from __future__ import annotations

import math

import numpy as np

from costing.errors import Collector
from costing.measurements import SPINNAKERS, SailKind
from costing.rules import plausible
from costing.sail import spinnaker
from costing.sail.edges import as_line, foot_arc, luff_line, through
from costing.sail.fullness import check_leech
from costing.sail.knots import FOLDS, Frame, leech_knots
from costing.sail.shape import Outline, SailShape

_MOST_LUFF_CURVE = 0.1  # of the luff: a mast that bends more has broken
_MOST_FOOT_ROUND = 0.25  # of the foot


def outline(shape: SailShape) -> Outline:
    """The finished sail's edge for these sizes; mm.

    Its leech bends the other way only where the widths force it. A mainsail's may not be hollow at a leech point: measured over the bridge
    it would come out wider than asked, so no main has such sizes. Headsails, trysails and storm jibs are measured to the edge and may.
    A spinnaker's outline is a flat convention (costing/sail/spinnaker.py).

    Raises InputError (paths are measurement names) when luff, leech and foot make no triangle, a width is larger than the
    one at the station below, or no fair sail has these sizes; the message says which pair conflicts and what range would work.
    """
    _check(shape)
    frame = _frame(shape)
    if shape.kind in SPINNAKERS:
        return spinnaker.outline(shape, frame)
    widths = dict(shape.widths)
    check_leech(frame, widths, hollow=shape.kind is not SailKind.MAINSAIL)
    knots = np.array(list(leech_knots(frame, widths).values()))
    head = (frame.head, frame.aft_head) if shape.top_width else (frame.head,)
    return Outline(
        kind=shape.kind,
        luff=as_line(frame.luff),
        head=as_line(np.array(head)),
        leech=as_line(through(knots)),
        foot=as_line(foot_arc(frame.clew, shape.foot_round)),
    )


def _check(shape: SailShape) -> None:
    problems = Collector()
    widths = dict(shape.widths)
    sizes = {"luff_length": shape.luff_length, "leech_length": shape.leech_length, "foot_length": shape.foot_length}
    for name, value in (sizes | widths).items():
        if not (math.isfinite(value) and value > 0):
            problems.add(name, "not_positive", f"must be more than 0 mm, not {value:g}")
    for name, folded in FOLDS.items():
        for other in (o for o in folded if name in widths and o in FOLDS and o not in widths):
            problems.add(name, "station_missing", f"its leech point is found from that of the {_words(other)}, which is not given")
    if shape.kind in SPINNAKERS:
        spinnaker.check_sizes(shape, problems)
    else:
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
            pair = " and ".join(f"{_words(n)} {v:,g} mm" for n, v in others.items())
            problems.add(name, "no_triangle", f"{value:,g} mm makes no triangle with {pair}: it must be between {low:,g} and {high:,g} mm")


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
        luff=luff_line(luff, shape.luff_curve),
    )


def _words(name: str) -> str:
    return name.replace("_", " ")
