"""A design against the edition of its class that is in force on another day: when it is certified, released or inspected."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from costing import cloth, sail
from costing.cloth.make import Make
from costing.errors import Collector
from costing.measurements import MEASUREMENTS, Corner
from costing.quote import compliance, lead_times
from costing.quote.design import patch_sizes
from costing.quote.pattern import Pattern
from costing.quote.priced import Design, PricedSail
from costing.quote.request import House, SailRequest
from costing.rules import compare, formula
from costing.rules.compare import Headroom
from costing.rules.limits import Choice, ClassRule, Limit, SailRule


@dataclass(frozen=True, slots=True)
class EditionCheck:
    """A design under an edition on a day: what breaches, with rule number and by how much, and what nobody could compare."""

    edition: str
    on: date
    breaches: tuple[str, ...]
    left_open: tuple[str, ...]


def in_force(editions: Sequence[ClassRule], on: date) -> ClassRule | None:
    """The edition of a class that holds on a day; the one that started last where an open end gives way to the next."""
    started = [rule for rule in editions if rule.in_force(on)]
    return max(started, key=lambda rule: rule.valid_from, default=None)


def day_matters(designed_under: str, rule: ClassRule, pattern: Pattern) -> bool:
    """Whether an edition can say something else than the one that the sail was designed under, whose text may be corrected since, or says
    something else on some days."""
    other_text = rule.edition != designed_under or rule.correction > 0
    return other_text or any(x.certified_from or x.certified_to for x in rule.sail_or_none(pattern.sail_kind).limits)


def against(
    design: Design, pattern: Pattern, rule: ClassRule, *, on: date, measured: compliance.Values | None = None
) -> EditionCheck:  # fmt: skip
    """The design's own values against every limit, permitted cloth and option of an edition; takes a few ms.

    pattern: the version that the design was made from (its making says what pockets and windows measure). measured: what the finished sail
    really has of them, in place of what was designed; a breach of it says so.
    """
    said = rule.sail_or_none(pattern.sail_kind)
    values = {**values_of(design, pattern, said), **(measured or {})}
    rooms = compliance.compare_all(said, values, on=on)
    seen = {name for name, _ in measured or ()}
    by_size = (f"{_taken(room, seen)}{compare.breach_in_words(b)}" for room in rooms for b in compliance.outside(said, (room,)))
    breaches = (*by_size, *_other_breaches(said, design))
    make, compared = cloth.chosen(pattern.make, frozenset(design.options)), {room.limit.value_name for room in rooms}
    return EditionCheck(rule.edition, on, breaches, (*compliance.left_open(said, values, on=on), *_not_known(said, compared, make, on)))


def values_of(design: Design, pattern: Pattern, rule: SailRule) -> dict[tuple[str, Corner | None], tuple[Decimal, ...]]:
    """Everything of a stored design that this rule may limit, measured on its outline again; reefs where its rings were put."""
    make = cloth.chosen(pattern.make, frozenset(design.options))
    measured = sail.measure_for(design.outline, rule)
    values = compliance.design_values(measured, design.outline, make, design.cloth, patch_sizes(design.cut_outline, design.parts))
    reefs = tuple(compliance.exact(r.from_corner_mm) for r in design.rings if r.edge == "luff" and r.name.lower().startswith("reef"))
    return {**values, ("reef_height", None): reefs} if reefs else values


def _taken(room: Headroom, seen: set[str]) -> str:
    """How a breach of the finished sail is told from one of the design."""
    return "measured " if room.limit.value_name in seen or names_in(room.limit) & seen else ""


def names_in(limit: Limit) -> frozenset[str]:
    """The measurements that a limited quantity is computed from; empty for one that is measured."""
    return frozenset(formula.parse(limit.formula).names) if limit.formula else frozenset()


def expected_delivery(on: date, lead_time: str) -> date:
    """The day at the far end of a lead time ("4 to 6" weeks: six weeks on); the day itself where it states none."""
    return on + timedelta(weeks=lead_times.weeks(lead_time))


def check_days(requests: Sequence[SailRequest], on: date, wrong: Collector) -> None:
    """Add every day of certification that is over on the day of the quote."""
    for request in requests:
        if request.certified_on is not None and request.certified_on < on:
            over = f"{request.certified_on:%Y-%m-%d} is over on {on:%Y-%m-%d}, the day of the quote"
            wrong.add(
                f"{request.path}.certified_on",
                "day_is_over",
                f"{over}: write a day from then on, or leave it empty for the end of the lead time",
            )


def dated(
    sails: Sequence[PricedSail], requests: Sequence[SailRequest], designs: Sequence[Design], house: House, on: date
) -> tuple[PricedSail, ...]:
    """The priced sails with the day on which each is expected to be certified, and what the edition in force then says of it.

    A NON-CLASS sail is certified on no day, and no edition is asked.
    """
    said: dict[tuple[str, date], tuple[str, ...]] = {}
    expected = expected_delivery(on, lead_times.longest(house.terms.lead_time, [house.making(r.pattern).pattern for r in requests]))
    found = []
    for sail_, request, design in zip(sails, requests, designs, strict=True):
        if sail_.breaches:
            found.append(sail_)
            continue
        own = house.making(request.pattern)
        day = request.certified_on or expected
        if (design.key, day) not in said:
            said[design.key, day] = tuple(_notes(design, own, day))
        found.append(replace(sail_, certified_on=day, edition_notes=said[design.key, day]))
    return tuple(found)


def _notes(design: Design, house: House, day: date) -> Iterator[str]:
    if not house.editions:
        return
    rule, designed = in_force(house.editions, day), house.class_rule.edition
    when = f"Expected to be certified on {day:%Y-%m-%d}"
    if rule is None:
        yield f"{when}: no edition of the class that is in force then is loaded, so its limits are not known; designed under {designed}"
        return
    if not day_matters(designed, rule, house.pattern):
        return
    found = against(design, house.pattern, rule, on=day)
    yield from (f"OUTSIDE edition {rule.edition}: {breach}" for breach in found.breaches)
    if rule.edition != designed:
        keeps = "" if found.breaches else "; it keeps every limit of that edition that can be compared"
        yield f"{when}, when edition {rule.edition} is in force; designed under edition {designed}{keeps}"
        yield from (f"Edition {rule.edition}: {sentence}" for sentence in found.left_open)


def _other_breaches(rule: SailRule, design: Design) -> Iterator[str]:
    """What an edition permits, requires and forbids besides sizes."""
    body = design.cloth
    if rule.permitted_cloth and not {body.code, body.construction} & set(rule.permitted_cloth):
        yield f"{body.code} ({body.construction}) is not a permitted cloth ({rule.permitted_cloth_rule})"
    for option in rule.options:
        if option.choice is Choice.FORBIDDEN and option.option in design.options:
            yield f"{option.option} is forbidden ({option.rule})"
        if option.choice is Choice.REQUIRED and option.option not in design.options:
            yield f"{option.option} is required ({option.rule}) and the sail has none"


def _not_known(rule: SailRule, compared: set[str], make: Make, on: date) -> Iterator[str]:
    """Limits for which a design has no value: they are measured on the finished sail. What a sail has none of needs no measuring."""
    without = (*(() if make.windows else ("window_",)), *(() if make.pockets else ("batten_", "top_pocket_")))
    for limit in compare.limits_for(rule, certified_on=on):
        stated = limit.station is None or limit.station.stated
        has = not limit.measurement.startswith(without)
        if has and limit.value_name not in compared and stated and not limit.open and not limit.formula:
            name = limit.name or MEASUREMENTS[limit.measurement].label
            yield f"{name} ({limit.rule}): the design has no value of it; measure the finished sail"
