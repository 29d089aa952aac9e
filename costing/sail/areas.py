"""Areas: the polygon's own, and those that rating and class rules compute from a few sizes.

The two differ, and both are right: on a mainsail with a straight leech and a square tack they are equal; with roach the polygon is larger,
because the folds put the leech points above the heights that the formula supposes and its trapezia cut the roach.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from costing.errors import Collector
from costing.measurements import SPINNAKERS, SailKind
from costing.rules import plausible
from costing.sail.measure import measure
from costing.sail.shape import Outline
from costing.units import square_metres

#: Length of the sail, its factor, and the weight of each width in the ORC formula (as printed on a certificate).
_WEIGHTS: dict[SailKind, tuple[str, float, dict[str, float]]] = {
    SailKind.MAINSAIL: (
        "luff_length",
        1 / 8,
        {"foot_length": 1, "quarter_width": 2, "half_width": 2, "three_quarter_width": 1.5, "upper_width": 1, "top_width": 0.5},
    ),
    SailKind.HEADSAIL: (
        "luff_length",
        0.1125,
        {"luff_perpendicular": 1.445, "quarter_width": 2, "half_width": 2, "three_quarter_width": 1.5, "upper_width": 1, "top_width": 0.5},
    ),
}
_SPINNAKER_SIZES = ("luff_length", "leech_length", "foot_length", "half_width")
#: How much larger than its formula an outline's polygon may be before somebody should look (ours: from published class maxima, 3-6 % on
#: mains with roach; spinnakers by their convention).
_EXPECTED: dict[SailKind, tuple[Decimal, Decimal]] = {
    SailKind.MAINSAIL: (Decimal("0.99"), Decimal("1.10")),
    SailKind.HEADSAIL: (Decimal("0.95"), Decimal("1.08")),
    SailKind.SYMMETRIC_SPINNAKER: (Decimal("0.95"), Decimal("1.10")),
    SailKind.ASYMMETRIC_SPINNAKER: (Decimal("0.95"), Decimal("1.10")),
    SailKind.TRYSAIL: (Decimal("0.97"), Decimal("1.08")),
    SailKind.STORM_JIB: (Decimal("0.95"), Decimal("1.10")),
}


@dataclass(frozen=True, slots=True)
class AreaComparison:
    """The two areas of one sail, m2, and their ratio; `explained` when the shape of the edges accounts for the difference."""

    polygon: Decimal
    published: Decimal
    ratio: Decimal
    explained: bool
    said: str
    why: str  # which is larger, by how much and why; only "differ" where nothing explains it


def polygon_area(sail: Outline) -> Decimal:
    """The area inside the outline, m2, 4 places."""
    return square_metres(_inside(sail))


def published_area(kind: SailKind, sizes: Mapping[str, float]) -> Decimal:
    """The published formula's area of a sail, m2, 4 places; sizes in mm by measurement name. InputError with every size that is missing.

    Mainsail (P and E are its luff and foot), headsail, spinnakers: ORC. Storm jib: 0.255 x luff x (LP + 2 x half width), Offshore Special
    Regulations for sails made after 2011 (second-hand). Trysail: half of leech x shortest distance tack point to leech, the same
    regulations (from memory: to be checked against the current text).
    """
    if kind is SailKind.TRYSAIL:
        leech, across = _needed(kind, sizes, ("leech_length", "tack_perpendicular"))
        return square_metres(leech * across / 2)
    if kind is SailKind.STORM_JIB:
        luff, perpendicular, half = _needed(kind, sizes, ("luff_length", "luff_perpendicular", "half_width"))
        return square_metres(0.255 * luff * (perpendicular + 2 * half))
    if kind not in _WEIGHTS:
        luff, leech, foot, half = _needed(kind, sizes, _SPINNAKER_SIZES)
        return square_metres((luff + leech) / 2 * (foot + 4 * half) / 6)
    along, factor, weights = _WEIGHTS[kind]
    length, *widths = _needed(kind, sizes, (along, *weights))
    return square_metres(length * factor * sum(w * width for w, width in zip(weights.values(), widths, strict=True)))


def formula_in_words(kind: SailKind) -> str:
    """The published formula of a kind of sail with the names of its sizes, as they stand on papers; in mm it gives mm2."""
    if kind is SailKind.TRYSAIL:
        return "leech length x tack perpendicular / 2"
    if kind is SailKind.STORM_JIB:
        return "0.255 x luff length x (luff perpendicular + 2 x half width)"
    if kind not in _WEIGHTS:
        return "(luff length + leech length) / 2 x (foot length + 4 x half width) / 6"
    along, factor, weights = _WEIGHTS[kind]
    widths = (plausible.label(name) if weight == 1 else f"{weight:g} x {plausible.label(name)}" for name, weight in weights.items())
    return f"{factor:g} x {plausible.label(along)} x ({' + '.join(widths)})"


def multihull_spinnaker_area(sizes: Mapping[str, float]) -> Decimal:
    """A spinnaker's area as multihull rules compute it, SF (SL1 + SL2) / 4 + (SMG - SF / 2) (SL1 + SL2) / 3; m2, 4 places, sizes in mm."""
    luff, leech, foot, half = _needed(SailKind.ASYMMETRIC_SPINNAKER, sizes, _SPINNAKER_SIZES)
    return square_metres(foot * (luff + leech) / 4 + (half - foot / 2) * (luff + leech) / 3)


