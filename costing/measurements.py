"""The measurement vocabulary: every name that a rule, a pattern or a boat may use for a size.

Sail terms follow the Equipment Rules of Sailing (ERS). `construction` says in words how the value is taken.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from costing.errors import nearest


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
    """A named size: its label on paper, its unit, how it is taken, and whether it is the rig's and not the sail's."""

    name: str
    label: str
    unit: str
    construction: str
    of_rig: bool = False


def _m(name: str, label: str, construction: str, unit: str = "mm") -> Measurement:
    return Measurement(name, label, unit, construction)


def _rig(name: str, label: str, construction: str) -> Measurement:
    return Measurement(name, label, "mm", construction, of_rig=True)


_ALL = (
    # lengths of the sail
    _m("luff_length", "Luff length", "straight line, head point to tack point"),
    _m("leech_length", "Leech length", "straight line, head point to clew point"),
    _m("foot_length", "Foot length", "straight line, tack point to clew point"),
    _m("foot_round", "Foot round", "greatest distance of the foot edge outside the straight line tack point to clew point"),
    _m("foot_median", "Foot median", "head point to where the foot crosses the crease that lays tack point on clew point"),
    _m("luff_perpendicular", "Luff perpendicular", "shortest distance from the clew point to the luff"),
    _m("tack_perpendicular", "Tack perpendicular", "shortest distance from the tack point to the leech"),
    # widths; a spinnaker's go from the luff point to the leech point of the same fold
    _m("quarter_width", "Quarter width", "shortest distance from the quarter leech point to the luff"),
    _m("half_width", "Half width", "shortest distance from the half leech point to the luff"),
    _m("three_quarter_width", "Three-quarter width", "shortest distance from the three-quarter leech point to the luff"),
    _m("upper_width", "Upper width", "shortest distance from the upper (7/8) leech point to the luff"),
    _m("top_width", "Top width", "head point to aft head point"),
    _m("width", "Width", "shortest distance from a stated point of the leech to the luff"),
    _m("leech_round", "Leech outside a straight line", "greatest distance aft of the straight line between two stated points of the leech"),
    # details
    _m("primary_reinforcement_size", "Primary reinforcement", "greatest distance from the corner point to the patch edge"),
    _m("batten_pocket_count", "Batten pockets", "number", "count"),
    _m("batten_pocket_length", "Batten pocket length, inside", "along the centreline from the sail edge"),
    _m("batten_pocket_width", "Batten pocket width, inside", "at 90 degrees to the centreline"),
    _m("window_area", "Window area", "total of all windows", "m2"),
    _m("window_to_edge", "Window to sail edge", "shortest distance from a window to the edge of the sail"),
    _m("cloth_weight", "Cloth weight", "of the body of the sail", "g/m2"),
    _m("batten_pocket_length_total", "Batten pocket lengths together, inside", "sum over all pockets"),
    _m("batten_pocket_to_luff", "Batten pocket to luff", "shortest distance from a pocket to the luff"),
    _m("batten_pocket_beyond_batten", "Batten pocket longer than the longest batten", "inside length less the longest permitted batten"),
    _m("batten_pocket_position_error", "Batten pocket off its place", "pocket centreline at the leech to its equal part of the leech"),
    _m("batten_pocket_reinforcement", "Batten pocket reinforcement, forward", "greatest distance forward of the pocket's fore end"),
    _m("top_pocket_to_head", "Top batten pocket to head", "head point to the pocket's centreline at the leech"),
    _m("batten_count", "Battens", "number", "count"),
    _m("upper_batten_length", "Upper batten length", "greatest length"),
    _m("lower_batten_length", "Lower batten length", "greatest length"),
    _m("headboard_size", "Headboard", "greatest dimension"),
    _m("reef_height", "Reef above the tack", "tack point to the reef's tack cringle"),
    _m("number_height", "Height of sail numbers", "of the tallest character"),
    # computed from others by a formula of the rule
    _m("ratio", "Ratio", "computed by the rule's formula", "ratio"),
    _m("area", "Area", "computed by the rule's formula", "m2"),
    # spars of a boat: they clamp a sail's own size and are never limits of the sail
    _rig("mast_band_distance", "Mast band distance (P)", "upper edge of the lower band to lower edge of the upper band"),
    _rig("boom_band_distance", "Boom band distance (E)", "aft side of the mast to the fore edge of the boom band"),
    _rig("forestay_height", "Forestay height (IG)", "as on the boat's rating certificate"),
    _rig("foretriangle_base", "Foretriangle base (J)", "as on the boat's rating certificate"),
    _rig("forestay_offset", "Forestay offset (GO)", "as on the boat's rating certificate"),
    _rig("mast_width", "Mast width (MW)", "as on the boat's rating certificate"),
)  # fmt: skip

MEASUREMENTS: dict[str, Measurement] = {m.name: m for m in _ALL}

#: Widths from the clew up, with the fold fraction of each leech point above the clew.
WIDTH_STATIONS: tuple[tuple[str, float], ...] = (
    ("quarter_width", 0.25),
    ("half_width", 0.5),
    ("three_quarter_width", 0.75),
    ("upper_width", 0.875),
)

#: Abbreviations are not guessed at: only words that are longer are compared letter by letter, and must be this much alike.
_SHORT, _ALIKE = 4, 0.8

#: What rules, certificates and sailors call the sizes, and ours for it; where several may be meant, each has it. "Girth" and "cross width"
#: are older words for a width. Abbreviations of the rating rule: ORC, from its page on sails; those of its forerunner (MGT, MGU ...) and
#: all other words from memory.
_CALLED: dict[str, str] = {
    "luff_length": "luff, stretched luff, HLU, SLU",
    "leech_length": "leech, SLE",
    "foot_length": "foot, SFL",
    "foot_round": "foot roach, foot bow, skirt",
    "foot_median": "median, centre fold, centreline length",
    "luff_perpendicular": "perpendicular, LP, HLP, LPG, luff perp, clew to luff",
    "tack_perpendicular": "tack to leech",
    "quarter_width": "lower quarter width, lower width, lower girth, 1/4 width, MQW, HQW, MGL",
    "half_width": "mid width, mid height width, half height width, width at half height, 1/2 width, cross width, "
    "MHW, HHW, SHW, MGM, SMG, AMG",
    "three_quarter_width": "upper quarter width, upper girth, 3/4 width, three quarter height width, MTW, HTW, MGU",
    "upper_width": "upper girth, top girth, 7/8 width, seven eighths width, MUW, HUW, MGT",
    "top_width": "head width, head, width at head, headboard width, MHB, HHB",
    "width": "girth, upper girth, lower girth, top girth",
    "leech_round": "leech roach, roach, leech curve, convex leech, leech convexity",
    "primary_reinforcement_size": "reinforcement, reinforcement size, corner patch, patch size",
    "batten_count": "battens, number of battens",
    "batten_pocket_count": "batten pockets, number of batten pockets",
    "batten_pocket_position_error": "batten position, batten pocket position, batten spacing, batten pocket spacing",
    "upper_batten_length": "batten length, top batten length",
    "lower_batten_length": "batten length",
    "window_area": "window, windows, window size",
    "cloth_weight": "ply weight, fabric weight, material weight, sail weight, weight",
    "headboard_size": "headboard, headboard width",
    "reef_height": "reef, reef point, reef points, reef cringle",
    "number_height": "number size, numerals, height of numbers",
    "mast_band_distance": "P, hoist",
    "boom_band_distance": "E, outhaul",
    "forestay_height": "IG, I",
    "foretriangle_base": "J",
    "forestay_offset": "GO",
    "mast_width": "MW",
}  # fmt: skip

#: Sailors' words for kinds of sail, which a file does not take and a message understands.
OTHER_KINDS: dict[str, tuple[SailKind, ...]] = {
    "main": (SailKind.MAINSAIL,),
    "jib": (SailKind.HEADSAIL,),
    "genoa": (SailKind.HEADSAIL,),
    "gennaker": (SailKind.ASYMMETRIC_SPINNAKER,),
    "asymmetric": (SailKind.ASYMMETRIC_SPINNAKER,),
    "spinnaker": (SailKind.SYMMETRIC_SPINNAKER, SailKind.ASYMMETRIC_SPINNAKER),
    "kite": (SailKind.SYMMETRIC_SPINNAKER, SailKind.ASYMMETRIC_SPINNAKER),
    "storm sail": (SailKind.TRYSAIL, SailKind.STORM_JIB),
}


def meant(name: str) -> tuple[str, ...]:
    """The measurements that somebody else's name may stand for, or that are written most like it; empty when there are none."""
    words = _words(name)
    today = re.sub(r"\bleach\b", "leech", re.sub(r"\b(girth|cross width|cross measurement)\b", "width", words))
    near = nearest(today, (known for known in _BY_WORDS if len(known) > _SHORT), alike=_ALIKE)
    return _BY_WORDS.get(words) or _BY_WORDS.get(today) or _BY_WORDS.get(near, ())


def did_you_mean(name: str) -> str:
    """The end of a message on a measurement that is not known, empty when nothing is near."""
    return f"; did you mean {' or '.join(found)}?" if (found := meant(name)) else ""


def _words(name: str) -> str:
    return " ".join(re.split(r"[\s_-]+", name.casefold().strip()))


def _by_words() -> dict[str, tuple[str, ...]]:
    """Our names by every way of writing them, other people's words included."""
    found: dict[str, tuple[str, ...]] = {}
    for name in MEASUREMENTS:
        for words in dict.fromkeys((_words(name), *(_words(called) for called in _CALLED.get(name, "").split(",") if called))):
            found[words] = (*found.get(words, ()), name)
    return found


_BY_WORDS = _by_words()
