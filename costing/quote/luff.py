"""A boat's own luff curve beside the pattern's: what cannot be meant is told as the curve's, not as a width that it spoils."""

from __future__ import annotations

import math
from decimal import Decimal
from itertools import pairwise

from costing.errors import Collector
from costing.rules import plausible
from costing.rules.plausible import in_words
from costing.sail.shape import LuffCurve

#: Common practice, no source: a mast of the class bends at most this many times as much as the one that the pattern is cut for.
MOST_TIMES = 2
#: A curve that is flatter than this part of the pattern's, and not straight, was rather written in centimetres or inches.
LEAST_PART = 8


def check_luff_curve(asked: LuffCurve, pattern: LuffCurve, wrong: Collector) -> None:
    """Add a problem at "luff_curve" for every station that lies on the other side than the pattern's, is a slip of the unit, or is far
    beyond the pattern's offset there."""
    for fraction, offset in asked.stations:
        reference = Decimal(str(round(_offset_at(fraction, pattern), 1)))
        if reference > 0 and offset:
            _check_station(fraction, Decimal(str(offset)), reference, wrong)
        elif reference < 0 and offset:
            _check_hollow(fraction, Decimal(str(offset)), reference, wrong)


def _offset_at(fraction: float, curve: LuffCurve) -> float:
    """The curve's offset there, straight between its stations; 0 outside them."""
    for (below, low), (above, high) in pairwise(curve.stations):
        if below <= fraction <= above:
            return low + (high - low) * (fraction - below) / (above - below)
    return 0.0


def _check_hollow(fraction: float, offset: Decimal, reference: Decimal, wrong: Collector) -> None:
    """A stay sags aft: the luff that hangs on it is hollow, written with a minus."""
    most = MOST_TIMES * -reference // 1
    works = f"there, a hollow up to {in_words(most)} can be made, or 0 for a straight luff"
    if offset > 0:
        told = f"{in_words(offset)} at {fraction:g} stands forward, and the pattern's is {in_words(-reference)} hollow for the stay's sag"
        wrong.add("luff_curve", "forward", f"{told}: was {in_words(-offset)} meant? {works}")
    elif -offset > most:
        told = f"a hollow of {in_words(-offset)} at {fraction:g} is far more than the pattern's {in_words(-reference)}"
        wrong.add("luff_curve", "out_of_range", f"{told}; {works}")


def _check_station(fraction: float, offset: Decimal, reference: Decimal, wrong: Collector) -> None:
    where = f"offset at {fraction:g} of the pattern's luff,"
    least, most = Decimal(math.ceil(reference / LEAST_PART)), MOST_TIMES * reference // 1
    works = f"there, {in_words(least)} to {in_words(most)} can be made, or 0 for a straight luff"
    slips = Collector()
    if offset < 0:
        told = f"{in_words(offset)} at {fraction:g} hollows the luff, and the pattern's runs {in_words(reference)} forward"
        wrong.add("luff_curve", "negative", f"{told}: was {in_words(-offset)} meant? {works}")
    elif plausible.check_slip("luff_curve", offset, reference, where, slips):
        wrong.extend(type(p)(p.path, p.code, f"{p.message} {works}") for p in slips)
    elif offset > most:
        told = f"{in_words(offset)} at {fraction:g} is far more than the pattern's {in_words(reference)}"
        wrong.add("luff_curve", "out_of_range", f"{told}; {works}")
