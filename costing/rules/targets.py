"""Design targets: the finished sizes to aim at, each with what decided it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costing import measurements
from costing.errors import CannotDetermine, Collector
from costing.measurements import MEASUREMENTS, SPINNAKERS, SailKind
from costing.rules.compare import ON_ORDER, Breach, breaches, limits_for, refusal_in_words, resolved
from costing.rules.formula import measurement_of
from costing.rules.limits import Limit, SailRule
from costing.rules.misread import BANDS, check_misread
from costing.rules.plausible import check_slip, check_width_order, in_words, label
from costing.rules.references import bound_by

_EDGES = ("luff_length", "leech_length", "foot_length")
#: Sizes without which there is no sail to design, by kind; others may be assumed (costing/sail/assumed.py).
_NEEDED: dict[SailKind, tuple[str, ...]] = {
    SailKind.MAINSAIL: (*_EDGES, "quarter_width", "half_width", "three_quarter_width", "top_width"),
    SailKind.HEADSAIL: _EDGES,
    SailKind.SYMMETRIC_SPINNAKER: ("leech_length", "foot_length"),
    SailKind.ASYMMETRIC_SPINNAKER: _EDGES,
    SailKind.TRYSAIL: _EDGES,
    SailKind.STORM_JIB: _EDGES,
}
#: Sizes that never differ ten times from one boat of a class to the next; a foot round or a patch may.
_STEADY = frozenset({*_NEEDED[SailKind.MAINSAIL], "upper_width"})
_DESIGNED = tuple(n for n, m in MEASUREMENTS.items() if m.unit == "mm" and not m.of_rig)
_FROM_LP = frozenset({SailKind.HEADSAIL, SailKind.STORM_JIB})  # their foot may follow from the luff perpendicular


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
    reason: str  # one readable sentence: "5,210 mm limit (C.6.3) less 10 mm kept back"
    rule: str = ""


@dataclass(frozen=True, slots=True)
class _Bounds:
    """The strictest minimum and maximum of a measurement over all corners, each with its rule number, and the margin."""

    minimum: Decimal | None
    minimum_rule: str
    maximum: Decimal | None
    maximum_rule: str
    margin: Decimal

    permitted: tuple[Decimal, ...] = ()

    @property
    def aimed_maximum(self) -> Decimal | None:
        return None if self.maximum is None else self.maximum - self.margin

    @property
    def narrow(self) -> bool:
        """Whether the margin does not fit twice between minimum and maximum."""
        return self.minimum is not None and self.maximum is not None and self.maximum - self.minimum < 2 * self.margin

    def leave_out(self, value: Decimal) -> bool:
        """Whether a size lies outside."""
        over = self.maximum is not None and value > self.maximum
        return over or self.under(value) or bool(self.permitted and value not in self.permitted)

    def under(self, value: Decimal) -> bool:
        """Whether a size is below the minimum."""
        return self.minimum is not None and value < self.minimum


def design_target(
    rule: SailRule,
    margins: tuple[Margin, ...],
    pattern_sizes: Mapping[str, Decimal],
    boat_sizes: Mapping[str, Decimal],
    relax: Mapping[str, Decimal] | None = None,
    *,
    certified_on: date | None = None,
    beyond: Collection[str] = (),
) -> tuple[Target, ...]:
    """The finished sizes of a sail: what was asked for, else limit less margin or the pattern's if less; at most what the spars leave.

    boat_sizes: sizes that the customer asked for (sail measurements) and the boat's spar bands
    (``mast_band_distance``, ``boom_band_distance``); relax: mm that the relaxed luff and foot stay short of the bands,
    by the sail's measurement or the band's name; certified_on: the day by which dated limits are chosen, all of them without one.
    Limits by formula are computed from the sizes decided so far, the boat's rig and other sails' sizes ("headsail.foot_length").
    beyond: sizes that may lie outside their limits when they are asked for or follow from the spars, because the sail is NON-CLASS: such a
    size is the one that is aimed at, whatever the pattern says.
    Raises InputError with every asked size that is over (or under) its limit, with the rule number and by how much,
    and every size that neither a limit, the pattern nor the boat gives.
    """
    problems = Collector()
    rule = replace(rule, limits=tuple(_dateless(limit) for limit in limits_for(rule, certified_on=certified_on)))
    fixed = {name: _bounds([x for x in _limits(rule, name) if not _follows(x)], margins, name) for name in _DESIGNED}
    asked = _sound(rule.kind, boat_sizes, fixed, pattern_sizes, problems)
    _check_names(pattern_sizes, problems)
    over = breaches(rule, asked)

    values, targets = dict(asked), {}
    for name in _in_order(rule):
        bounds = _bounds(_resolved(_limits(rule, name), values, problems), margins, name)
        candidates = tuple(_candidates(name, bounds, pattern_sizes, asked, relax or {}))
        target = _beyond(bounds, candidates) if name in beyond else None
        if target is None and (inside := _above_minimum(name, bounds, candidates, problems)) is not None:
            target = _permitted(inside, bounds, rule)
        if target is not None:
            targets[name] = target
            values[name] = asked.get(name, target.value)
    _check_needed(rule.kind, targets, boat_sizes, problems)
    for breach in (*over, *(b for b in breaches(rule, values) if b not in over and (b.called or b.measurement in asked))):
        if not _may_breach(breach, asked, beyond):
            problems.add(breach.measurement, f"outside_{breach.side}", refusal_in_words(breach))
    if rule.kind not in SPINNAKERS:
        check_width_order({n: targets[n].value for n in targets}, problems)
    problems.raise_if_any()
    return tuple(targets[name] for name in _DESIGNED if name in targets)


def _beyond(bounds: _Bounds, candidates: tuple[Target, ...]) -> Target | None:
    """The size that was asked for, or less where the spars leave less, if it lies outside its limits; None where it does not.

    Spars alone only ever leave too little: a long mast asks for nothing.
    """
    asked = any(c.decided_by == "boat" for c in candidates)
    own = min((c for c in candidates if c.decided_by in ("boat", "spar")), key=lambda c: c.value, default=None)
    if own is None or not bounds.leave_out(own.value) or not (asked or bounds.under(own.value)):
        return None
    return replace(own, reason=f"{own.reason}, outside the class's limit")


def _may_breach(breach: Breach, asked: Mapping[str, Decimal], beyond: Collection[str]) -> bool:
    """Whether a NON-CLASS sail may breach so; what was asked for and shapes no sail is refused all the same."""
    return bool(beyond) and (breach.measurement in beyond or breach.measurement not in asked)


def _outcomes(kind: SailKind) -> frozenset[str]:
    """Lengths that follow from the others on this kind of sail, and are measured, not designed."""
    designed = {"foot_median"} if kind in SPINNAKERS else {"luff_perpendicular"} if kind in _FROM_LP else set()
    return frozenset({"foot_median", "luff_perpendicular", "tack_perpendicular"} - designed)


def _dateless(limit: Limit) -> Limit:
    """A limit that is in force, without its days."""
    return replace(limit, certified_from=None, certified_to=None, measured=None)


def _limits(rule: SailRule, name: str) -> list[Limit]:
    """The limits on a measurement itself: not at a station of its own, not on something computed from it, not left open."""
    if name in _outcomes(rule.kind):
        return []
    return [x for x in rule.limits if x.measurement == name and x.station is None and not x.formula and not x.open]


def _follows(limit: Limit) -> bool:
    return bool(limit.minimum_formula or limit.maximum_formula)


def _resolved(limits: Iterable[Limit], values: Mapping[str, Decimal], problems: Collector) -> list[Limit]:
    """The limits with their formulas computed; a problem for each that lacks a value."""
    found = []
    for limit in limits:
        try:
            found.append(resolved(limit, values))
        except CannotDetermine as error:
            problems.add(limit.measurement, "cannot_determine", f"the limit of {limit.rule} cannot be determined: {error}")
    return found


def _in_order(rule: SailRule) -> tuple[str, ...]:
    """The designed sizes, each after those that its limits depend on."""
    done: list[str] = []

    def visit(name: str, above: frozenset[str]) -> None:
        if name in done or name in above or name not in _DESIGNED:
            return
        for limit in _limits(rule, name):
            for needed in bound_by(limit):
                visit(needed.removeprefix(f"{rule.kind.value}."), above | {name})
        done.append(name)

    for name in _DESIGNED:
        visit(name, frozenset())
    return tuple(done)


def _permitted(target: Target, bounds: _Bounds, rule: SailRule) -> Target:
    """The target itself, or the largest permitted value that is not above it where the rule permits only some."""
    if not bounds.permitted or target.value in bounds.permitted:
        return target
    below = [p for p in bounds.permitted if p <= target.value]
    value = max(below) if below else min(bounds.permitted)
    number = next(x.rule for x in rule.limits if x.measurement == target.measurement and x.permitted)
    others = ", ".join(in_words(p) for p in bounds.permitted)
    return Target(target.measurement, value, "limit", f"{in_words(value)} of the permitted {others} ({number})", number)


def _check_needed(kind: SailKind, targets: Mapping[str, Target], boat_sizes: Mapping[str, Decimal], problems: Collector) -> None:
    refused = {p.path for p in problems}
    for name in _NEEDED[kind]:
        by_perpendicular = name == "foot_length" and kind in _FROM_LP and "luff_perpendicular" in targets
        if name not in targets and name not in boat_sizes and name not in refused and not by_perpendicular:
            told = f"{label(name)} is given by no limit, by no pattern and not for this boat"
            problems.add(name, "missing", f"{told}: give it in the boat's row, or for all in the pattern's [sizes]")


def _bounds(limits: Iterable[Limit], margins: Iterable[Margin], name: str) -> _Bounds:
    limits = tuple(limits)
    minimum, minimum_rule = max(((limit.minimum, limit.rule) for limit in limits if limit.minimum is not None), default=(None, ""))
    maximum, maximum_rule = min(((limit.maximum, limit.rule) for limit in limits if limit.maximum is not None), default=(None, ""))
    margin = max((m.amount for m in margins if m.measurement == name), default=Decimal(0))
    permitted = tuple(sorted({p for limit in limits for p in limit.permitted}))
    if permitted and maximum is None:
        maximum, maximum_rule, margin = max(permitted), next(x.rule for x in limits if x.permitted), Decimal(0)
    return _Bounds(minimum, minimum_rule, maximum, maximum_rule, margin, permitted)


def _sound(
    kind: SailKind,
    boat_sizes: Mapping[str, Decimal],
    bounds: Mapping[str, _Bounds],
    pattern_sizes: Mapping[str, Decimal],
    problems: Collector,
) -> dict[str, Decimal]:
    """The boat's sizes that can be believed; a problem for each of the others."""
    _check_names(boat_sizes, problems)
    sound = {}
    for name, value in boat_sizes.items():
        if name not in MEASUREMENTS:
            if measurement_of(name) in MEASUREMENTS:  # another sail's, for a formula
                sound[name] = value
            continue
        if name in _outcomes(kind):
            problems.add(name, "not_a_design_size", f"{label(name)} follows from the other sizes and cannot be asked for")
        elif value < 0 or (value == 0 and name != "foot_round"):
            problems.add(name, "not_positive", f"{label(name)} must be more than 0, not {in_words(value, MEASUREMENTS[name].unit)}")
        elif not _is_slip(name, value, bounds, pattern_sizes, problems):
            sound[name] = value
    usual = {name: size for name in _NEEDED[kind] if (size := _usual(name, bounds, pattern_sizes)) is not None}
    of_kind = {name: value for name, value in sound.items() if name not in BANDS or kind is SailKind.MAINSAIL}  # a trysail goes below P
    unread = check_misread(of_kind, usual, problems)
    return {name: value for name, value in sound.items() if name not in unread}


