"""Sizes that were asked for and would change nothing: refused, so that no sail is sold as made to a size that nobody looks at."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from decimal import Decimal

from costing.errors import Collector
from costing.measurements import MEASUREMENTS
from costing.quote.pattern import Pattern
from costing.rules.plausible import in_words, label


def check(pattern: Pattern, asked: Mapping[str, Decimal], shaping: Collection[str], wrong: Collector) -> None:
    """Add every size of the sail, mm by measurement, that shapes no sail of the pattern; the rig's are for limits and doubts.

    shaping: the sizes that do. One that the pattern has just so is no problem, and one that is wrong already is told once.
    """
    told = {p.path for p in wrong}
    for name, value in asked.items():
        known = MEASUREMENTS.get(name)
        if known is None or known.of_rig or name in shaping or name in told or pattern.sizes.get(name) == value:
            continue
        if name in pattern.sizes:
            own = f"it has its own, {in_words(pattern.sizes[name], known.unit)}"
        else:
            own = "only edges, foot round and widths are made to size"
        said = f"{label(name)} is no size that a list can ask of {pattern.name}: {own}. Leave it empty; a wish goes into note"
        wrong.add(name, "no_effect", said)
