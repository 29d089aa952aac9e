"""Opening an order: what is worked out before the transaction, and the few statements inside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from costing import money, quote
from costing.quote import PricedBatch, PricedSail, TicketPlan
from costing.rules import RoyaltyLabel
from loft.catalogue import selectors as catalogue
from loft.common import services as numbers
from loft.customers import fit
from loft.orders import paper
from loft.orders.models import Order, OrderLine, Revision
from loft.workshop import new_tickets
from loft.workshop import services as workshop
from loft.workshop.models import Design
from loft.workshop.states import Need

SERIES = "order"


@dataclass(frozen=True, slots=True)
class OrderWork:
    """An order ready to be written: everything but its number."""

    revision: Revision
    batch: PricedBatch
    designs: Mapping[str, Design]
    plans: tuple[tuple[TicketPlan, ...], ...]
    accepted_by: str
    fits: tuple[tuple[fit.Line, ...], ...]  # each sail's boat's fit sheet, empty where there is none


def prepare(revision: Revision, *, accepted_by: str) -> OrderWork:
    """Thaw the snapshot and plan the tickets; reads only."""
    batch = paper.thaw(revision)
    patterns = {p.code: catalogue.pattern(p.code, p.version) for p in batch.made_by}
    keys = {sail.design_key for sail in batch.sails}
    designs = {d.key: d for d in Design.objects.filter(key__in=keys).defer("data")}
    plans = tuple(quote.ticket_plan(sail, patterns[batch.pattern_of(sail).code]) for sail in batch.sails)
    of_boats = [(sail.sail_number, sail.boat, sail.owner, batch.pattern_of(sail).sail_kind) for sail in batch.sails]
    fits = fit.lines_for(class_code=batch.class_code, sails=of_boats)
    return OrderWork(revision, batch, designs, plans, accepted_by, fits)


def open_order(work: OrderWork, *, now: datetime) -> Order:
    """Write the order, its lines and its tickets; call it inside the transaction that accepts the revision."""
    cur, totals = money.currency(work.batch.currency), work.batch.totals
    order = Order.objects.create(
        number=numbers.next_number(series=SERIES), customer_id=work.revision.quote.customer_id, revision=work.revision,
        currency=work.batch.currency, gross_minor=money.minor_units(totals.gross, cur),
        deposit_minor=money.minor_units(totals.deposit, cur), opened_at=now,
    )  # fmt: skip
    tickets = workshop.open_tickets(_new_tickets(work, order), now=now)
    OrderLine.objects.bulk_create(
        OrderLine(
            order=order, position=position, label=sail.label, boat=sail.boat, owner=sail.owner,
            net_minor=money.minor_units(sail.net, cur), ticket=ticket,
        )
        for position, (sail, ticket) in enumerate(zip(work.batch.sails, tickets, strict=True), start=1)
    )  # fmt: skip
    return order


def _new_tickets(work: OrderWork, order: Order) -> list[new_tickets.NewTicket]:
    return [
        new_tickets.NewTicket(
            number=f"{order.reference}-{position:02d}", order_number=order.reference, due_on=order.due_on,
            design=work.designs[sail.design_key], sail=sail, words=_words(work.batch, sail), plans=plans, needs=_needs(work, sail),
            fit=sheet,
        )
        for position, (sail, plans, sheet) in enumerate(zip(work.batch.sails, work.plans, work.fits, strict=True), start=1)
    ]  # fmt: skip


def cloth_wording(sail: PricedSail) -> str:
    """How the desk asks for a sail's cloth."""
    return f"{sail.cloth_label} {sail.colour}: roll and lot set aside".replace("  ", " ")


def _words(batch: PricedBatch, sail: PricedSail) -> new_tickets.TicketWords:
    label = label_of(batch, sail)
    return new_tickets.TicketWords(
        class_code=batch.class_code, class_name=batch.class_name, edition=batch.edition,
        pattern_label=paper.pattern_label(batch, sail), insignia=batch.insignia,
        label_place=label.place if label else "", not_legal=sail.not_legal,
    )  # fmt: skip


def _needs(work: OrderWork, sail: PricedSail) -> tuple[new_tickets.NewNeed, ...]:
    """What the sail waits for, in the order in which the desk asks. Acceptance signs the options; a standard boat has no fit to confirm."""
    batch, customer = work.batch, work.batch.customer
    variant = work.designs[sail.design_key].variant
    needs = [
        new_tickets.NewNeed(Need.DEPOSIT, customer, "deposit", "" if batch.totals.deposit > Decimal(0) else "no deposit asked"),
        new_tickets.NewNeed(Need.OPTIONS, customer, "options signed", work.accepted_by),
        new_tickets.NewNeed(Need.FIT, sail.owner or customer, "fit details confirmed", "" if variant else "made as the pattern is"),
        new_tickets.NewNeed(Need.CLOTH, "the loft", cloth_wording(sail)),
        new_tickets.NewNeed(Need.NUMBER, sail.owner or customer, "sail number", sail.sail_number or ""),
    ]
    if label := label_of(batch, sail):
        needs.append(label_need(batch, label))
    return tuple(needs)


def label_of(batch: PricedBatch, sail: PricedSail) -> RoyaltyLabel | None:
    """The class's label that a sail must carry; None where the class asks for none, or the sail is NON-CLASS."""
    label = batch.pattern_of(sail).royalty_label
    return label if label is not None and label.required and not sail.breaches else None


def label_need(batch: PricedBatch, label: RoyaltyLabel) -> new_tickets.NewNeed:
    """How the desk asks for a class's label."""
    return new_tickets.NewNeed(Need.LABEL, f"the {batch.class_name} class", f"class label ({label.rule})")
