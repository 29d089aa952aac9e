"""Sizes that were asked for: what the desk should know of one that is not made so, or made beyond the pattern or the loft's margin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from costing.quote.pattern import Pattern
from costing.quote.priced import Design, PricedSail
from costing.quote.request import House, SailRequest
from costing.rules.compare import Headroom
from costing.rules.plausible import in_words, label
from costing.rules.targets import Target


def warnings(sails: Sequence[PricedSail], requests: Sequence[SailRequest], designs: Sequence[Design], house: House) -> Iterator[str]:
    """A sentence for each asked size that the spars cut back, that is larger than the pattern's own, or that uses up the margin."""
    for sail, request, design in zip(sails, requests, designs, strict=True):
        pattern = house.making(request.pattern).pattern
        for target in design.targets:
            value = request.sizes.get(target.measurement)
            if value is not None and (told := _told(target, value, design, pattern)):
                yield f"{sail.path}, {sail.label}: {label(target.measurement)} {in_words(value)} {told}"


def _told(target: Target, value: Decimal, design: Design, pattern: Pattern) -> str:
    if target.value != value:
        return f"was asked for; it is made {in_words(target.value)}: {target.reason}"
    used = "; ".join(_used(target.measurement, value, design, pattern)) if target.decided_by == "boat" else ""
    return f"is made as asked: {used}" if used else ""


def _used(name: str, value: Decimal, design: Design, pattern: Pattern) -> Iterator[str]:
    """What of the loft's own a size goes beyond: the pattern's, the margin to a limit."""
    own = pattern.foot_round_mm if name == "foot_round" else pattern.sizes.get(name)
    if own is not None and value > own:
        yield f"{in_words(value - own)} more than the pattern's own {in_words(own)}"
    margin = max((m.amount for m in pattern.margins if m.measurement == name), default=Decimal(0))
    for room in design.headroom:
        if room.limit.measurement == name and room.limit.station is None and not room.limit.formula:
            yield from _in_the_margin(room, value, margin)


def _in_the_margin(room: Headroom, value: Decimal, margin: Decimal) -> Iterator[str]:
    limit = room.limit
    for side, bound, sign in (("maximum", limit.maximum, 1), ("minimum", limit.minimum, -1)):
        if bound is not None and 0 <= (left := sign * (bound - value)) < margin:
            yield f"{in_words(left)} from the {side} of {in_words(bound)} ({limit.rule}), from which the loft keeps {in_words(margin)}"
