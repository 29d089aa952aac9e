"""Whether a boat's measurement set can be believed: doubts for a person to settle, not refusals."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

from costing.errors import Problem
from costing.measurements import MEASUREMENTS, SPINNAKERS, SailKind
from costing.rules.limits import SailRule
from costing.rules.plausible import FROM_THE_CLEW, in_words, label

# When a set is doubted. Ours, common practice, no source: a doubt asks for a second look and a name, and refuses nothing.
_OFF = Decimal("0.01")  # P or E against class or rig
_SWAPPED = Decimal("0.05")  # each this near to the other's size
_LONG_MM = Decimal(5000)  # a tape held by two people: repeats of a size up to here agree within 5 mm, of a longer one within 10 mm
_SHORT_REPEATS_MM, _LONG_REPEATS_MM = Decimal(5), Decimal(10)
_BANDS = ("mast_band_distance", "boom_band_distance")
#: The sharpest corner between luff and foot that a sail is cut with, degrees (common practice, no source).
_SHARPEST_TACK = {SailKind.MAINSAIL: 75.0, SailKind.TRYSAIL: 50.0, SailKind.HEADSAIL: 45.0, SailKind.STORM_JIB: 40.0}

Sizes = Mapping[str, Decimal]


def doubts(
    kind: SailKind,
    sizes: Sizes,
    *,
    rig: Sizes | None = None,
    repeats: Mapping[str, Sequence[Decimal]] | None = None,
    sources: Mapping[str, str] | None = None,
) -> tuple[Problem, ...]:
    """What in a measurement set should be measured again, each with the measurement's name as its path.

    sizes: mm by measurement; rig: the class's or the boat's own P and E (``mast_band_distance``, ``boom_band_distance``), mm;
    repeats: every reading of a size that was taken more than once; sources: where a size of the rig comes from,
    as "that the class rules give".
    """
    known = rig or {}
    swapped = tuple(_swapped(sizes, known))
    return (*(swapped or _off(sizes, known, sources or {})), *_unsteady(repeats or {}), *_short_leech(kind, sizes))


def _swapped(sizes: Sizes, rig: Sizes) -> Iterator[Problem]:
    if not all(band in sizes and band in rig for band in _BANDS):
        return
    mast, boom = (sizes[band] for band in _BANDS)
    right_mast, right_boom = (rig[band] for band in _BANDS)
    if _near(mast, right_boom, _SWAPPED) and _near(boom, right_mast, _SWAPPED) and not _near(right_mast, right_boom, 2 * _SWAPPED):
        message = f"P {in_words(mast)} and E {in_words(boom)} look swapped: {in_words(right_mast)} and {in_words(right_boom)} are known"
        yield Problem(_BANDS[0], "swapped", message)


def _off(sizes: Sizes, rig: Sizes, sources: Mapping[str, str]) -> Iterator[Problem]:
    for band in _BANDS:
        if band in sizes and band in rig and not _near(sizes[band], rig[band], _OFF):
            off = abs(sizes[band] - rig[band]) / rig[band] * 100
            known = f"{in_words(rig[band])} {sources.get(band, 'that is known')}"
            message = f"{label(band)} {in_words(sizes[band])} is {off:.1f} % off the {known}: measure it again"
            yield Problem(band, "off_the_rig", message)


def _unsteady(repeats: Mapping[str, Sequence[Decimal]]) -> Iterator[Problem]:
    for name, readings in repeats.items():
        if len(readings) < 2 or name not in MEASUREMENTS:
            continue
        spread, most = max(readings) - min(readings), _SHORT_REPEATS_MM if max(readings) <= _LONG_MM else _LONG_REPEATS_MM
        if spread > most:
            message = f"{label(name)} was read {in_words(spread)} apart in {len(readings)} readings; at most {in_words(most)} is steady"
            yield Problem(name, "repeats_differ", message)


def _short_leech(kind: SailKind, sizes: Sizes) -> Iterator[Problem]:
    """A leech that would draw the clew up until luff and foot meet sharper than any sail is cut (law of cosines)."""
    edges = [sizes.get(n) for n in ("luff_length", "foot_length", "leech_length")]
    luff, foot, leech = edges
    if kind in SPINNAKERS or luff is None or foot is None or leech is None:
        return
    sharpest = _SHARPEST_TACK[kind]
    least = math.sqrt(float(luff) ** 2 + float(foot) ** 2 - 2 * float(luff * foot) * math.cos(math.radians(sharpest)))
    if leech < Decimal(least):
        message = (
            f"leech length {in_words(leech)} is short for a luff of {in_words(luff)} and a foot of {in_words(foot)}: "
            f"below {least:.0f} mm the tack is sharper than {sharpest:g} degrees"
        )
        yield Problem("leech_length", "short_for_the_luff", message)


def _near(value: Decimal, right: Decimal, share: Decimal) -> bool:
    return abs(value - right) <= share * right


def swapped_limits(rule: SailRule) -> Iterator[str]:
    """A sentence for each maximum of a width that is more than the one at the station below, and for a luff shorter than the foot: a sail
    narrows towards its head.

    A spinnaker may not.
    """
    given = [(name, limit) for name in FROM_THE_CLEW if (limit := rule.limit(name)) is not None and limit.maximum is not None]
    if rule.kind in SPINNAKERS:
        return
    luff, foot = rule.limit("luff_length"), rule.limit("foot_length")
    if luff and foot and luff.maximum is not None and foot.maximum is not None and luff.maximum < foot.maximum:
        said = f"luff length of at most {in_words(luff.maximum)} ({luff.rule}) is less than the foot length"
        yield f"{rule.kind.value}: {said}, at most {in_words(foot.maximum)} ({foot.rule}): are the two swapped?"
    for (below, low), (above, high) in pairwise(given):
        if high.maximum is not None and low.maximum is not None and high.maximum > low.maximum:
            said = f"{label(above)} of at most {in_words(high.maximum)} ({high.rule}) is more than the {label(below)} below it"
            yield f"{rule.kind.value}: {said}, at most {in_words(low.maximum)} ({low.rule}): are the two swapped?"
