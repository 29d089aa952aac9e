"""The frame of a request: buyer, terms, tax, kit and labour standards; and what the desk should know but need not refuse."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal

from costing import takeoff, work
from costing.cloth import chosen
from costing.errors import Collector, InputError, Problem
from costing.prices import unit_costs
from costing.quote import pattern_gaps, pricing
from costing.quote.design import materials_named
from costing.quote.pattern import Pattern
from costing.quote.priced import PricedSail
from costing.quote.request import BatchRequest, House
from costing.quote.wanted import Wanted, patterns_used
from costing.rules.limits import ClassRule
from costing.takeoff import contrast


def check_request(request: BatchRequest, house: House, wrong: Collector) -> None:
    """Add everything that is wrong with the request as a whole and with what the house brings to it."""
    if request.buyer not in pricing.BUYERS:
        wrong.add("buyer", "unknown_buyer", f"a buyer is {' or '.join(pricing.BUYERS)}, not {request.buyer!r}")
    if request.terms and request.terms != house.terms.code:
        wrong.add("terms", "unknown_terms", f"the terms at hand are {house.terms.code!r}, not {request.terms!r}")
    if not 0 <= house.margins.target < 1:
        wrong.add("margins.target", "impossible", f"a margin of {house.margins.target} has no price: it must be from 0 to less than 1")
    for pattern in patterns_used(request, house) or (house.pattern,):
        _check_pattern(pattern, house, wrong)
    for code in dict.fromkeys((house.sail_tax, *(p.tax for p in house.pass_through))):
        with wrong.under(""):
            pricing.tax_rate(house, code)


def _check_pattern(pattern: Pattern, house: House, wrong: Collector) -> None:
    if pattern.class_code != house.class_rule.code:
        message = f"pattern {pattern.code} is for class {pattern.class_code}, the rules are those of {house.class_rule.code}"
        wrong.add("pattern", "other_class", message)
    with wrong.under(""):
        takeoff.check_kit(pattern.kit)
    with wrong.under(""):
        work.check_standards(house.labour, (item.counts_as for item in pattern.kit if item.counts_as))


def check_prices(wanted: Sequence[Wanted], house: House, on: date, wrong: Collector) -> None:
    """Add every material that has no price on the day: a sail's cloth under the sail, what the pattern and the class need once."""

    def costs(needed: dict[str, str]) -> None:
        # a quantity above every break, so that only a price that is missing altogether is found here
        plenty = {material: (Decimal(10**6), unit) for material, unit in needed.items()}
        unit_costs(house.lists, plenty, on=on, currency=house.currency.code, rates=house.rates)

    for sail in wanted:
        if sail.cloth is not None:
            try:
                costs({sail.cloth.code: "m"})
            except InputError as error:
                wrong.extend(Problem(f"{sail.request.path}.cloth", p.code, p.message) for p in error.problems)
    needed: dict[str, str] = {}
    for pattern in house.patterns:
        sails = [s for s in wanted if (s.request.pattern or house.pattern.code) == pattern.code]
        if sails:
            needed |= _needed(pattern, frozenset[str]().union(*(sail.options for sail in sails)), house)
    with wrong.under(""):
        costs(needed)


def _needed(pattern: Pattern, options: frozenset[str], house: House) -> dict[str, str]:
    """What sails of a pattern with these options take beside their body cloth, with the unit that it is counted in."""
    needed = {item.material: takeoff.kit_unit(item) for item in pattern.kit if not item.option or item.option in options}
    needed |= {p.material: "piece" for p in house.pass_through if not p.option or p.option in options}
    return needed | dict.fromkeys(materials_named(chosen(pattern.make, options)), "m")


def warnings(sails: Sequence[PricedSail], patterns: Sequence[Pattern], house: House, on: date, *, joined: int = 0) -> Iterator[str]:
    """What does not stop a quote and should be seen by the desk. patterns: those of the sails; joined: sails of the batch they join."""
    yield from _edition_warnings(patterns, house, on)
    terms = house.terms
    if len(sails) + joined < terms.minimum_sails:
        yield f"terms {terms.code} ask for at least {terms.minimum_sails} sails; there are {len(sails) + joined}"
    if terms.cut_off is not None and on > terms.cut_off:
        yield f"the cut-off of terms {terms.code} was {terms.cut_off:%Y-%m-%d}"
    yield from _number_warnings(sails)
    by_code = {p.code: p for p in patterns}
    numbered = (s for s in sails if any("number_character" in o.drivers for o in s.operations))
    yield from pattern_gaps.of_batch((s.path, by_code.get(s.pattern_code, patterns[0])) for s in numbered)
    for sail in sails:
        yield from (f"{sail.path}, {sail.label}: {told}" for told in _unreadable(sail, patterns, house.class_rule))


def _unreadable(sail: PricedSail, patterns: Sequence[Pattern], rule: ClassRule) -> Iterator[str]:
    """Numbers and insignia that cannot be read on the cloth, or that the class wants in another colour."""
    wanted = sail.number_colour.casefold()
    body, *others = sail.colour.split(" + ")  # panels of another colour: "white + accent red"
    cloths = [colour for colour in (body, *(other.partition(" ")[2] for other in others)) if colour]
    if wanted:
        yield from (f"the numbers are {told}" for colour in cloths if (told := contrast.said_of(sail.number_colour, colour)))
    kind = next((p.sail_kind for p in patterns if p.code == sail.pattern_code), patterns[0].sail_kind)
    style = rule.number_style(kind)
    if style is not None and style.colours and wanted and wanted not in {c.casefold() for c in style.colours}:
        yield f"the numbers are {sail.number_colour}; the class wants them {' or '.join(style.colours)} ({style.rule})"
    wears = any("insignia_side" in operation.drivers for operation in sail.operations)
    if wears and rule.insignia_colours and cloths and all(contrast.said_of(colour, body) for colour in rule.insignia_colours):
        yield f"no colour that the class allows its insignia ({', '.join(rule.insignia_colours)}) stands out on {body}"


def _number_warnings(sails: Sequence[PricedSail]) -> Iterator[str]:
    """A boat may order a suit: a number is told when two boats have it, or two sails of one pattern."""
    for number, count in Counter(s.sail_number for s in sails if s.sail_number).items():
        own = [s for s in sails if s.sail_number == number]
        if len({s.boat.strip().casefold() for s in own}) > 1 or len({s.pattern_code for s in own}) < count:
            yield f"sail number {number} is ordered {count} times: check that the sails are meant for one boat"


def _edition_warnings(patterns: Sequence[Pattern], house: House, on: date) -> Iterator[str]:
    rules = house.class_rule
    if not rules.in_force(on):
        until = f" to {rules.valid_to:%Y-%m-%d}" if rules.valid_to else ""
        force = f"edition {rules.edition} of {rules.name} is in force from {rules.valid_from:%Y-%m-%d}{until}"
        yield f"{force}; the batch is priced for {on:%Y-%m-%d}"
    for pattern in patterns:
        if pattern.edition != rules.edition:
            drawn = f"pattern {pattern.code} version {pattern.version} was drawn for edition {pattern.edition}"
            yield f"{drawn}; the limits are those of {rules.edition}"
