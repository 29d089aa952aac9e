"""Sizes in the wrong column, or that no boat of the class can have: said once where they stand, in place of what follows from them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from costing.errors import Collector
from costing.rules.plausible import in_words, label

#: A boat's spar bands, and the size of the sail that each one clamps.
BANDS = {"mast_band_distance": "luff_length", "boom_band_distance": "foot_length"}
_EDGES = ("luff_length", "leech_length", "foot_length")
_PAIRS = (tuple(BANDS), ("luff_length", "foot_length"))
_NEAR = Decimal("0.1")  # as near to another column's size as boats of a class differ
_SAME = Decimal("0.25")  # nearer to its own column's size than this, it is in the right one
_LEAST, _MOST = Decimal("0.5"), Decimal(2)  # a luff, leech, foot or band outside these times what is usual is no boat's of the class


def check_misread(sizes: Mapping[str, Decimal], usual: Mapping[str, Decimal], problems: Collector) -> frozenset[str]:
    """The names of edges and bands that cannot be meant so, each with its problem.

    sizes: what was asked or measured, mm; usual: the pattern's size or the class's limit by edge, for those that have one.
    """
    found = {name for pair in _PAIRS for name in _swapped(pair, sizes, usual, problems)}
    for name, value in sizes.items():
        own = usual.get(BANDS.get(name, name))
        if name in found or own is None or name not in (*BANDS, *_EDGES) or _near(value, own, _SAME):
            continue
        others = [edge for edge in _EDGES if edge != BANDS.get(name, name) and edge in usual and _near(value, usual[edge], _NEAR)]
        if others or not _LEAST <= value / own <= _MOST:
            why = ": no sail of this class is so"
            if others:
                why = f"; that is near the {label(others[0])} of {in_words(usual[others[0]])}: is it in the wrong column?"
            said = f"{label(name)} {in_words(value)} is {value / own:.2f} times the usual {in_words(own)}{why}"
            problems.add(name, "wrong_column" if others else "not_believable", said)
            found.add(name)
    return frozenset(found)


def _swapped(pair: tuple[str, ...], sizes: Mapping[str, Decimal], usual: Mapping[str, Decimal], problems: Collector) -> Iterator[str]:
    one, other = pair
    right, left = usual.get(BANDS.get(one, one)), usual.get(BANDS.get(other, other))
    if one not in sizes or other not in sizes or right is None or left is None or _near(right, left, _SAME):
        return
    if _near(sizes[one], left, _NEAR) and _near(sizes[other], right, _NEAR):
        given = f"{label(one)} {in_words(sizes[one])} and {label(other)} {in_words(sizes[other])}"
        problems.add(one, "swapped", f"{given} look swapped: about {in_words(right)} and {in_words(left)} are usual")
        yield from pair


def _near(value: Decimal, right: Decimal, share: Decimal) -> bool:
    return abs(value - right) <= share * right
