"""What each sail of a batch is to be: the request checked against pattern, class, cloth and lists, every problem found."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from costing.cloth.make import chosen
from costing.cloth.part import Cloth
from costing.errors import Collector, InputError, Problem, did_you_mean
from costing.measurements import SailKind
from costing.quote import colours
from costing.quote.cloth_rules import check_cloth, discontinued
from costing.quote.pattern import Pattern, PatternOption
from costing.quote.request import BatchRequest, House, SailRequest
from costing.rules.limits import Choice


@dataclass(frozen=True, slots=True)
class Wanted:
    """A sail request with everything settled that was left to the pattern. cloth None: the one asked for cannot be used."""

    request: SailRequest
    label: str
    options: frozenset[str]
    cloth: Cloth | None
    colour: str


def wanted_sails(request: BatchRequest, house: House, wrong: Collector) -> tuple[Wanted, ...]:
    """Every sail of the batch with its options, cloth and colour; what is wrong is added to `wrong`, under each sail's path."""
    if not request.sails:
        wrong.add("sails", "empty", "the batch has no sails")
    _check_numbers(request.sails, wrong)
    used = patterns_used(request, house)
    called = sails_called(used) if len(used) > 1 else {}
    found = []
    for sail in request.sails:
        if (own := _house_for(sail, house, wrong)) is not None:
            found.append(_wanted(sail, own, called.get(own.pattern.code, ""), wrong))
    return tuple(found)


def _house_for(sail: SailRequest, house: House, wrong: Collector) -> House | None:
    """The house with the sail's own pattern in front; None, and a problem, where the sail names one that cannot be."""
    if not sail.pattern:
        return house
    try:
        own = house.making(sail.pattern)
    except InputError as error:
        wrong.extend(Problem(f"{sail.path}.pattern", p.code, p.message) for p in error.problems)
        return None
    return own


def patterns_used(request: BatchRequest, house: House) -> tuple[Pattern, ...]:
    """The patterns that the batch's sails are made by, in the house's order; names that it does not know are left out."""
    named = {sail.pattern or house.pattern.code for sail in request.sails}
    return tuple(p for p in house.patterns if p.code in named)


def sails_called(patterns: Iterable[Pattern]) -> dict[str, str]:
    """What the sail of each pattern is called, by code: its kind, or the pattern's name where two are of one kind."""
    patterns = tuple(patterns)
    kinds = [p.sail_kind for p in patterns]
    return {p.code: kind_word(p.sail_kind) if kinds.count(p.sail_kind) == 1 else p.name for p in patterns}


def kind_word(kind: SailKind) -> str:
    """What a kind of sail is called among a boat's others."""
    return "spinnaker" if kind is SailKind.SYMMETRIC_SPINNAKER else kind.value.replace("_", " ")


def number_of(sail: SailRequest) -> str | None:
    """The sail number without blanks round it; None: to follow."""
    return (sail.sail_number or "").strip() or None


def sail_label(sail: SailRequest, called: str = "") -> str:
    """What a sail is called: its boat and number, and which of the boat's sails it is where the batch has several kinds."""
    return f"{sail.boat} {number_of(sail) or '(number to follow)'}" + (f", {called}" if called else "")


def boat_key(sail: SailRequest) -> tuple[str, ...]:
    """What tells one boat from another: its number, or name and owner while that is to follow."""
    number = number_of(sail)
    return (number,) if number else (sail.boat.strip().casefold(), sail.owner.strip().casefold())


