"""Sizes against limits: what breaches, how much room is left, and what the rule leaves open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costing.errors import CannotDetermine
from costing.measurements import MEASUREMENTS
from costing.rules import formula
from costing.rules.limits import Limit, Measured, SailRule
from costing.rules.plausible import in_words, label

Values = Mapping[str, Decimal]

#: What can be done about a breach; it is never clicked away.
WAYS_OUT = "recut it, measure it again, or have the owner sell it as NON-CLASS"
#: The same of a sail that is not made yet.
ON_ORDER = "ask for a size inside the limit, measure the boat again, or have the owner sell it as NON-CLASS"


@dataclass(frozen=True, slots=True)
class Breach:
    """A size outside its limit: value, limit, by how much in the measurement's unit (positive) and in per cent."""

    measurement: str
    rule: str
    value: Decimal
    limit: Decimal
    side: str  # "maximum", "minimum" or "permitted" (limit is then the nearest permitted value)
    by: Decimal
    percent: Decimal
    called: str = ""  # where the measurement's own label does not say it


@dataclass(frozen=True, slots=True)
class Headroom:
    """A size with its limit and the room to the nearer side; negative room is a breach. Bounds by formula stand in the limit as values."""

    limit: Limit
    value: Decimal
    room: Decimal
    percent: Decimal


@dataclass(frozen=True, slots=True)
class Undetermined:
    """A limit that nobody can compare, and why."""

    limit: Limit
    reason: str


@dataclass(frozen=True, slots=True)
class Assessment:
    """Every limit of a rule once: compared, cannot determine, or with no value given; those that do not apply are left out."""

    compared: tuple[Headroom, ...]
    undetermined: tuple[Undetermined, ...]
    not_given: tuple[Limit, ...]


def breaches(
    rule: SailRule, values: Values, *, certified_on: date | None = None, measured: Measured = Measured.FIRST
) -> tuple[Breach, ...]:
    """Every limit that a value is outside of, in the rule's order; values are compared unrounded.

    values: exact value in the measurement's unit by measurement (or a limit's `value_name`), other sails' as "headsail.half_width". A limit
    with no value, or that cannot be determined, is left out here: `assess` names them. certified_on: decides dated limits.
    """
    found = []
    for limit in rule.limits:
        if limit.plain:
            value = values.get(limit.measurement)
            if value is None or ((limit.maximum is None or value <= limit.maximum) and (limit.minimum is None or value >= limit.minimum)):
                continue
        headroom = _compared(limit, values, certified_on, measured)
        if isinstance(headroom, Headroom) and headroom.room < 0:
            found.append(breach_of(headroom))
    return tuple(found)


def headroom(
    rule: SailRule, values: Values, *, certified_on: date | None = None, measured: Measured = Measured.FIRST
) -> tuple[Headroom, ...]:
    """Every limit that can be compared, in the rule's order, with the room left."""
    return assess(rule, values, certified_on=certified_on, measured=measured).compared


def assess(rule: SailRule, values: Values, *, certified_on: date | None = None, measured: Measured = Measured.FIRST) -> Assessment:
    """Every limit that applies: compared where it can be, else why it cannot; never a guess."""
    compared, undetermined, not_given = [], [], []
    for limit in rule.limits:
        match _compared(limit, values, certified_on, measured):
            case Headroom() as room:
                compared.append(room)
            case Undetermined() as left_open:
                undetermined.append(left_open)
            case Limit() as without:
                not_given.append(without)
    return Assessment(tuple(compared), tuple(undetermined), tuple(not_given))


def breach_in_words(breach: Breach) -> str:
    """A breach as a sentence: ``leech length 5,600 mm is 40 mm over the maximum of 5,560 mm (C.6.3)``."""
    unit = MEASUREMENTS[breach.measurement].unit
    value, by, limit = (in_words(v, unit) for v in (breach.value, breach.by, breach.limit))
    called = breach.called or label(breach.measurement)
    if breach.side == "permitted":
        return f"{called} {value} is not permitted; the nearest that is permitted is {limit} ({breach.rule})"
    over = "over" if breach.side == "maximum" else "under"
    return f"{called} {value} is {by} {over} the {breach.side} of {limit} ({breach.rule})"