def _usual(name: str, bounds: Mapping[str, _Bounds], pattern_sizes: Mapping[str, Decimal]) -> Decimal | None:
    """The pattern's size, else the limit, that a boat's own is near to."""
    return pattern_sizes.get(name) or bounds[name].maximum or bounds[name].minimum


def _is_slip(name: str, value: Decimal, bounds: Mapping[str, _Bounds], pattern_sizes: Mapping[str, Decimal], problems: Collector) -> bool:
    size = BANDS.get(name, name)
    if size not in _STEADY:
        return False
    if size in pattern_sizes:
        return check_slip(name, value, pattern_sizes[size], "pattern's", problems)
    limit = bounds[size].maximum or bounds[size].minimum
    return limit is not None and check_slip(name, value, limit, "limit of", problems)


def _check_names(sizes: Mapping[str, Decimal], problems: Collector) -> None:
    for name in sizes:
        if name not in MEASUREMENTS and not (name.partition(".")[0] in list(SailKind) and measurement_of(name) in MEASUREMENTS):
            problems.add(name, "unknown_measurement", f"there is no measurement {name!r}{measurements.did_you_mean(name)}")


def _candidates(
    name: str, bounds: _Bounds, pattern_sizes: Mapping[str, Decimal], asked: Mapping[str, Decimal], relax: Mapping[str, Decimal]
) -> Iterator[Target]:
    """Everything that may keep a size down; where two are equal the first decides.

    The loft's margin and the pattern's size hold where nothing is asked for: a size that is asked for and allowed is made so.
    """
    own = tuple(_of_the_loft(name, bounds, pattern_sizes))
    if name not in asked:
        yield from own
    else:
        if bounds.leave_out(asked[name]) or asked[name] == min((t.value for t in own), default=None):
            yield from own
        yield Target(name, asked[name], "boat", f"{in_words(asked[name])} asked for this boat")
    for band in (b for b, size in BANDS.items() if size == name and b in asked):
        short = relax.get(name, relax.get(band, Decimal(0)))
        reason = f"{label(band)} of {in_words(asked[band])} less {in_words(short)} that the relaxed edge stays short of it"
        yield Target(name, asked[band] - short, "spar", reason)


