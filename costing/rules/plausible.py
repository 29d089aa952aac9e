"""Sizes that cannot be meant: a slip of the unit or the decimal point, and widths that grow towards the head."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise

from costing.errors import Collector
from costing.measurements import MEASUREMENTS, WIDTH_STATIONS

#: Slips of the pen that are seen in measurement sets: how many times off, and what it looks like.
_SLIPS: tuple[tuple[Decimal, str], ...] = (
    (Decimal(10), "a digit too many"),
    (Decimal(1) / 10, "centimetres, or a digit that is missing"),
    (Decimal("25.4"), "inches converted twice"),
    (1 / Decimal("25.4"), "inches"),
    (Decimal(100), "two digits too many"),
    (Decimal(1) / 100, "two digits too few"),
    (Decimal("304.8"), "feet converted twice"),
    (1 / Decimal("304.8"), "feet"),
    (Decimal(100), "two digits too many, or metres for centimetres"),
    (Decimal(1000), "metres converted twice"),
    (Decimal(1) / 1000, "metres"),
)
_FOUR_PLACES = Decimal("0.0001")
_NEAR = (Decimal("0.8"), Decimal("1.25"))  # a boat's own size stays this near to the pattern's

FROM_THE_CLEW = (*(name for name, _ in WIDTH_STATIONS), "top_width")


def in_words(value: Decimal, unit: str = "mm") -> str:
    """A size as people read it: ``5,210 mm``, ``4,876.8 mm``, ``0.3 m2``, ``4``; only what a formula left longer is cut to 4 places."""
    digits = f"{(value if _short(value) else value.quantize(_FOUR_PLACES, ROUND_HALF_UP)).normalize():,f}"
    return digits if unit in ("count", "ratio") else f"{digits} {unit}"


def _short(value: Decimal) -> bool:
    exponent = value.normalize().as_tuple().exponent
    return isinstance(exponent, int) and exponent >= -4


def label(name: str) -> str:
    """A measurement's label inside a sentence: ``mast band distance (P)``."""
    printed = MEASUREMENTS[name].label
    return printed[0].lower() + printed[1:]


def check_slip(name: str, value: Decimal, reference: Decimal, what: str, problems: Collector) -> bool:
    """Whether `value` looks like a slip of about 10, 25.4 or 1000 times against `reference`; adds the problem that says so.

    what: names the reference in the message ("pattern's", "limit of").
    """
    if reference <= 0 or value <= 0:
        return False
    for factor, looks_like in _SLIPS:
        if _NEAR[0] <= value / reference / factor <= _NEAR[1]:
            meant = (value / factor).quantize(Decimal("0.1"), rounding="ROUND_HALF_UP")
            problems.add(name, "looks_like_a_slip", _slip_message(value, factor, f"{what} {in_words(reference)}", looks_like, meant))
            return True
    return False


def _slip_message(value: Decimal, factor: Decimal, reference: str, looks_like: str, meant: Decimal) -> str:
    times = f"{factor.normalize():f} times" if factor > 1 else f"1/{(1 / factor).quantize(Decimal('0.1')).normalize():f} of"
    return f"{in_words(value)} is about {times} the {reference} and looks like {looks_like}: was {in_words(meant)} meant?"


def check_width_order(sizes: Mapping[str, Decimal] | Mapping[str, float], problems: Collector) -> None:
    """Add a problem for every width that is larger than the one at the station below it; stations not given are skipped."""
    given = [name for name in FROM_THE_CLEW if name in sizes]
    for below, above in pairwise(given):
        wide, narrow = Decimal(str(sizes[above])), Decimal(str(sizes[below]))
        if wide > narrow:
            problems.add(
                above,
                "wider_than_below",
                f"{label(above)} {in_words(wide)} is larger than the {label(below)} {in_words(narrow)}, the station below it: "
                "a mainsail narrows towards the head; one of the two is wrong",
            )
