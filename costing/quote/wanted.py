"""What each sail of a batch is to be: the request checked against pattern, class, cloth and lists, every problem found."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches

from costing.cloth import cuts
from costing.cloth.part import Cloth
from costing.errors import Collector
from costing.quote.pattern import PatternOption
from costing.quote.request import BatchRequest, House, SailRequest
from costing.rules.limits import Choice, SailRule


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
    return tuple(_wanted(sail, house, wrong) for sail in request.sails)


def number_of(sail: SailRequest) -> str | None:
    """The sail number without blanks round it; None: to follow."""
    return (sail.sail_number or "").strip() or None


def sail_label(sail: SailRequest) -> str:
    """What a sail is called: its boat and number."""
    return f"{sail.boat} {number_of(sail) or '(number to follow)'}"


def option_labels(options: frozenset[str], house: House) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Labels of the options that a sail has, and of those that it could have and has not."""
    table = house.pattern.options
    has = tuple(o.label for o in table if o.code in options)
    could = tuple(o.label for o in table if o.code not in options and _choice(o, house)[0] is not Choice.FORBIDDEN)
    return has, could


def _wanted(sail: SailRequest, house: House, wrong: Collector) -> Wanted:
    options = _options(sail, house, wrong)
    cloth = _cloth(sail, house, wrong)
    return Wanted(sail, sail_label(sail), options, cloth, _colour(sail, cloth, wrong))


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
        wrong.add(path, "unknown_option", f"{house.pattern.name} has no option {code!r}{_hint(code, table)}")
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
    for said in house.class_rule.sail(house.pattern.sail_kind).options:
        if said.option == option.code and said.choice is not Choice.OPTIONAL:
            return said.choice, said.rule
    return option.choice, option.rule


def _cloth(sail: SailRequest, house: House, wrong: Collector) -> Cloth | None:
    code = sail.cloth or house.pattern.cloths[0]
    cloth = house.cloths.get(code)
    path = f"{sail.path}.cloth"
    if cloth is None or cloth.role != "body":
        bodies = [c.code for c in house.cloths.values() if c.role == "body"]
        wrong.add(path, "unknown_cloth", f"there is no sailcloth {code!r}{_hint(code, bodies)}")
        return None
    problems = Collector()
    check_cloth(cloth, house, path, problems)
    wrong.extend(problems)
    return None if problems else cloth


def check_cloth(cloth: Cloth, house: House, path: str, wrong: Collector) -> None:
    """Add what keeps a cloth from being the body of the house's sail: class weight, orientation for the cut, class list, pattern."""
    pattern, rule = house.pattern, house.class_rule.sail(house.pattern.sail_kind)
    _check_weight(cloth, rule, path, wrong)
    if told := cuts.unsuitable(cloth, pattern.make):
        wrong.add(path, "orientation", told)
    if rule.permitted_cloth and not {cloth.code, cloth.construction} & set(rule.permitted_cloth):
        permitted = ", ".join(rule.permitted_cloth)
        message = f"{cloth.code} ({cloth.construction}) is not a cloth that the class permits ({rule.permitted_cloth_rule}): {permitted}"
        wrong.add(path, "cloth_not_permitted", message)
    if cloth.code not in pattern.cloths and not wrong:
        wrong.add(path, "cloth_not_in_pattern", f"{pattern.name} is made from {', '.join(pattern.cloths)}, not from {cloth.code}")


def _check_weight(cloth: Cloth, rule: SailRule, path: str, wrong: Collector) -> None:
    limit = rule.limit("cloth_weight")
    if limit is None:
        return
    weighs, gsm = f"{cloth.code} weighs {cloth.gsm:g} g/m2", Decimal(str(cloth.gsm))
    if limit.minimum is not None and gsm < limit.minimum:
        wrong.add(path, "cloth_too_light", f"{weighs}; the class asks for at least {limit.minimum} g/m2 ({limit.rule})")
    if limit.maximum is not None and gsm > limit.maximum:
        wrong.add(path, "cloth_too_heavy", f"{weighs}; the class allows at most {limit.maximum} g/m2 ({limit.rule})")


def _colour(sail: SailRequest, cloth: Cloth | None, wrong: Collector) -> str:
    if cloth is None:
        return sail.colour
    colours = {c.casefold(): c for c in cloth.colours}
    if sail.colour and sail.colour.casefold() not in colours:
        wrong.add(f"{sail.path}.colour", "unknown_colour", f"{cloth.code} comes in {', '.join(cloth.colours)}, not in {sail.colour!r}")
    return colours.get(sail.colour.casefold(), next(iter(cloth.colours), ""))


def _hint(asked: str, known: Iterable[str]) -> str:
    known = tuple(known)
    by_folded = {k.casefold(): k for k in known}
    close = get_close_matches(asked.casefold(), tuple(by_folded), n=1)
    return f"; did you mean {by_folded[close[0]]!r}?" if close else f"; there are {', '.join(known)}"
