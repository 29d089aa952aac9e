"""Sail numbers of a batch: where each goes, and what a number that is to follow is taken to be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from costing import takeoff
from costing.errors import Collector
from costing.quote.priced import Design
from costing.quote.request import House, SailRequest
from costing.quote.wanted import Wanted, boat_key, number_of

#: RRS Appendix G: a newer class's numbers have at most four digits (from memory).
LONGEST = 4
#: A pattern's option of this code says whether the sail wears numbers; without such an option it does.
OPTION = "numbers"
#: Said of a sail whose pattern leaves no choice: its numbers are made and charged.
ALWAYS = "Sail numbers on both sides: every sail of this pattern has them, they are no option of it"


@dataclass(frozen=True, slots=True)
class Numbering:
    """One sail's number: its plan, its drivers, and the drivers that its price rests on (the longest number of the batch)."""

    plan: takeoff.NumberPlan | None
    drivers: tuple[takeoff.Driver, ...]
    priced_drivers: tuple[takeoff.Driver, ...]
    assumed: tuple[str, ...]


def numbering(
    sails: Sequence[SailRequest], wanted: Sequence[Wanted], designs: Sequence[Design], house: House, wrong: Collector
) -> tuple[Numbering, ...]:
    """The numbering of each sail; a number that does not fit is added to `wrong` under its sail.

    Every sail is priced for the longest number of the batch, so that two boats of one design have one price.
    """
    known = [takeoff.number_characters(number) for s in sails if (number := number_of(s))]
    longest = max(known, default=LONGEST)
    found = []
    first: dict[tuple[str, ...], str] = {}
    for sail, one, design in zip(sails, wanted, designs, strict=True):
        own = house.making(sail.pattern)
        with_boat = first.setdefault(boat_key(sail), own.pattern.code) == own.pattern.code
        with wrong.under(sail.path):
            found.append(_one(sail, one, design, own, longest, with_boat=with_boat))
    return tuple(found)


def _one(sail: SailRequest, wanted: Wanted, design: Design, house: House, longest: int, *, with_boat: bool) -> Numbering:
    """with_boat: it bears what is done once a boat; a suit's further sails do not, and are priced as if they did."""
    rolls = len({lay.colour for lay in design.lays}) or 1
    laid = takeoff.driver("lay", rolls, "this lay" if rolls == 1 else f"a lay for each of {rolls} colours")
    alone = (takeoff.driver("order", 1, "this order"), laid, takeoff.driver("boat", 1, "this boat"))
    once = alone if with_boat else alone[:2]
    optional = OPTION in {o.code for o in house.pattern.options}
    always = () if optional else (ALWAYS,)
    wears = OPTION in wanted.options or bool(always)
    if not wears:
        return Numbering(None, once, alone, ())
    priced = (*alone, *_drivers(longest, f"priced for {longest} characters"))
    number = number_of(sail)
    if number is None:
        told = (f"Sail number to follow: reckoned with {longest} characters a side", *always)
        return Numbering(None, (*once, *_drivers(longest, "number to follow, reckoned")), priced, told)
    rule = house.class_rule
    plan = takeoff.number_plan(design.outline, number, rule.hull_length_mm, rule.number_style(house.pattern.sail_kind))
    own = _drivers(takeoff.number_characters(plan.text), f"number {plan.text}")
    return Numbering(plan, (*once, *own), priced, always)


def _drivers(characters: int, how: str) -> tuple[takeoff.Driver, ...]:
    each = f"{how}: {characters} characters x 2 sides"
    return takeoff.driver("number", 1, how), takeoff.driver("number_character", 2 * characters, each)
