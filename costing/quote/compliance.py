"""A computed design against its class: every value that it has, compared with every limit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from costing.cloth import features
from costing.cloth.frame import edges_in_frame
from costing.cloth.make import Make
from costing.cloth.part import Cloth
from costing.errors import Collector
from costing.measurements import MEASUREMENTS, Corner
from costing.rules import compare
from costing.rules.compare import Breach, Headroom, Undetermined
from costing.rules.limits import Limit, SailRule
from costing.sail.shape import Outline

#: What a design has of a measurement, at a corner where corners are told apart: a sail may have several (pockets, patches).
Values = Mapping[tuple[str, Corner | None], tuple[Decimal, ...]]

#: Why a limit stands open of which a design has no value.
MEASURE = "measure the finished sail"
_TENTH = Decimal("0.1")


def exact(mm: float) -> Decimal:
    """A geometry float as exact decimal, to the micrometre."""
    return Decimal(repr(round(mm, 3)))


def design_values(
    measured: Mapping[str, float], outline: Outline, make: Make, cloth: Cloth, patch_sizes: Mapping[Corner, float]
) -> dict[tuple[str, Corner | None], tuple[Decimal, ...]]:
    """Everything of a design that a class may limit; mm, m2, g/m2, counts."""
    values: dict[tuple[str, Corner | None], tuple[Decimal, ...]] = {(name, None): (exact(mm),) for name, mm in measured.items()}
    for corner, size in patch_sizes.items():
        values["primary_reinforcement_size", corner] = (exact(size),)
    edges = edges_in_frame(outline, make)
    values["batten_pocket_count", None] = (Decimal(len(make.pockets)),)
    values["batten_count", None] = values["batten_pocket_count", None]  # one in each pocket
    values["batten_pocket_length", None] = tuple(exact(math.dist(*features.pocket_line(edges, p))) for p in make.pockets)
    values["batten_pocket_width", None] = tuple(exact(p.batten_width_mm + features.POCKET_WIDER_MM) for p in make.pockets)
    if make.pockets:
        values["batten_pocket_length_total", None] = (sum(values["batten_pocket_length", None], Decimal(0)),)
        values["batten_pocket_to_luff", None] = tuple(exact(features.pocket_to_luff(edges, p)) for p in make.pockets)
        values["batten_pocket_position_error", None] = tuple(map(exact, features.pockets_off_equal_parts(edges, make.pockets)))
        values["top_pocket_to_head", None] = (exact(features.top_pocket_to_head(edges, make.pockets)),)
    values["window_area", None] = (sum((exact(w.width_mm) * exact(w.height_mm) for w in make.windows), Decimal(0)) / 1_000_000,)
    values["window_to_edge", None] = tuple(exact(edges.finished.exterior.distance(features.pane(edges, w))) for w in make.windows)
    reefs = [p for p in make.edge_patches if p.edge == "luff" and p.name.lower().startswith("reef")]
    tack = edges.lines["foot"][-1]
    values["reef_height", None] = tuple(exact(math.dist(tack, features.ring_point(edges, p))) for p in reefs)
    values["cloth_weight", None] = (Decimal(str(cloth.gsm)),)
    return values


def compare_all(rule: SailRule, values: Values, *, on: date | None = None) -> tuple[Headroom, ...]:
    """Every limit that can be compared, in the rule's order, with the value that leaves the least room; on: decides dated limits."""
    weight = rule.limit("cloth_weight")
    if weight is not None:
        kept = values.get(("cloth_weight", None), ())
        values = {**values, ("cloth_weight", None): tuple(weight.exactly(float(gsm)) for gsm in kept)}
    return tuple(tightest for limit in rule.limits if (tightest := _tightest(rule, limit, values, on)) is not None)


def left_open(rule: SailRule, values: Values, *, on: date | None = None) -> Iterator[str]:
    """One sentence for each limit that a design cannot be compared with, so that none is passed in silence."""
    for open_limit in compare.assess(rule, _single(values), certified_on=on).undetermined:
        limit = open_limit.limit
        yield f"{limit.name or MEASUREMENTS[limit.measurement].label} ({limit.rule}): cannot determine; {open_limit.reason}"


def open_limits(rule: SailRule, rooms: Iterable[Headroom], values: Values, make: Make) -> tuple[Undetermined, ...]:
    """The limits that stand open on a design, each with what is to be done; without those on what the sail has none of."""
    compared = {(room.limit.value_name, room.limit.corner, room.limit.formula) for room in rooms}
    undetermined = {u.limit: u.reason for u in compare.assess(rule, _single(values)).undetermined}
    without = (*(() if make.windows else ("window_",)), *(() if make.pockets else ("batten_", "top_pocket_")))
    return tuple(
        Undetermined(limit, f"cannot determine; {undetermined[limit]}" if limit in undetermined else MEASURE)
        for limit in compare.limits_for(rule, certified_on=None)
        if (limit.value_name, limit.corner, limit.formula) not in compared and not limit.measurement.startswith(without)
    )


def _tightest(rule: SailRule, limit: Limit, values: Values, on: date | None) -> Headroom | None:
    alone, single = replace(rule, limits=(limit,)), _single(values)
    candidates = [v for (name, corner), vs in values.items() if name == limit.value_name and limit.corner in (None, corner) for v in vs]
    tried = [single] if limit.formula else [{**single, limit.value_name: value} for value in candidates]
    rooms = [h for known in tried for h in compare.headroom(alone, known, certified_on=on)]
    return min(rooms, key=lambda h: h.room, default=None)


def _single(values: Values) -> dict[str, Decimal]:
    """The values of which a design has just one, for formulas to compute with."""
    return {name: found[0] for (name, corner), found in values.items() if corner is None and len(found) == 1}


def outside(rule: SailRule, rooms: Iterable[Headroom]) -> Iterator[Breach]:
    """The breaches among limits that were compared."""
    for room in rooms:
        settled = replace(
            room.limit, formula="", minimum_formula="", maximum_formula="", name=room.limit.name or room.limit.formula,
            certified_from=None, certified_to=None,
        )  # fmt: skip
        yield from compare.breaches(replace(rule, limits=(settled,)), {settled.value_name: room.value})


def check_headroom(rule: SailRule, rooms: Iterable[Headroom], wrong: Collector) -> None:
    """Add every breach to `wrong`, its path the measurement."""
    for breach in outside(rule, rooms):
        wrong.add(breach.measurement, f"outside_{breach.side}", f"the design's {compare.refusal_in_words(breach)}")


def on_paper(measured: Mapping[str, float], rule: SailRule) -> Iterator[tuple[str, Decimal]]:
    """The measured sizes to 0.1 mm: one that has a maximum never rounded up, one that has only a minimum never rounded down."""
    for name in MEASUREMENTS:
        if name in measured:
            limit = rule.limit(name)
            rounding = ROUND_HALF_UP
            if limit is not None:
                rounding = ROUND_FLOOR if limit.maximum is not None else ROUND_CEILING
            yield name, exact(measured[name]).quantize(_TENTH, rounding=rounding)