def girth_heights(sizes: Mapping[str, float]) -> dict[str, float]:
    """How high above the tack the quarter, half and three-quarter leech points of a mainsail stand, mm, from its sizes in mm.

    MHWH = P/2 + (MHW - E/2) E/P; MQWH = MHWH/2 + (MQW - (E + MHW)/2) (E - MHW)/MHWH;
    MTWH = (MHWH + P)/2 + (MTW - MHW/2) MHW/(P - MHWH): published for rating (second-hand).
    """
    names = ("luff_length", "foot_length", "quarter_width", "half_width", "three_quarter_width")
    luff, foot, quarter, half, three_quarter = _needed(SailKind.MAINSAIL, sizes, names)
    at_half = luff / 2 + (half - foot / 2) * foot / luff
    return {
        "quarter_width": at_half / 2 + (quarter - (foot + half) / 2) * (foot - half) / at_half,
        "half_width": at_half,
        "three_quarter_width": (at_half + luff) / 2 + (three_quarter - half / 2) * half / (luff - at_half),
    }


def compare_areas(sail: Outline) -> AreaComparison:
    """The outline's own area beside the published formula's, which is which, and whether roach and edges explain the difference."""
    return compared_areas(sail.kind, polygon_area(sail), published_area(sail.kind, measure(sail)))


def compared_areas(kind: SailKind, polygon: Decimal, published: Decimal) -> AreaComparison:
    """The same of two areas that are known already, m2."""
    ratio = (polygon / published).quantize(Decimal("0.0001"))
    low, high = _EXPECTED[kind]
    explained = low <= ratio <= high
    why = _why(kind, polygon, published, explained)
    said = f"{polygon} m2 inside the outline, {published} m2 by the published formula: {why}"
    return AreaComparison(polygon, published, ratio, explained, said, why)


def _why(kind: SailKind, polygon: Decimal, published: Decimal, explained: bool) -> str:
    by = _share(polygon - published, published)
    if not explained:
        return f"they differ by {by}, more than the round of the edges explains: look at the sizes again"
    if by == "0.0 %":
        return "they are the same"
    if polygon > published:
        return f"the outline is {by} larger, as the formula leaves out its round edges"
    if kind in SPINNAKERS:
        more = _share(published - polygon, polygon)
        return f"the formula gives {more} more, as it takes luff and leech for the sail's height, and both lean"
    return f"they differ by {by}"


def _share(difference: Decimal, of: Decimal) -> str:
    return f"{abs(difference) / of * 100:.1f} %"


def _inside(sail: Outline) -> float:
    """mm2."""
    x, y = np.array(sail.ring).T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


def _needed(kind: SailKind, sizes: Mapping[str, float], names: tuple[str, ...]) -> list[float]:
    problems = Collector()
    for name in names:
        if name not in sizes:
            problems.add(name, "missing", f"the area of a {kind.value.replace('_', ' ')} needs the {plausible.label(name)}")
    problems.raise_if_any()
    return [float(sizes[name]) for name in names]