def _of_the_loft(name: str, bounds: _Bounds, pattern_sizes: Mapping[str, Decimal]) -> Iterator[Target]:
    """What the loft aims at by itself."""
    if bounds.aimed_maximum is not None:
        yield Target(name, bounds.aimed_maximum, "limit", _limit_reason(bounds), bounds.maximum_rule)
    if name in pattern_sizes:
        yield Target(name, pattern_sizes[name], "pattern", f"the pattern's {in_words(pattern_sizes[name])}")


def _limit_reason(bounds: _Bounds) -> str:
    assert bounds.maximum is not None
    limit = f"{in_words(bounds.maximum)} limit ({bounds.maximum_rule})"
    return f"{limit} less {in_words(bounds.margin)} kept back" if bounds.margin else f"{limit}, nothing kept back"


def _above_minimum(name: str, bounds: _Bounds, candidates: tuple[Target, ...], problems: Collector) -> Target | None:
    """The smallest candidate, lifted to the minimum where only the loft's own choice is below it; None when nothing gives a size."""
    smallest = min(candidates, key=lambda t: t.value, default=None)
    if bounds.minimum is None or (smallest is not None and smallest.value >= bounds.minimum):
        return smallest
    if smallest is not None and smallest.decided_by in ("boat", "spar"):
        if smallest.decided_by == "spar":  # an asked size under the minimum is a breach and reported as one
            problems.add(name, "under_minimum", _conflict(name, bounds, smallest))
        return None
    if bounds.narrow:
        assert bounds.maximum is not None
        middle = (bounds.minimum + bounds.maximum) / 2
        both = f"{in_words(bounds.minimum)} to {in_words(bounds.maximum)} ({bounds.minimum_rule})"
        reason = f"the middle of {both}: the margin of {in_words(bounds.margin)} does not fit twice"
        return Target(name, middle, "limit", reason, bounds.minimum_rule)
    reason = f"{in_words(bounds.minimum)} minimum ({bounds.minimum_rule}) plus {in_words(bounds.margin)} kept back"
    return Target(name, bounds.minimum + bounds.margin, "limit", reason, bounds.minimum_rule)


def _conflict(name: str, bounds: _Bounds, spar: Target) -> str:
    assert bounds.minimum is not None
    return (
        f"{label(name)} comes to {in_words(spar.value)} ({spar.reason}), which is {in_words(bounds.minimum - spar.value)} under the "
        f"minimum of {in_words(bounds.minimum)} ({bounds.minimum_rule}): no sail is inside the class and fits this boat; {ON_ORDER}"
    )
