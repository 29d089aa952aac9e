"""Design targets: the finished sizes to aim at, each with what decided it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from costing.rules.limits import SailRule


@dataclass(frozen=True, slots=True)
class Margin:
    """How far the loft stays inside a maximum (or above a minimum): mm, or the measurement's unit."""

    measurement: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Target:
    """A finished size to aim at: exact value, what decided it, the rule number where a rule did."""

    measurement: str
    value: Decimal
    decided_by: str  # "limit", "boat", "pattern", "spar", "assumed"
    reason: str  # one readable sentence: "5 210 mm limit (C.6.3) less 10 mm kept back"
    rule: str = ""


def design_target(
    rule: SailRule,
    margins: tuple[Margin, ...],
    pattern_sizes: Mapping[str, Decimal],
    boat_sizes: Mapping[str, Decimal],
    relax: Mapping[str, Decimal] | None = None,
) -> tuple[Target, ...]:
    """The finished sizes of a sail: the smallest of limit less margin, the pattern's size, the boat's own and its spars less relaxation.

    boat_sizes: sizes that the customer asked for (sail measurements) and the boat's spar bands
    (``mast_band_distance``, ``boom_band_distance``); relax: mm that the relaxed luff and foot stay short of the bands.
    Raises InputError with every asked size that is over (or under) its limit, with the rule number and by how much,
    and every size that neither a limit, the pattern nor the boat gives.
    """
    raise NotImplementedError