def refusal_in_words(breach: Breach) -> str:
    """A breach of a sail that is ordered: the sentence, and what can be done about it."""
    return f"{breach_in_words(breach)}; {ON_ORDER}"


def limits_for(rule: SailRule, *, certified_on: date | None, measured: Measured = Measured.FIRST) -> Iterator[Limit]:
    """The limits that a sail certified on a day must keep; without a day the dated ones too, which is the safe side."""
    for limit in rule.limits:
        if limit.measured in (None, measured) and (certified_on is None or _in_force(limit, certified_on)):
            yield limit


def resolved(limit: Limit, values: Values) -> Limit:
    """The limit with its formulas' bounds as values; CannotDetermine when one of them lacks a value."""
    if not (limit.minimum_formula or limit.maximum_formula):
        return limit
    unit = MEASUREMENTS[limit.measurement].unit
    low = formula.evaluate(formula.parse(limit.minimum_formula), values, unit) if limit.minimum_formula else limit.minimum
    high = formula.evaluate(formula.parse(limit.maximum_formula), values, unit) if limit.maximum_formula else limit.maximum
    return replace(limit, minimum=low, maximum=high)


def _compared(limit: Limit, values: Values, on: date | None, measured: Measured) -> Headroom | Undetermined | Limit | None:
    """The comparison; why there is none; the limit itself when no value is given; None when it does not apply."""
    if limit.measured not in (None, measured):
        return None
    if limit.certified_from or limit.certified_to:
        if on is None:
            return Undetermined(limit, "the limit is for sails certified on certain days, and the day is not known")
        if not _in_force(limit, on):
            return None
    if limit.open:
        return Undetermined(limit, limit.open)
    if limit.station is not None and not limit.station.stated:
        return Undetermined(limit, "the rule does not say at which point of the leech the width is taken")
    try:
        value = _value(limit, values)
        if value is None:
            return limit
        limit = resolved(limit, values)
    except CannotDetermine as error:
        return Undetermined(limit, str(error))
    if limit.minimum is None and limit.maximum is None and not limit.permitted:
        return Undetermined(limit, "the rule gives neither a minimum nor a maximum")
    room, _, bound = _nearer_side(limit, value)
    return Headroom(limit, value, room, _percent(room, bound))


def _in_force(limit: Limit, on: date) -> bool:
    return (limit.certified_from is None or limit.certified_from <= on) and (limit.certified_to is None or on <= limit.certified_to)


def _value(limit: Limit, values: Values) -> Decimal | None:
    if not limit.formula:
        return values.get(limit.value_name)
    return formula.evaluate(formula.parse(limit.formula), values, MEASUREMENTS[limit.measurement].unit)


def _nearer_side(limit: Limit, value: Decimal) -> tuple[Decimal, str, Decimal]:
    """Room, side and bound of the side that is nearer; only called when there is one."""
    sides = []
    if limit.permitted:
        nearest = min(limit.permitted, key=lambda p: abs(p - value))
        sides.append((-abs(nearest - value), "permitted", nearest))
    if limit.maximum is not None:
        sides.append((limit.maximum - value, "maximum", limit.maximum))
    if limit.minimum is not None:
        sides.append((value - limit.minimum, "minimum", limit.minimum))
    return min(sides)


def breach_of(headroom: Headroom) -> Breach:
    """A limit that was compared and has no room left, as a breach."""
    limit = headroom.limit
    room, side, bound = _nearer_side(limit, headroom.value)
    called = limit.name or limit.formula or (f"{label(limit.measurement)} {limit.station}" if limit.station else "")
    return Breach(limit.measurement, limit.rule, headroom.value, bound, side, -room, _percent(-room, bound), called)


def _percent(part: Decimal, bound: Decimal) -> Decimal:
    """`part` as per cent of a limit; 0 where the limit itself is 0."""
    return part / bound * 100 if bound else Decimal(0)
