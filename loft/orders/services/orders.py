"""What happens to an order while it is open: money, numbers, cloth, the day promised."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Sum

from costing import money
from costing.errors import problem
from loft.common import audit, idempotency, policies, versions
from loft.common.errors import Conflict
from loft.customers import services as customers
from loft.jobs import mail
from loft.orders import waiting_cloth
from loft.orders.models import Order, OrderLine, Payment
from loft.orders.states import OrderState
from loft.workshop import services as workshop
from loft.workshop.models import Ticket
from loft.workshop.states import Need


def record_payment(
    *, order: Order, amount: Decimal, received_on: date, by: User, now: datetime, reference: str = "", made_at: str = ""
) -> Payment:
    """Note money received; once the payments reach the deposit, no ticket of the order waits for it any longer.

    made_at: the address to answer with when the same request is sent twice.
    """
    policies.require(by, "record_payment")
    _open(order)
    minor = _minor(amount, order.currency)
    with transaction.atomic():
        versions.take(order, None)  # two payments at once: the second waits here, and counts the first
        stored = Order.objects.get(pk=order.pk)  # cancelled, or changed to less, since it was read
        _open(stored)
        payment = Payment.objects.create(
            order=order, amount_minor=minor, received_on=received_on, reference=reference.strip(), recorded_at=now, recorded_by=by
        )
        paid = order.payments.aggregate(total=Sum("amount_minor"))["total"]
        if paid > stored.gross_minor:
            raise problem("amount", "too_much", f"that is more than {order} comes to: {_left(stored, paid - minor)} still open")
        after = {"amount_minor": minor, "received_on": received_on, "reference": reference.strip()}
        audit.record("record_payment", order, by=by, after=after, personal=["reference"])
        if paid >= stored.deposit_minor:
            workshop.meet(_tickets(order), Need.DEPOSIT, by=by.get_username(), now=now, user=by)
        letter = {"order": order.pk, "payment": payment.pk}
        mail.enqueue_letter(name="payment_received", key=f"payment_received:{payment.pk}", payload=letter)
        if made_at:
            idempotency.made(made_at)
    return payment


def record_refund(
    *, order: Order, amount: Decimal, paid_on: date, by: User, now: datetime, reference: str = "", made_at: str = ""
) -> Payment:
    """Note money paid back to the customer: at most what was paid beyond the order's total; of a cancelled order what was paid at all.

    It is a payment of less than zero, with a paper and a letter of its own. made_at: as for `record_payment`.
    """
    policies.require(by, "record_payment")
    minor = _minor(amount, order.currency)
    with transaction.atomic():
        versions.take(order, None)  # of a refund, a payment and a signed change at once each sees the one before
        stored = Order.objects.get(pk=order.pk)
        paid = stored.payments.aggregate(total=Sum("amount_minor", default=0))["total"]
        most = paid - (0 if stored.state == OrderState.CANCELLED else stored.gross_minor)
        if minor > most:
            told = f"at most {_words(order, most)} is owed back" if most > 0 else "nothing is owed back"
            raise problem("amount", "too_much", f"{told} on {order}")
        payment = Payment.objects.create(
            order=order, amount_minor=-minor, received_on=paid_on, reference=reference.strip(), recorded_at=now, recorded_by=by
        )
        after = {"amount_minor": -minor, "received_on": paid_on, "reference": reference.strip()}
        audit.record("record_refund", order, by=by, after=after, personal=["reference"])
        letter = {"order": order.pk, "payment": payment.pk}
        mail.enqueue_letter(name="refund_paid", key=f"refund_paid:{payment.pk}", payload=letter)
        if made_at:
            idempotency.made(made_at)
    return payment


def give_sail_number(
    *, line: OrderLine, number: str, by: User, now: datetime, version: int | None = None, order_version: int | None = None
) -> None:
    """Record a sail number that was to follow, on the line and on its ticket; Conflict when the sail has one or another boat has it.

    version: of the ticket, when it was looked at; order_version: of the order.
    """
    policies.require(by, "give_sail_number")
    versions.expect(line.ticket, version)
    versions.expect(line.order, order_version)
    _open(line.order)
    number = number.strip()
    if not number or len(number) > 20:
        raise problem("number", "invalid", "a sail number has 1 to 20 characters")
    with transaction.atomic():
        versions.take(line.order, order_version)
        customers.give_number(class_code=line.ticket.class_code, name=line.boat, owner=line.owner, number=number, by=by)
        workshop.give_sail_number(ticket=line.ticket, number=number, by=by, now=now, version=version)
        OrderLine.objects.filter(pk=line.pk).update(label=line.ticket.sail_label)
    line.label = line.ticket.sail_label


def book_cloth(
    *, order: Order, roll: str, lot: str, by: User, now: datetime, cloth: str = "", colour: str = "", version: int | None = None
) -> int:
    """Set one roll and lot aside for the sails of one cloth and colour that have none yet; how many tickets that released.

    cloth, colour: may be left out when the sails that wait are all of one.
    """
    policies.require(by, "confirm_cloth")
    versions.expect(order, version)
    _open(order)
    group = waiting_cloth.named_group(order, cloth=cloth, colour=colour)
    with transaction.atomic():
        versions.take(order, version)
        return workshop.book_cloth(tickets=group.tickets, roll=roll, lot=lot, by=by, now=now)


def set_due_date(*, order: Order, due_on: date, by: User | None = None, version: int | None = None) -> None:
    """Promise a day for the whole order; its tickets carry it too."""
    policies.require(by, "promise_day")
    versions.expect(order, version)
    _open(order)
    with transaction.atomic():
        versions.take(order, version)
        Order.objects.filter(pk=order.pk).update(due_on=due_on)
        workshop.set_due_date(order_number=order.reference, due_on=due_on)
        audit.record("promise_day", order, by=by, before={"due_on": order.due_on}, after={"due_on": due_on})
    order.due_on = due_on


def _tickets(order: Order) -> list[Ticket]:
    return list(Ticket.objects.filter(line__order=order).defer("sail"))


def _open(order: Order) -> None:
    if order.state != OrderState.OPEN:
        raise Conflict(f"{order} is {order.get_state_display()}")


def _left(order: Order, paid: int) -> str:
    left = order.gross_minor - paid
    return f"{_words(order, left)} is" if left > 0 else "nothing is"


def _words(order: Order, minor: int) -> str:
    return f"{order.currency} {Decimal(minor).scaleb(-money.currency(order.currency).digits):,}"


def _minor(amount: Decimal, currency: str) -> int:
    if amount <= 0:
        raise problem("amount", "not_positive", "an amount is more than zero")
    try:
        return money.minor_units(amount, money.currency(currency))
    except ValueError as error:
        raise problem("amount", "too_fine", str(error)) from error
