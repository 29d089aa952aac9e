"""Which sails of an order still wait for their cloth, by the roll that they can share: one cloth in one colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from costing.errors import problem
from costing.quote import PricedSail
from loft.common.errors import Conflict
from loft.orders import paper
from loft.orders.models import Order, OrderLine
from loft.workshop.models import Ticket
from loft.workshop.states import TicketState


@dataclass(frozen=True, slots=True)
class ClothGroup:
    """Held sails without a lot that are cut from one cloth in one colour; metres as laid sail by sail."""

    cloth: str
    colour: str
    tickets: tuple[Ticket, ...]
    metres: Decimal

    def __str__(self) -> str:
        return f"{self.cloth} {self.colour}".strip()

    @property
    def sails(self) -> tuple[str, ...]:
        return tuple(t.sail_label for t in self.tickets)


def cloth_groups(order: Order) -> tuple[ClothGroup, ...]:
    """The groups that wait, in the order of the lines."""
    # in work without a lot: a signed change took it away
    waiting = [line for line in _lines(order) if not line.ticket.lot and line.ticket.state in (TicketState.HELD, TicketState.IN_WORK)]
    if not waiting:
        return ()
    sails = paper.thaw(order.revision).sails
    groups: dict[tuple[str, str], list[tuple[Ticket, Decimal]]] = {}
    for line in waiting:
        sail = sails[line.position - 1]
        cloth, metres = _body(sail)
        groups.setdefault((cloth, sail.colour), []).append((line.ticket, metres))
    return tuple(
        ClothGroup(cloth, colour, tuple(t for t, _ in found), sum((m for _, m in found), Decimal(0)))
        for (cloth, colour), found in groups.items()
    )


def named_group(order: Order, *, cloth: str = "", colour: str = "") -> ClothGroup:
    """The group of this cloth and colour; what is not named need not be when only one group is left.

    Conflict when no sail waits for cloth; InputError lists the groups when none or more than one is meant.
    """
    groups = cloth_groups(order)
    if not groups:
        raise Conflict(f"every sail of {order} has its cloth")
    meant = [g for g in groups if _same(cloth, g.cloth) and _same(colour, g.colour)]
    if len(meant) == 1:
        return meant[0]
    place = "cloth" if cloth and not colour else "colour"
    if not meant:
        raise problem(place, "none_waits", f"no sail waits for {f'{cloth} {colour}'.strip()}; waiting are {_listed(groups)}")
    told = f"a roll is one cloth in one colour, and more than one is waited for: name cloth and colour of one of {_listed(meant)}"
    raise problem(place, "several_groups", told)


def _lines(order: Order) -> list[OrderLine]:
    return list(order.lines.select_related("ticket").defer("ticket__sail").order_by("position"))


def _body(sail: PricedSail) -> tuple[str, Decimal]:
    """Code and metres of the body's cloth."""
    lines = [line for line in sail.cost_lines if line.group == "cloth" and line.label == sail.cloth_label]
    return lines[0].code, sum((line.quantity for line in lines), Decimal(0))


def _same(asked: str, held: str) -> bool:
    return not asked.strip() or asked.strip().casefold() == held.casefold()


def _listed(groups: Sequence[ClothGroup]) -> str:
    return "; ".join(f"{g} ({', '.join(g.sails)}: {g.metres} m)" for g in groups)
