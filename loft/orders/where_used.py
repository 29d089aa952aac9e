"""Where a material is used: what is made from it, what is offered and ordered with it, and how much of it that takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import QuerySet

from costing.prices import SupplierList, SupplierRow
from costing.quote import Pattern, PricedBatch
from costing.quote.design import materials_named
from loft.catalogue import selectors as catalogue
from loft.catalogue.models import Material
from loft.common.errors import NotFound
from loft.orders import paper
from loft.orders.models import OrderLine, Revision
from loft.orders.states import OrderState, RevisionState
from loft.workshop import rolls
from loft.workshop.models import Roll
from loft.workshop.states import TicketState


@dataclass(frozen=True, slots=True)
class Taken:
    """A quote or an order with how much of the material its sails take, and which of them."""

    quote: int
    reference: str
    customer: str
    amount: Decimal
    sails: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TicketTaken:
    """A sail in work or waiting that takes the material."""

    ticket: int
    number: str
    state: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Used:
    """Everything about one material; unit is what it is counted in."""

    material: Material
    unit: str
    sold: tuple[tuple[SupplierList, SupplierRow], ...]
    gone: tuple[tuple[str, date, str], ...]
    patterns: tuple[Pattern, ...]
    drafts: tuple[Taken, ...]
    open_quotes: tuple[Taken, ...]
    orders: tuple[Taken, ...]
    tickets: tuple[TicketTaken, ...]
    stock_sails: tuple[TicketTaken, ...]  # finished, of orders that were cancelled: still here
    rolls: tuple[Roll, ...]
    in_stock: Decimal

    @property
    def promised(self) -> Decimal:
        """What open quotes and open orders take together."""
        return sum((t.amount for t in (*self.open_quotes, *self.orders)), Decimal(0))


def used(code: str, *, on: date, now: datetime) -> Used:
    """Where a material is used; NotFound when no list ever named it."""
    material = Material.objects.filter(code=code).first()
    if material is None:
        raise NotFound(f"There is no material {code!r}.")
    sold = tuple((f.prices, r) for f in catalogue.supplier_files(on=on) for r in f.prices.rows if r.material == code)
    of_cloth = tuple(rolls.rolls(cloth_code=code))
    lines = _order_lines()
    return Used(
        material, "m" if material.role != "other" else material.unit, sold, _gone(material), _patterns(code), tuple(_drafts(code)),
        tuple(_open_quotes(code, now)), tuple(_orders(code, lines)), tuple(_tickets(code, lines)),
        tuple(_tickets(code, _stock_lines())), of_cloth,
        sum((Decimal(rolls.free_mm(row)) / 1000 for row in of_cloth), Decimal(0)),
    )  # fmt: skip


def _gone(material: Material) -> tuple[tuple[str, date, str], ...]:
    """(colour, day, supplier's list) of each time that it went; a later list may have brought it back."""
    rows = material.discontinued.select_related("supplier_list").defer("supplier_list__source").order_by("gone_on", "colour")
    return tuple((row.colour, row.gone_on, str(row.supplier_list)) for row in rows)


def _patterns(code: str) -> tuple[Pattern, ...]:
    """The newest version of each pattern that can be made from it, or that its kit or its make names."""
    newest = {p.code: p for p in reversed(catalogue.patterns())}
    return tuple(p for p in newest.values() if code in {*p.cloths, *materials_named(p.make), *(item.material for item in p.kit)})


def _drafts(code: str) -> Iterator[Taken]:
    rows = Revision.objects.filter(state=RevisionState.DRAFT).select_related("quote__customer").defer("pdf").order_by("quote_id")
    return (taken for row in rows if (taken := _taken(row, code)) is not None)


def _open_quotes(code: str, now: datetime) -> Iterator[Taken]:
    """Found by their kept cost lines, so that only those are read that take it."""
    rows = Revision.objects.filter(state=RevisionState.ISSUED, change=False, expires_at__gte=now, frozen_cost__lines__material__code=code)
    found = rows.distinct().select_related("quote__customer").defer("pdf").order_by("quote__number")
    return (taken for row in found if (taken := _taken(row, code)) is not None)


def _taken(row: Revision, code: str) -> Taken | None:
    sails = [(s.label, sum((x.quantity for x in s.cost_lines if x.code == code), Decimal(0))) for s in paper.thaw(row).sails]
    those = [(label, amount) for label, amount in sails if amount]
    if not those:
        return None
    whole = sum((amount for _, amount in those), Decimal(0))
    return Taken(row.quote_id, str(row.quote), row.quote.customer.name, whole, tuple(label for label, _ in those))


Lines = list[tuple[OrderLine, dict[str, Decimal]]]


def _order_lines() -> Lines:
    """Every sail of an open order that has not left, with what it takes of each material."""
    rows = OrderLine.objects.filter(order__state=OrderState.OPEN, delivered_at=None)
    return _lines(rows.exclude(ticket__state=TicketState.SCRAPPED))


def _stock_lines() -> Lines:
    """Every finished sail of a cancelled order that has not left."""
    return _lines(OrderLine.objects.filter(order__state=OrderState.CANCELLED, delivered_at=None, ticket__state=TicketState.READY))


def _lines(rows: QuerySet[OrderLine]) -> Lines:
    found: Lines = []
    batches: dict[int, PricedBatch] = {}
    for line in rows.select_related("order__revision__quote__customer", "ticket").order_by("order_id", "position"):
        batch = batches.setdefault(line.order_id, paper.thaw(line.order.revision))
        taken: dict[str, Decimal] = {}
        for cost in batch.sails[line.position - 1].cost_lines if line.position <= len(batch.sails) else ():
            taken[cost.code] = taken.get(cost.code, Decimal(0)) + cost.quantity
        found.append((line, taken))
    return found


def _orders(code: str, lines: Lines) -> Iterator[Taken]:
    by_order: dict[int, list[tuple[OrderLine, Decimal]]] = {}
    for line, taken in lines:
        if code in taken:
            by_order.setdefault(line.order_id, []).append((line, taken[code]))
    for sails in by_order.values():
        order = sails[0][0].order
        whole = sum((amount for _, amount in sails), Decimal(0))
        yield Taken(order.pk, order.reference, order.revision.quote.customer.name, whole, tuple(line.label for line, _ in sails))


def _tickets(code: str, lines: Lines) -> Iterator[TicketTaken]:
    for line, taken in lines:
        if code in taken:
            ticket = line.ticket
            yield TicketTaken(ticket.pk, ticket.number, str(ticket.get_state_display()), taken[code])


def materials() -> tuple[Material, ...]:
    """Every material that a list ever named, cloths first."""
    rank = {"body": 0, "film": 1, "other": 2}
    return tuple(sorted(Material.objects.prefetch_related("discontinued"), key=lambda m: (rank[m.role], m.code)))
