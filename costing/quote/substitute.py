"""Whether one cloth can stand in for another in the house's sail, with every reason against it."""

from __future__ import annotations

from costing.cloth.part import Cloth
from costing.errors import Collector, Problem
from costing.quote.request import House
from costing.quote.wanted import check_cloth


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
