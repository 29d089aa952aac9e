"""Limits that depend on the boat: a storm sail's area against its rig, a bound from the boom. They are the sail's, not its design's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from costing import rules, sail
from costing.errors import Collector
from costing.measurements import MEASUREMENTS, SailKind
from costing.quote.compliance import exact
from costing.quote.priced import Design, PricedSail
from costing.quote.request import House, SailRequest
from costing.rules import compare, formula, rounded
from costing.rules.compare import Breach
from costing.rules.limits import Limit, SailRule

_STORM = frozenset({SailKind.TRYSAIL, SailKind.STORM_JIB})


def needs_rig(limit: Limit) -> bool:
    """Whether a limit's value or bound is computed from the boat's rig."""
    texts = (limit.formula, limit.minimum_formula, limit.maximum_formula)
    names = (name for text in texts if text for name in formula.parse(text).names)
    return any(name in MEASUREMENTS and MEASUREMENTS[name].of_rig for name in names)


def without_rig(rule: SailRule) -> SailRule:
    """The rule as far as a design alone can be compared with it."""
    return replace(rule, limits=tuple(limit for limit in rule.limits if not needs_rig(limit)))


def check(requests: Sequence[SailRequest], designs: Sequence[Design], house: House, wrong: Collector) -> None:
    """Add every storm sail that nobody has checked the current text for, and every limit that a sail breaches on its boat's rig."""
    for request, design in zip(requests, designs, strict=True):
        own = house.making(request.pattern)
        kind = own.pattern.sail_kind
        rule = own.class_rule.sail_or_none(kind)
        if kind in _STORM and not rules.storm_checked(rule):
            message = (
                f"a {kind.value.replace('_', ' ')} is quoted only after a named person has checked the current Offshore Special "
                "Regulations: storm_rules in the class file says who and when"
            )
            wrong.add(f"{request.path}.pattern", "not_checked", message)
        for breach in () if request.non_class else breaches(request, design, own):
            wrong.add(f"{request.path}.{breach.measurement}", f"outside_{breach.side}", f"the sail's {compare.refusal_in_words(breach)}")


def breaches(request: SailRequest, design: Design, house: House) -> tuple[Breach, ...]:
    """Every limit that a sail of the house's first pattern breaches on its boat's rig."""
    rigged = _rigged(house.class_rule.sail_or_none(house.pattern.sail_kind))
    if not rigged.limits:  # the usual case: nothing to measure
        return ()
    return compare.breaches(rigged, _values(design, request))


def told(sails: Sequence[PricedSail], requests: Sequence[SailRequest], designs: Sequence[Design], house: House) -> tuple[PricedSail, ...]:
    """The sails with what cannot be determined without the boat's rig, or by how much each such limit is kept."""
    found = []
    for one, request, design in zip(sails, requests, designs, strict=True):
        own = house.making(request.pattern)
        rigged = _rigged(own.class_rule.sail_or_none(own.pattern.sail_kind))
        said = tuple(_said(rigged, _values(design, request))) if rigged.limits else ()
        found.append(replace(one, assumed=(*one.assumed, *said)) if said else one)
    return tuple(found)


def _said(rule: SailRule, values: Mapping[str, Decimal]) -> Iterator[str]:
    seen = compare.assess(rule, values)
    for room in seen.compared:
        limit = room.limit
        shown, places = rounded.beside(room).value, 1 if MEASUREMENTS[limit.measurement].unit == "mm" else 4
        bounds = (("least", rounded.minimum(limit)), ("most", rounded.maximum(limit)))
        kept = " and ".join(f"of at {side} {bound:,.{places}f}" for side, bound in bounds if bound is not None)
        unit = MEASUREMENTS[limit.measurement].unit
        cited = "; ".join(filter(None, (f"{limit.rule}, {limit.printed}", limit.note)))
        yield f"On this boat's rig: {_name(limit)} {shown:,.{places}f} {kept} {unit} ({cited})"
    for left_open in seen.undetermined:
        yield f"{_name(left_open.limit)} ({left_open.limit.rule}): cannot determine; {left_open.reason}"


def _name(limit: Limit) -> str:
    return limit.name or MEASUREMENTS[limit.measurement].label.lower()


def _rigged(rule: SailRule) -> SailRule:
    return replace(rule, limits=tuple(limit for limit in rule.limits if needs_rig(limit)))


def _values(design: Design, request: SailRequest) -> dict[str, Decimal]:
    """The sail's measurements and the rig's that the request gives, mm."""
    measured = {name: exact(mm) for name, mm in sail.measure(design.outline).items()}
    return measured | {name: mm for name, mm in request.sizes.items() if MEASUREMENTS[name].of_rig}
