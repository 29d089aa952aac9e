"""Whether a cloth can be the body of the house's sail, whether it can stand in for another, and what has been discontinued."""

from __future__ import annotations

from decimal import Decimal

from costing.cloth import cuts
from costing.cloth.part import Cloth
from costing.errors import Collector, Problem
from costing.quote.request import House
from costing.rules.limits import Limit, SailRule

_ROUNDING_GSM = Decimal("0.5")


def reasons_against(old: Cloth, new: Cloth, house: House, *, colours: frozenset[str]) -> tuple[Problem, ...]:
    """Every way in which `new` is not what `old` is, or is not what class and pattern allow; empty when it can replace it.

    colours: those that the sails want. Another roll width is no reason: the sail is laid anew.
    """
    wrong = Collector()
    for what, was, is_now in (
        ("role", old.role, new.role),
        ("construction", old.construction, new.construction),
        ("orientation", old.orientation.value, new.orientation.value),
        ("finish", old.finish, new.finish),
    ):
        if was != is_now:
            wrong.add(what, "differs", f"{what}: {new.code} is {is_now or 'not stated'}, {old.code} is {was or 'not stated'}")
    if old.same_faced and not new.same_faced:
        wrong.add("face", "differs", f"face: {new.code} has two different faces, {old.code} has not")
    has = {c.casefold() for c in new.colours}
    for colour in sorted(colours):
        if colour.casefold() not in has:
            wrong.add("colour", "unknown_colour", f"colour: {new.code} does not come in {colour}")
    allowed = Collector()
    if new.role == "body":
        check_cloth(new, house, "class", allowed)
    return (*wrong, *allowed)


def check_cloth(cloth: Cloth, house: House, path: str, wrong: Collector) -> None:
    """Add what keeps a cloth from being the body of the house's sail: class weight, orientation for the cut, class list, pattern."""
    pattern, rule = house.pattern, house.class_rule.sail_or_none(house.pattern.sail_kind)
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
    weighs, gsm = f"{cloth.code} weighs {cloth.gsm:g} g/m2", limit.exactly(cloth.gsm)
    if limit.minimum is not None and gsm < limit.minimum:
        told = f"{weighs}; the class asks for at least {limit.minimum} g/m2 ({limit.rule})"
        wrong.add(path, "cloth_too_light", told + _ounces(limit.minimum - gsm, limit))
    if limit.maximum is not None and gsm > limit.maximum:
        told = f"{weighs}; the class allows at most {limit.maximum} g/m2 ({limit.rule})"
        wrong.add(path, "cloth_too_heavy", told + _ounces(gsm - limit.maximum, limit))


def _ounces(off: Decimal, limit: Limit) -> str:
    """What to do where less than the rounding of whole grams decides: a published rule may print ounces and whole grams beside them."""
    if off >= _ROUNDING_GSM:
        return ""
    return (
        f", printed {limit.printed!r}: {off:.3f} g/m2 off. Limits are compared unrounded; where the rule's own unit is the ounce, load it "
        'so: minimum = "7 oz" is 299.798 g/m2, and printed may still say both'
    )


def discontinued(cloth: Cloth, colour: str, house: House) -> str:
    """That this cloth, or this colour of it, is no longer sold, since when, and every cloth that could stand in; empty when it is sold.

    colour: as it was asked for, empty for the first that the cloth has.
    """
    wanted = colour.casefold()
    said = [g for g in house.gone if g.material == cloth.code and g.colour.casefold() in ("", wanted)]
    if not said or (said[0].colour and wanted in {c.casefold() for c in cloth.colours}):
        return ""
    colours = frozenset({colour} if colour else ())
    gone = {g.material for g in house.gone if not g.colour}
    others = (c for c in house.cloths.values() if c.code not in gone | {cloth.code} and c.role == "body")
    fits = [new.code for new in others if not reasons_against(cloth, new, house, colours=colours)]
    return f"{said[0].words}; {'could stand in: ' + ', '.join(fits) if fits else 'no cloth of the house could stand in'}"
