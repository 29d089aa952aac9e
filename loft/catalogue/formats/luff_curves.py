"""Luff curves as people write them: offsets at stations, and nothing at the two corners."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from itertools import pairwise

from costing.sail import LuffCurve

_EXAMPLE = "0.25:30 0.5:45 0.75:35 (fraction of the luff from the tack : mm forward)"


def luff_curve(stations: Iterable[tuple[Decimal, Decimal]]) -> LuffCurve:
    """The curve through these (fraction from the tack, mm forward), with 0 at both corners; ValueError when they do not rise."""
    inner = [(float(at), float(offset)) for at, offset in stations]
    ends = {0.0: 0.0, 1.0: 0.0}
    at_corner = [offset for at, offset in inner if at in ends]
    if any(at_corner):
        raise ValueError("the offset at the tack (0) and at the head (1) is 0: the curve is measured from the line between them")
    inner = [(at, offset) for at, offset in inner if at not in ends]
    if not inner:
        raise ValueError("has no station between the tack (0) and the head (1)")
    if any(b[0] <= a[0] for a, b in pairwise(inner)):
        raise ValueError("the stations rise from the tack (0) to the head (1), each once")
    if inner[0][0] < 0 or inner[-1][0] > 1:
        raise ValueError("the stations are fractions between 0 (tack) and 1 (head)")
    return LuffCurve(((0.0, 0.0), *inner, (1.0, 0.0)))


def read_luff_curve(text: str) -> LuffCurve:
    """A curve written "0.25:30 0.5:45 0.75:35"; ValueError says how to write it."""
    stations = []
    for word in text.split():
        at, colon, offset = word.partition(":")
        try:
            stations.append((_plain(at), _plain(offset)))
        except InvalidOperation:
            raise ValueError(f"{word!r} is no station; write {_EXAMPLE}") from None
        if not colon:
            raise ValueError(f"{word!r} is no station; write {_EXAMPLE}")
    return luff_curve(stations)


def _plain(text: str) -> Decimal:
    """A finite decimal number in plain digits."""
    if not text.isascii() or text.strip("0123456789.-") or text.count(".") > 1:
        raise InvalidOperation
    return Decimal(text)
