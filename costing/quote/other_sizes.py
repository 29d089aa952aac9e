"""Trying a pattern in other sizes than its own: boats are a little smaller or larger, and its seams stay where they are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from costing.cloth.part import Cloth
from costing.errors import InputError
from costing.measurements import MEASUREMENTS, WIDTH_STATIONS
from costing.quote import design, on_the_rig, pattern_rows
from costing.quote.request import House
from costing.rules.limits import SailRule

#: How much smaller and larger than the pattern's own size a boat's sail is tried (the loft's own choice, no source).
_APART = Decimal("0.02")
_SCALED = frozenset({"luff_length", "leech_length", "foot_length", "foot_median", *(name for name, _ in WIDTH_STATIONS)})


def refused(house: House, shaped: design.Shaped, body: Cloth, options: frozenset[str]) -> Iterator[str]:
    """A sentence for everything for which a sail that is 2 % smaller or larger, within the class's limits, would be refused."""
    for share, word in ((1 - _APART, "smaller"), (1 + _APART, "larger")):
        other = _scaled(house, shaped, share)
        if other is None:
            continue
        try:
            design.compute(design.inputs(house, other, shaped.shape, body, options))
        except InputError as error:
            for p in (p for p in error.problems if p.path not in MEASUREMENTS):  # a class's limit is not the pattern's doing
                told = f"a sail {_APART:.0%} {word} would be refused, which a boat's own sizes may ask for".replace("%", " %")
                yield f"{told}: {pattern_rows.in_file(p.path, house.pattern)}: {p.message}"


def _scaled(house: House, shaped: design.Shaped, share: Decimal) -> design.Shaped | None:
    """The sail in another size, no size of it beyond the class's limits; None where that is no other size, or makes no sail."""
    rule = on_the_rig.without_rig(house.class_rule.sail_or_none(house.pattern.sail_kind))
    sizes = {t.measurement: _within(rule, t.measurement, t.value, share) for t in shaped.targets if t.measurement in _SCALED}
    pattern = replace(house.pattern, sizes={**house.pattern.sizes, **sizes})
    try:
        other = design.shaped(replace(house, pattern=pattern))
    except InputError:
        return None
    return None if other.shape == shaped.shape else other


def _within(rule: SailRule, name: str, value: Decimal, share: Decimal) -> Decimal:
    limit, other = rule.limit(name), (value * share).quantize(Decimal(1))
    if limit is not None and limit.minimum is not None:
        other = max(other, min(limit.minimum, value))
    if limit is not None and limit.maximum is not None:
        other = min(other, max(limit.maximum, value))
    return other
