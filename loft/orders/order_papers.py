"""What the papers of an order are made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

from costing import money
from costing.quote import TaxLine
from loft import documents
from loft.common import selectors as common
from loft.common.models import LoftProfile
from loft.documents.content import DeliveredSail, DeliveryNote, OrderConfirmation, OrderedSail, Receipt
from loft.orders import paper, selectors
from loft.orders.models import Order, OrderLine, Payment
from loft.orders.states import OrderState
from loft.workshop import finished
from loft.workshop.models import FinishedSet
from loft.workshop.paper import letterhead
from loft.workshop.states import TicketState


def confirmation_pdf(order: Order, profile: LoftProfile) -> bytes:
    """What was accepted, with what is paid and missing today; `order` as selectors.order reads it."""
    row, cancelled = selectors.board_row(order), order.state == OrderState.CANCELLED
    document = OrderConfirmation(
        letterhead=letterhead(profile), number=order.reference, quote=_quote(order), accepted_on=_local_day(order.opened_at, profile),
        accepted_by=order.revision.accepted_name, due_on=order.due_on, customer_name=order.customer.name,
        customer_address=order.customer.address_lines,
        sails=tuple(OrderedSail(r.position, r.ticket.number, r.label, r.owner, r.state, tuple(r.ticket.not_legal)) for r in _lines(order)),
        currency=order.currency, gross=amount(order.gross_minor, order.currency), deposit=amount(order.deposit_minor, order.currency),
        paid=amount(row.paid_minor, order.currency),
        waiting_for=() if cancelled else tuple(dict.fromkeys(f"{m.wording}, from {m.asked}" for m in row.missing)),
        stamp="CANCELLED" if cancelled else "",
    )  # fmt: skip
    return documents.order_confirmation_pdf(document)


def receipt_number(payment: Payment) -> str:
    """The receipt's own number: that of the order, and which payment of it this is."""
    earlier = Payment.objects.filter(order=payment.order_id, pk__lte=payment.pk).count()
    return f"{payment.order.reference}-P{earlier}"


def receipt_file(payment: Payment) -> str:
    """The name of the file of its paper."""
    return f"{'refund' if payment.amount_minor < 0 else 'receipt'}-{receipt_number(payment)}.pdf"


def receipt_pdf(payment: Payment, profile: LoftProfile) -> bytes:
    """The receipt of a payment, or the paper of a refund: what tax is in it, by the order's own rates."""
    order, cur = payment.order, payment.order.currency
    before = sum(p.amount_minor for p in order.payments.all() if p.pk < payment.pk)
    received, back = amount(abs(payment.amount_minor), cur), payment.amount_minor < 0
    document = Receipt(
        letterhead=letterhead(profile), number=receipt_number(payment), order=order.reference,
        purpose="refund" if back else "deposit" if before < order.deposit_minor else "payment", received_on=payment.received_on,
        reference=payment.reference,
        customer_name=order.customer.name, customer_address=order.customer.address_lines, currency=cur, amount=received,
        taxes=tax_within(received, paper.thaw(order.revision).totals.taxes, cur), gross=amount(order.gross_minor, cur),
        paid=amount(before + payment.amount_minor, cur),
    )  # fmt: skip
    return documents.receipt_pdf(document)


def tax_within(received: Decimal, taxes: tuple[TaxLine, ...], currency: str) -> tuple[TaxLine, ...]:
    """The tax that is in an amount with tax: shared over the rates as the order's gross is, the last rate takes what rounding leaves."""
    gross = sum((t.taxable + t.tax for t in taxes), Decimal(0))
    found: list[TaxLine] = []
    left = received
    for t in taxes:
        last = t is taxes[-1]
        share = left if last else _rounded(received * (t.taxable + t.tax) / gross, currency)
        tax = _rounded(share * t.fraction / (1 + t.fraction), currency)
        found.append(TaxLine(t.code, t.label, t.fraction, share - tax, tax))
        left -= share
    return tuple(found)


def delivery_note_pdf(order: Order, profile: LoftProfile) -> bytes:
    """The sails that leave: those that are ready and still here; when none is, those that left last, on one day."""
    made = [line for line in _lines(order) if line.ticket.state != TicketState.SCRAPPED]
    leaving = [line for line in made if line.ticket.state == TicketState.READY and not line.delivered_at]
    last = max((line.delivered_at for line in made if line.delivered_at), default=None)
    if not leaving and last is not None:
        leaving = [line for line in made if _local_day(line.delivered_at, profile) == _local_day(last, profile)]
    to_come = [line for line in made if line not in leaving and not line.delivered_at]
    document = DeliveryNote(
        letterhead=letterhead(profile), order=order.reference,
        delivered_on=_local_day(leaving[0].delivered_at, profile) if leaving else None, customer_name=order.customer.name,
        customer_address=order.customer.address_lines,
        sails=_delivered(leaving),
        sails_of_order=len(made), still_to_come=tuple(line.label for line in to_come),
    )  # fmt: skip
    return documents.delivery_note_pdf(document)


def _delivered(leaving: Sequence[OrderLine]) -> tuple[DeliveredSail, ...]:
    """Each sail that leaves, with its finished measurements where somebody has measured it."""
    measured = set(FinishedSet.objects.filter(ticket__in=[line.ticket_id for line in leaving]).values_list("ticket", flat=True))
    found = []
    for line in leaving:
        ticket = line.ticket
        one = DeliveredSail(ticket.number, line.label, line.owner, ticket.label_number, ticket.lot, not_legal=tuple(ticket.not_legal))
        if ticket.pk in measured and ticket.ready_at is not None:
            sizes = finished.of_ticket(ticket, now=ticket.ready_at)
            one = replace(one, edition=sizes.edition, finished=sizes.rows)
        found.append(one)
    return tuple(found)


def amount(minor: int, currency: str) -> Decimal:
    """Minor units as the amount that they are."""
    return Decimal(minor).scaleb(-money.currency(currency).digits)


def _local_day(moment: datetime | None, profile: LoftProfile) -> date | None:
    return None if moment is None else common.local_time(moment, profile).date()


def _rounded(value: Decimal, currency: str) -> Decimal:
    return money.to_cents(value, money.currency(currency))


def _quote(order: Order) -> str:
    revision = order.revision
    return revision.quote.reference + (f", revision {revision.revision}" if revision.revision > 1 else "")


def _lines(order: Order) -> list[OrderLine]:
    return list(order.lines.all())
