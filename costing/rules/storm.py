"""Storm sails: the World Sailing Offshore Special Regulations as data.

Areas and luff of the jibs and P x E of the trysail are second-hand (the jibs' maxima agree with those on a printed rating certificate),
colour and fibres were read, the trysail's area formula and the other text rules are from memory. These rules are about safety: nothing
here stands for the current text of the regulations, and none of it is given out until a named person has read that text.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from costing.errors import problem
from costing.measurements import SailKind
from costing.rules.limits import ByEye, Limit, SailRule

SOURCE = "World Sailing Offshore Special Regulations, storm and heavy-weather sails"
_MEMORY = "from memory"
_CHECKED = "current text checked by"
_TRYSAIL_AREA = "leech_length * tack_perpendicular / 2"
_JIB_AREA = "0.255 * luff_length * (luff_perpendicular + 2 * half_width)"
_IG = "forestay_height"
#: IM as it stands on a rating certificate, inferred from its printed maxima.
_IM = "forestay_height * foretriangle_base / (foretriangle_base - forestay_offset + mast_width)"

_COLOUR = ByEye("OSR storm sails", "The body of the sail is of a highly visible colour")
_FIBRES = ByEye("OSR storm sails", "No aramid and no carbon in the sail")
_TEXT: Mapping[SailKind, tuple[ByEye, ...]] = {
    SailKind.TRYSAIL: (
        _COLOUR,
        _FIBRES,
        ByEye("OSR trysail (from memory)", "No headboard, no battens; it can be sheeted without the boom; its number is on both sides"),
    ),
    SailKind.STORM_JIB: (
        _COLOUR,
        _FIBRES,
        ByEye("OSR storm jib (from memory)", "It can be attached to the stay by another means than a luff groove"),
    ),
    SailKind.HEADSAIL: (),
}


def storm_rule(kind: SailKind, *, checked_by: str, checked_on: date | None, by_certificate: bool = False) -> SailRule:
    """The limits of a trysail, a storm jib or (headsail) a heavy-weather jib; the rig's P, E or IG are values of the formulas, mm.

    checked_by, checked_on: who has checked the current text of the regulations, and when; InputError without them. by_certificate: take IM
    from the certificate's IG, J, GO and MW (inferred) where the regulations say IG.
    """
    if not checked_by.strip() or checked_on is None:
        message = f"{SOURCE}: a named person must have checked the current text before a sail is quoted to it; enter who and on which day"
        raise problem("checked_by", "not_checked", message)
    if kind not in _TEXT:
        raise problem("sail_kind", "no_rule", f"{SOURCE} say nothing here about a {kind.value.replace('_', ' ')}")
    said = f"{_CHECKED} {checked_by.strip()} on {checked_on:%Y-%m-%d}"
    return SailRule(kind, _limits(kind, _IM if by_certificate else _IG, said), by_eye=_TEXT[kind])


def storm_checked(rule: SailRule) -> bool:
    """Whether a rule carries limits of `storm_rule`, which nobody gets without naming who has checked the current text."""
    return any(_CHECKED in limit.note for limit in rule.limits)


def _limits(kind: SailKind, height: str, said: str) -> tuple[Limit, ...]:
    which = "IG" if height == _IG else "IM"
    if kind is SailKind.TRYSAIL:
        return (
            _area("OSR trysail", _TRYSAIL_AREA, "0.175 * mast_band_distance * boom_band_distance", "max 17.5 % of P x E", said, _MEMORY),
        )
    if kind is SailKind.HEADSAIL:
        return (_area("OSR heavy-weather jib", _JIB_AREA, f"0.135 * ({height}) ^ 2", f"max 13.5 % of {which}²", said),)
    luff = Limit("luff_length", "OSR storm jib", None, None, f"max 65 % of {which}", note=said, maximum_formula=f"0.65 * ({height})")
    return (_area("OSR storm jib", _JIB_AREA, f"0.05 * ({height}) ^ 2", f"max 5 % of {which}²", said), luff)


def _area(rule: str, formula: str, maximum: str, printed: str, *notes: str) -> Limit:
    return Limit("area", rule, None, None, printed, note="; ".join(notes), formula=formula, maximum_formula=maximum, name="area")
