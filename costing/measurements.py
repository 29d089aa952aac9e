"""The measurement vocabulary: every name that a rule, a pattern or a boat may use for a size.

Sail terms follow the Equipment Rules of Sailing (ERS). `construction` says in words how the value is taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum


class SailKind(StrEnum):
    MAINSAIL = "mainsail"
    HEADSAIL = "headsail"
    SYMMETRIC_SPINNAKER = "symmetric_spinnaker"
    ASYMMETRIC_SPINNAKER = "asymmetric_spinnaker"
    TRYSAIL = "trysail"
    STORM_JIB = "storm_jib"


SPINNAKERS = frozenset({SailKind.SYMMETRIC_SPINNAKER, SailKind.ASYMMETRIC_SPINNAKER})


class Corner(StrEnum):
    HEAD = "head"
    TACK = "tack"
    CLEW = "clew"


@dataclass(frozen=True, slots=True)
class Measurement:
    """A named size: its label on paper, its unit, and how it is taken."""

    name: str
    label: str
    unit: str
    construction: str
    of_rig: bool = False


def _m(name: str, label: str, construction: str, unit: str = "mm") -> Measurement:
    return Measurement(name, label, unit, construction)


_ALL = (
    # lengths of the sail
    _m("luff_length", "Luff length", "straight line, head point to tack point"),
    _m("leech_length", "Leech length", "straight line, head point to clew point"),
    _m("foot_length", "Foot length", "straight line, tack point to clew point"),
    _m("foot_round", "Foot round", "greatest distance of the foot edge outside the straight line tack point to clew point"),
    _m("foot_median", "Foot median", "head point to the middle of the foot"),
    _m("luff_perpendicular", "Luff perpendicular", "shortest distance from the clew point to the luff"),
    _m("tack_perpendicular", "Tack perpendicular", "shortest distance from the tack point to the leech"),
    # widths; a spinnaker's go from the luff point to the leech point of the same fold
    _m("quarter_width", "Quarter width", "shortest distance from the quarter leech point to the luff"),
    _m("half_width", "Half width", "shortest distance from the half leech point to the luff"),
    _m("three_quarter_width", "Three-quarter width", "shortest distance from the three-quarter leech point to the luff"),
    _m("upper_width", "Upper width", "shortest distance from the upper (7/8) leech point to the luff"),
    _m("top_width", "Top width", "head point to aft head point"),
    # details
    _m("primary_reinforcement_size", "Primary reinforcement", "greatest distance from the corner point to the patch edge"),
    _m("batten_pocket_count", "Batten pockets", "number", "count"),
    _m("batten_pocket_length", "Batten pocket length, inside", "along the centreline from the sail edge"),
    _m("batten_pocket_width", "Batten pocket width, inside", "at 90 degrees to the centreline"),
    _m("window_area", "Window area", "total of all windows", "m2"),
    _m("window_to_edge", "Window to sail edge", "shortest distance from a window to the edge of the sail"),
    _m("cloth_weight", "Cloth weight", "of the body of the sail", "g/m2"),
    # spars of a boat: they clamp a sail's own size and are never limits of the sail
    _m("mast_band_distance", "Mast band distance (P)", "upper edge of the lower band to lower edge of the upper band"),
    _m("boom_band_distance", "Boom band distance (E)", "aft side of the mast to the fore edge of the boom band"),
)  # fmt: skip

MEASUREMENTS: dict[str, Measurement] = {m.name: m for m in _ALL}

#: Widths from the clew up, with the fold fraction of each leech point above the clew.
WIDTH_STATIONS: tuple[tuple[str, float], ...] = (
    ("quarter_width", 0.25),
    ("half_width", 0.5),
    ("three_quarter_width", 0.75),
    ("upper_width", 0.875),
)


def nearest_name(name: str) -> str | None:
    """The known measurement name that looks most like `name`, or None when nothing is near."""
    close = get_close_matches(name, MEASUREMENTS, n=1)
    return close[0] if close else None
