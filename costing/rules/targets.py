"""Design targets: the finished sizes to aim at, each with what decided it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from costing.errors import Collector, problem
from costing.measurements import MEASUREMENTS, SailKind, nearest_name
from costing.rules.compare import breach_in_words, breaches
from costing.rules.limits import SailRule
from costing.rules.plausible import check_slip, check_width_order, in_words, label

#: Sizes without which there is no sail to design, by kind; a kind that is not here cannot be designed yet.
_NEEDED: dict[SailKind, tuple[str, ...]] = {
    SailKind.MAINSAIL: ("luff_length", "leech_length", "foot_length", "quarter_width", "half_width", "three_quarter_width", "top_width"),
}
#: Lengths that follow from the others and are measured, not designed.
_OUTCOMES = frozenset({"foot_median", "luff_perpendicular"})
#: A boat's spar bands, and the size of the sail that each one clamps.
_BANDS = {"mast_band_distance": "luff_length", "boom_band_distance": "foot_length"}
#: Sizes that never differ ten times from one boat of a class to the next; a foot round or a patch may.
_STEADY = frozenset({*_NEEDED[SailKind.MAINSAIL], "upper_width"})
_DESIGNED = tuple(n for n, m in MEASUREMENTS.items() if m.unit == "mm" and n not in _OUTCOMES and n not in _BANDS)


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


@dataclass(frozen=True, slots=True)
class _Bounds:
    """The strictest minimum and maximum of a measurement over all corners, each with its rule number, and the margin."""

    minimum: Decimal | None
    minimum_rule: str
    maximum: Decimal | None
    maximum_rule: str
    margin: Decimal

    @property
    def aimed_maximum(self) -> Decimal | None:
        return None if self.maximum is None else self.maximum - self.margin

    @property
    def narrow(self) -> bool:
        """Whether the margin does not fit twice between minimum and maximum."""
        return self.minimum is not None and self.maximum is not None and self.maximum - self.minimum < 2 * self.margin


def design_target(
    rule: SailRule,
    margins: tuple[Margin, ...],
    pattern_sizes: Mapping[str, Decimal],
    boat_sizes: Mapping[str, Decimal],
    relax: Mapping[str, Decimal] | None = None,
) -> tuple[Target, ...]:
    """The finished sizes of a sail: the smallest of limit less margin, the pattern's size, the boat's own and its spars less relaxation.

    boat_sizes: sizes that the customer asked for (sail measurements) and the boat's spar bands
    (``mast_band_distance``, ``boom_band_distance``); relax: mm that the relaxed luff and foot stay short of the bands,
    by the sail's measurement or the band's name.
    Raises InputError with every asked size that is over (or under) its limit, with the rule number and by how much,
    and every size that neither a limit, the pattern nor the boat gives.
    """
    if rule.kind not in _NEEDED:
        raise problem("sail_kind", "not_designed", f"a {rule.kind.value.replace('_', ' ')} cannot be designed here yet; a mainsail can")
    problems = Collector()
    bounds = {name: _bounds(rule, margins, name) for name in _DESIGNED}
    asked = _sound(boat_sizes, bounds, pattern_sizes, problems)
    _check_names(pattern_sizes, problems)
    for breach in breaches(rule, asked):
        problems.add(breach.measurement, f"outside_{breach.side}", breach_in_words(breach))

    targets = []
    for name in _DESIGNED:
        candidates = tuple(_candidates(name, bounds[name], pattern_sizes, asked, relax or {}))
        target = _above_minimum(name, bounds[name], candidates, problems)
        if target is not None:
            targets.append(target)
        elif not candidates and name in _NEEDED[rule.kind] and name not in boat_sizes:
            problems.add(name, "missing", f"{label(name)} is given by no limit, by no pattern and not for this boat; enter one of them")
    check_width_order({t.measurement: t.value for t in targets}, problems)
    problems.raise_if_any()
    return tuple(targets)


def _bounds(rule: SailRule, margins: Iterable[Margin], name: str) -> _Bounds:
    limits = [limit for limit in rule.limits if limit.measurement == name]
    minimum, minimum_rule = max(((limit.minimum, limit.rule) for limit in limits if limit.minimum is not None), default=(None, ""))
    maximum, maximum_rule = min(((limit.maximum, limit.rule) for limit in limits if limit.maximum is not None), default=(None, ""))
    margin = max((m.amount for m in margins if m.measurement == name), default=Decimal(0))
    return _Bounds(minimum, minimum_rule, maximum, maximum_rule, margin)


def _sound(
    boat_sizes: Mapping[str, Decimal], bounds: Mapping[str, _Bounds], pattern_sizes: Mapping[str, Decimal], problems: Collector
) -> dict[str, Decimal]:
    """The boat's sizes that can be believed; a problem for each of the others."""
    _check_names(boat_sizes, problems)
    sound = {}
    for name, value in boat_sizes.items():
        if name not in MEASUREMENTS:
            continue
        if name in _OUTCOMES:
            problems.add(name, "not_a_design_size", f"{label(name)} follows from the other sizes and cannot be asked for")
        elif value < 0 or (value == 0 and name != "foot_round"):
            problems.add(name, "not_positive", f"{label(name)} must be more than 0, not {in_words(value, MEASUREMENTS[name].unit)}")
        elif not _is_slip(name, value, bounds, pattern_sizes, problems):
            sound[name] = value
    return sound


def _is_slip(
    name: str, value: Decimal, bounds: Mapping[str, _Bounds], pattern_sizes: Mapping[str, Decimal], problems: Collector
) -> bool:
    size = _BANDS.get(name, name)
    if size not in _STEADY:
        return False
    if size in pattern_sizes:
        return check_slip(name, value, pattern_sizes[size], "pattern's", problems)
    limit = bounds[size].maximum or bounds[size].minimum
    return limit is not None and check_slip(name, value, limit, "limit of", problems)


def _check_names(sizes: Mapping[str, Decimal], problems: Collector) -> None:
    for name in sizes:
        if name not in MEASUREMENTS:
            near = nearest_name(name)
            hint = f"; was {near} meant?" if near else ""
            problems.add(name, "unknown_measurement", f"there is no measurement {name!r}{hint}")


def _candidates(
    name: str, bounds: _Bounds, pattern_sizes: Mapping[str, Decimal], asked: Mapping[str, Decimal], relax: Mapping[str, Decimal]
) -> Iterator[Target]:
    """Everything that keeps a size down; where two are equal the first decides."""
    if bounds.aimed_maximum is not None:
        yield Target(name, bounds.aimed_maximum, "limit", _limit_reason(bounds), bounds.maximum_rule)
    if name in pattern_sizes:
        yield Target(name, pattern_sizes[name], "pattern", f"the pattern's {in_words(pattern_sizes[name])}")
    if name in asked:
        yield Target(name, asked[name], "boat", f"{in_words(asked[name])} asked for this boat")
    for band in (b for b, size in _BANDS.items() if size == name and b in asked):
        short = relax.get(name, relax.get(band, Decimal(0)))
        reason = f"{label(band)} of {in_words(asked[band])} less {in_words(short)} that the relaxed edge stays short of it"
        yield Target(name, asked[band] - short, "spar", reason)


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
        f"minimum of {in_words(bounds.minimum)} ({bounds.minimum_rule}): no sail is inside the class and fits this boat"
    )
