"""The colours of a sail in a line: the body's, then panels of the pattern that have one of their own: "white + accent red"."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from costing.cloth.make import ColourSlot
from costing.errors import problem

#: The body's slot.
BODY = ""


def asked(text: str, slots: Iterable[ColourSlot]) -> dict[str, str]:
    """The colour asked for by slot, the body's first, as written; InputError at "colour" for a slot that the pattern has not.

    An empty text asks for none: the body has the cloth's first colour.
    """
    known = {slot.name.casefold(): slot.name for slot in slots}
    body, *others = (part.strip() for part in text.split("+"))
    found = {BODY: body}
    for part in others:
        name, _, colour = part.partition(" ")
        if name.casefold() not in known or not colour.strip():
            may = f"after + stands one of {', '.join(known.values())} and its colour" if known else "this sail is of one colour"
            raise problem("colour", "unknown_colour", f"{part!r} names no panels that may have a colour of their own: {may}")
        found[known[name.casefold()]] = colour.strip()
    return found


def written(by_slot: Mapping[str, str]) -> str:
    """The line again; a slot of the body's own colour is left out, as it is cut with the body."""
    body = by_slot[BODY]
    others = (f"{slot} {colour}" for slot, colour in sorted(by_slot.items()) if slot != BODY and colour != body)
    return " + ".join((body, *others))


def of_slot(line: str, slot: str) -> str:
    """The colour of a slot in a line that `written` made; the body's for a slot that is not in it."""
    body, *others = line.split(" + ")
    return next((part.partition(" ")[2] for part in others if part.partition(" ")[0] == slot), body)


def all_in(line: str) -> tuple[str, ...]:
    """Every colour in a line that `written` made, the body's first, each once."""
    return tuple(dict.fromkeys(of_slot(line, slot) for slot in (BODY, *sorted(slots_in(line)))))


def slots_in(line: str) -> frozenset[str]:
    """The slots in a line that `written` made, which are laid apart from the body."""
    return frozenset(part.partition(" ")[0] for part in line.split(" + ")[1:])
