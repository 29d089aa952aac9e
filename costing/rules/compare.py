"""Sizes against limits: what breaches, and how much room is left."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from costing.rules.limits import Limit, SailRule


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
    raise NotImplementedError


def headroom(rule: SailRule, values: Mapping[str, Decimal]) -> tuple[Headroom, ...]:
    """Every limit for which there is a value, in the rule's order, with the room left."""
    raise NotImplementedError
