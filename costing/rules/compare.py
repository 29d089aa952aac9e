"""Sizes against limits: what breaches, and how much room is left."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from costing.measurements import MEASUREMENTS
from costing.rules.limits import Limit, SailRule
from costing.rules.plausible import in_words, label


@dataclass(frozen=True, slots=True)
class Breach:
    """A size outside its limit: value, limit, by how much in the measurement's unit (positive) and in per cent."""

    measurement: str
    rule: str
    value: Decimal
    limit: Decimal
    side: str  # "maximum" or "minimum"
    by: Decimal
    percent: Decimal


@dataclass(frozen=True, slots=True)
class Headroom:
    """A size with its limit and the room to the nearer side; negative room is a breach."""

    limit: Limit
    value: Decimal
    room: Decimal
    percent: Decimal


def breaches(rule: SailRule, values: Mapping[str, Decimal]) -> tuple[Breach, ...]:
    """Every limit that a value is outside of, in the rule's order; values are compared unrounded.

    values: measurement name -> exact value in the measurement's unit; a limit with no value is left out here
    (`headroom` shows what was compared).
    """
    return tuple(_breach(h) for h in headroom(rule, values) if h.room < 0)


def headroom(rule: SailRule, values: Mapping[str, Decimal]) -> tuple[Headroom, ...]:
    """Every limit for which there is a value, in the rule's order, with the room left."""
    compared = []
    for limit in rule.limits:
        value = values.get(limit.measurement)
        if value is not None and (limit.minimum is not None or limit.maximum is not None):
            room, _, bound = _nearer_side(limit, value)
            compared.append(Headroom(limit, value, room, _percent(room, bound)))
    return tuple(compared)


def breach_in_words(breach: Breach) -> str:
    """A breach as a sentence: ``leech length 5 600 mm is 40 mm over the maximum of 5 560 mm (C.6.3)``."""
    unit = MEASUREMENTS[breach.measurement].unit
    over = "over" if breach.side == "maximum" else "under"
    value, by, limit = (in_words(v, unit) for v in (breach.value, breach.by, breach.limit))
    return f"{label(breach.measurement)} {value} is {by} {over} the {breach.side} of {limit} ({breach.rule})"


def _nearer_side(limit: Limit, value: Decimal) -> tuple[Decimal, str, Decimal]:
    """Room, side and bound of the side that is nearer; only called when there is one."""
    sides = []
    if limit.maximum is not None:
        sides.append((limit.maximum - value, "maximum", limit.maximum))
    if limit.minimum is not None:
        sides.append((value - limit.minimum, "minimum", limit.minimum))
    return min(sides)


def _breach(headroom: Headroom) -> Breach:
    limit = headroom.limit
    room, side, bound = _nearer_side(limit, headroom.value)
    return Breach(limit.measurement, limit.rule, headroom.value, bound, side, -room, _percent(-room, bound))


def _percent(part: Decimal, bound: Decimal) -> Decimal:
    """`part` as per cent of a limit; 0 where the limit itself is 0."""
    return part / bound * 100 if bound else Decimal(0)
