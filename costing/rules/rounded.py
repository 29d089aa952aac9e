"""A size beside its limit as it is printed: rounded so that limit, size and the room between them agree to the last digit.

A reader who takes the printed size from the printed limit finds the printed room, and never more than there is.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from costing.measurements import MEASUREMENTS
from costing.rules.compare import Headroom
from costing.rules.limits import Limit

_TENTH = Decimal("0.1")
_THOUSANDTH = Decimal("0.001")
_TEN_THOUSANDTH = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class Beside:
    """A size and the room to the nearer side of its limit, in the measurement's unit; room below zero is a breach."""

    value: Decimal
    room: Decimal


def quantum(measurement: str) -> Decimal:
    """How finely a value under a limit is read: lengths and weights to a tenth, ratios, areas and counts to four places."""
    known = MEASUREMENTS.get(measurement)
    return _TENTH if known is not None and known.unit in ("mm", "g/m2") else _TEN_THOUSANDTH


def minimum(limit: Limit) -> Decimal | None:
    """The minimum as the rule has it; one that a formula or a unit left longer than a micrometre is rounded up."""
    return None if limit.minimum is None else _bound(limit.minimum, limit.measurement, ROUND_CEILING)


def maximum(limit: Limit) -> Decimal | None:
    """The maximum as the rule has it; one that a formula or a unit left longer than a micrometre is rounded down."""
    return None if limit.maximum is None else _bound(limit.maximum, limit.measurement, ROUND_FLOOR)


def beside(room: Headroom) -> Beside:
    """The size rounded towards its limit, and never across it; outside its limit, away from it."""
    limit, value = room.limit, room.value
    high, low = maximum(limit), minimum(limit)
    if high is not None and limit.maximum is not None and limit.maximum - value == room.room:
        printed = towards(value, high, limit.measurement, outside=room.room < 0)
        return Beside(printed, high - printed)
    if low is not None and limit.minimum is not None and value - limit.minimum == room.room:
        printed = towards(value, low, limit.measurement, outside=room.room < 0)
        return Beside(printed, printed - low)
    step = quantum(limit.measurement)
    return Beside(value.quantize(min(step, _last_digit(value, step)), ROUND_HALF_UP), room.room.quantize(step, ROUND_FLOOR))


def towards(value: Decimal, bound: Decimal, measurement: str, *, outside: bool) -> Decimal:
    """A value as it is printed beside a printed bound, as finely as that has digits; outside: it lies beyond, by the unrounded figures."""
    step = min(quantum(measurement), _last_digit(bound, _THOUSANDTH), _last_digit(value, _THOUSANDTH) if outside else Decimal(1))
    below = value < bound
    rounded = value.quantize(step, ROUND_CEILING if below is not outside else ROUND_FLOOR)
    if not outside:  # a bound that was itself rounded may lie closer than the value's last digit
        return min(rounded, bound) if below else max(rounded, bound)
    return rounded


def _bound(value: Decimal, measurement: str, rounding: str) -> Decimal:
    return value if value == value.quantize(_THOUSANDTH) else value.quantize(quantum(measurement), rounding)


def _last_digit(value: Decimal, finest: Decimal) -> Decimal:
    """The place of a value's last digit that is not zero, no finer than `finest`."""
    exponent = value.normalize().as_tuple().exponent
    return max(Decimal(1).scaleb(exponent), finest) if isinstance(exponent, int) else finest
