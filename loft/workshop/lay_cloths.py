"""What a sail is cut from: its body's cloth in each of its colours, films, other cloths. Each is a lay of its own."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from costing.cloth import Cloth, Part
from costing.quote import Design, colours, snapshot
from loft.workshop.models import Ticket

#: A cloth's code and its colour; no colour where any will do.
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class CutFrom:
    """What of a sail is cut from one cloth in one colour: its colour slots, the width of the roll that it is laid out for, mm; whether
    the sail's body is in it."""

    slots: tuple[str, ...]
    usable_width_mm: float
    body: bool


def of_tickets(tickets: Sequence[Ticket]) -> list[Mapping[Key, CutFrom]]:
    """What each sail is cut from, its body first; a design that several share is read once."""
    known: dict[int, Design] = {}
    for ticket in tickets:
        if ticket.design_id not in known:
            known[ticket.design_id] = snapshot.thaw_design(bytes(ticket.design.data))
    return [_of_sail(known[t.design_id], snapshot.thaw_sail(bytes(t.sail)).colour) for t in tickets]


def _of_sail(design: Design, line: str) -> Mapping[Key, CutFrom]:
    found: dict[Key, CutFrom] = {}
    for lay in design.lays:
        of_the_body = lay.material == design.cloth.code
        key = (lay.material, colours.of_slot(line, lay.colour) if of_the_body else "")
        slots = (*(found[key].slots if key in found else ()), lay.colour)
        found[key] = CutFrom(slots, lay.usable_width_mm, of_the_body and colours.BODY in slots)
    return found


def design_of(ticket: Ticket) -> Design:
    """The design of a ticket that was read with its design."""
    return snapshot.thaw_design(bytes(ticket.design.data))


def parts_of(design: Design, code: str, slots: Collection[str]) -> tuple[Part, ...]:
    """The parts of a design that are cut from this cloth in these colour slots."""
    return tuple(part for part in design.parts if part.material == code and part.colour in slots)


def roll(design: Design, code: str) -> Cloth:
    """The cloth or film of a design as it is laid; KeyError where nothing of the design is cut from it."""
    if code == design.cloth.code:
        return design.cloth
    for lay in design.lays:
        if lay.material == code:  # of another cloth a design keeps its lay alone
            return replace(
                design.cloth, code=code, name=code, width_mm=lay.usable_width_mm, usable_width_mm=lay.usable_width_mm, colours=()
            )
    raise KeyError(code)


def told(key: Key) -> str:
    """A cloth and its colour for people."""
    return " ".join(key).strip()
