"""Sail numbers of a batch: where each goes, and what a number that is to follow is taken to be."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from costing import takeoff
from costing.errors import Collector, InputError
from costing.quote.priced import Design
from costing.quote.request import House, SailRequest
from costing.quote.wanted import Wanted, boat_key, number_of
from costing.rules.limits import Choice

#: RRS Appendix G: a newer class's numbers have at most four digits (from memory).
LONGEST = 4
#: A pattern's option of this code says whether the sail wears numbers; without such an option it does.
OPTION = "numbers"
#: A size in words: "sail number characters 300 mm".
_SIZE = re.compile(r"(\d+(?:\.\d+)?) ?mm\b")
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


def try_numbers(house: House, design: Design, wrong: Collector, warnings: list[str]) -> None:
    """Whether sail numbers find a place on a design of the pattern: a problem where a sail must wear one and has room for none."""
    option = next((o for o in house.pattern.options if o.code == OPTION), None)
    if option is not None and OPTION not in design.options:
        return
    longest, why = _longest(house, design)
    if longest == LONGEST:
        return
    if option is None:
        right = f'every sail of this pattern wears its number, as no row of [[options]] has code = "{OPTION}": with one it can be left out'
    else:
        right = f"without the option {option.label!r} the sail can be had"
    if longest:
        warnings.append(f"only sail numbers of at most {longest} characters find a place: {why}; {right}")
    elif option is None or option.choice is Choice.REQUIRED or option.default:
        wrong.add("options", "numbers_do_not_fit", f"{why}; {right}")
    else:
        warnings.append(f"no sail number finds a place: {why}; {right}")


def _longest(house: House, design: Design) -> tuple[int, str]:
    """How many characters find a place on a design, LONGEST at most, and why not one more."""
    rule, why = house.class_rule, ""
    style = rule.number_style(house.pattern.sail_kind)
    for characters in range(LONGEST, 0, -1):
        try:
            takeoff.number_plan(design.outline, "8" * characters, rule.hull_length_mm, style)
            return characters, why
        except InputError as error:
            why = error.problems[0].message
    return 0, why


def other_sizes(house: House, names: Mapping[str, str]) -> Iterator[str]:
    """A warning for each material of number characters whose size in mm, in its note, its option's label or its name on the list
    (names: by material), is not the height that the sail's numbers are laid out in."""
    pattern, rule = house.pattern, house.class_rule
    style = rule.number_style(pattern.sail_kind)
    height = style.height_mm if style else takeoff.character_height(rule.hull_length_mm)[0]
    labels = {o.code: o.label for o in pattern.options}
    for item in pattern.kit:
        if item.per != "number_character":
            continue
        words = (item.note, names.get(item.material, ""), labels.get(item.option, ""))
        sizes = {float(mm) for text in words for mm in _SIZE.findall(text)}
        if sizes and height not in sizes:
            said = " and ".join(f"{mm:g} mm" for mm in sorted(sizes))
            asked = f"class rule {style.rule}" if style else "RRS Appendix G1.2 for this hull"
            yield f"{item.material} of the kit is {said}, and numbers are laid out {height:g} mm high ({asked}): one of the two is wrong"