def option_labels(options: frozenset[str], house: House) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Labels of the options that a sail has, and of those that it could have and has not."""
    table = house.pattern.options
    has = tuple(o.label for o in table if o.code in options)
    could = tuple(o.label for o in table if o.code not in options and _choice(o, house)[0] is not Choice.FORBIDDEN)
    return has, could


def required_options(options: frozenset[str], house: House) -> tuple[tuple[str, str], ...]:
    """Label and rule number of each option that a sail has because the class requires it."""
    choices = ((o.label, *_choice(o, house)) for o in house.pattern.options if o.code in options)
    return tuple((label, rule) for label, choice, rule in choices if choice is Choice.REQUIRED and rule)


def _wanted(sail: SailRequest, house: House, called: str, wrong: Collector) -> Wanted:
    options = _options(sail, house, wrong)
    cloth = _cloth(sail, house, wrong)
    return Wanted(sail, sail_label(sail, called), options, cloth, _colour(sail, cloth, options, house, wrong))


def _check_numbers(sails: Iterable[SailRequest], wrong: Collector) -> None:
    by_number: dict[str, list[SailRequest]] = defaultdict(list)
    for sail in sails:
        if number := number_of(sail):
            by_number[number].append(sail)
    for number, claimed in by_number.items():
        if len({s.owner.strip().casefold() for s in claimed}) > 1:
            who = ", ".join(f"{s.owner} ({s.boat}, {s.path})" for s in claimed)
            message = f"sail number {number} is asked for by more than one owner: {who}"
            for sail in claimed:
                wrong.add(f"{sail.path}.sail_number", "duplicate_number", message)


def _options(sail: SailRequest, house: House, wrong: Collector) -> frozenset[str]:
    table = {o.code: o for o in house.pattern.options}
    path = f"{sail.path}.options"
    for code in sorted((sail.options | sail.declined) - table.keys()):
        wrong.add(path, "unknown_option", f"{house.pattern.name} has no option {code!r}{did_you_mean(code, table)}")
    for code in sorted(sail.options & sail.declined):
        wrong.add(path, "contradiction", f"{code!r} is both chosen and left out")
    have = set()
    for code, option in table.items():
        choice, rule = _choice(option, house)
        by = f" ({rule})" if rule else ""
        if choice is Choice.REQUIRED and code in sail.declined:
            wrong.add(path, "required_option", f"{option.label} is required{by} and cannot be left out")
        if choice is Choice.FORBIDDEN and code in sail.options:
            wrong.add(path, "forbidden_option", f"{option.label} is forbidden{by}")
        elif choice is Choice.REQUIRED or code in sail.options or (option.default and code not in sail.declined):
            have.add(code)
    return frozenset(have)


def _choice(option: PatternOption, house: House) -> tuple[Choice, str]:
    """The word on an option: the class's where it requires or forbids, else the pattern's; with the rule number."""
    for said in house.class_rule.sail_or_none(house.pattern.sail_kind).options:
        if said.option == option.code and said.choice is not Choice.OPTIONAL:
            return said.choice, said.rule
    return option.choice, option.rule


def _cloth(sail: SailRequest, house: House, wrong: Collector) -> Cloth | None:
    code = sail.cloth or house.pattern.cloths[0]
    cloth = house.cloths.get(code)
    path = f"{sail.path}.cloth"
    if cloth is None or cloth.role != "body":
        bodies = [c.code for c in house.cloths.values() if c.role == "body"]
        wrong.add(path, "unknown_cloth", f"there is no sailcloth {code!r}{did_you_mean(code, bodies)}")
        return None
    problems = Collector()
    check_cloth(cloth, house, path, problems)
    wrong.extend(problems)
    if cloth.code in {g.material for g in house.gone if not g.colour}:
        wrong.add(path, "discontinued", discontinued(cloth, sail.colour, house))
        return None
    return None if problems else cloth


def _colour(sail: SailRequest, cloth: Cloth | None, options: frozenset[str], house: House, wrong: Collector) -> str:
    """The sail's colours in a line (costing.quote.colours), as the cloth's list writes them; its first where none is asked for."""
    if cloth is None:
        return sail.colour
    slots = {colours.BODY: ""}
    with wrong.under(sail.path):
        slots = colours.asked(sail.colour, chosen(house.pattern.make, options).colours)
    known = {c.casefold(): c for c in cloth.colours}
    for colour in dict.fromkeys(slots.values()):
        if told := discontinued(cloth, colour, house):
            wrong.add(f"{sail.path}.colour", "discontinued", told)
        elif colour and colour.casefold() not in known:
            wrong.add(f"{sail.path}.colour", "unknown_colour", f"{cloth.code} comes in {', '.join(cloth.colours)}, not in {colour!r}")
    first = next(iter(cloth.colours), "")
    return colours.written({slot: known.get(colour.casefold(), first) for slot, colour in slots.items()})
