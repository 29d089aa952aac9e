"""How an order ends: sail by sail out of the door, or cancelled."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from costing.errors import problem
from loft.common import audit, policies, versions
from loft.common.errors import Conflict
from loft.common.states import move_to
from loft.orders.models import Order, OrderLine
from loft.orders.services import changing
from loft.orders.states import ORDER, OrderState
from loft.workshop import services as workshop
from loft.workshop.states import TicketState


def deliver(*, order: Order, now: datetime, by: User | None = None, version: int | None = None) -> None:
    """Every sail that is still here leaves, and the order is delivered; Conflict while one is not ready, or when none was made."""
    policies.require(by, "deliver_order")
    versions.expect(order, version)
    with transaction.atomic():
        versions.take(order, version)
        lines = _made(order)
        unfinished = [line.ticket.number for line in lines if line.ticket.state != TicketState.READY]
        if unfinished:
            raise Conflict(f"not ready yet: {', '.join(unfinished)}")
        OrderLine.objects.filter(pk__in=[line.pk for line in lines], delivered_at=None).update(delivered_at=now)
        _delivered(order, lines, now, by)


def deliver_line(*, line: OrderLine, now: datetime, by: User | None = None, version: int | None = None) -> None:
    """One sail leaves; with the last one the order is delivered. Conflict when it is not ready, or left already.

    version: of the order.
    """
    policies.require(by, "deliver_order")
    order = line.order
    versions.expect(order, version)
    with transaction.atomic():
        versions.take(order, version)  # of two last sails at once, the second waits here and sees the first
        lines = _made(order)
        sail = next((one for one in lines if one.pk == line.pk), None)
        if order.state != OrderState.OPEN or sail is None or sail.ticket.state != TicketState.READY:
            state = order.get_state_display() if order.state != OrderState.OPEN else line.ticket.get_state_display()
            raise Conflict(f"{line.ticket.number} cannot leave: it is {state}")
        if OrderLine.objects.filter(pk=line.pk, delivered_at=None).update(delivered_at=now) == 0:
            raise Conflict(f"{line.ticket.number} has left already")
        audit.record("deliver_sail", order, by=by, after={"ticket": line.ticket.number})
        if all(one.delivered_at or one.pk == line.pk for one in lines):
            _delivered(order, lines, now, by)
    line.delivered_at = now


def cancel_order(*, order: Order, reason: str, now: datetime, by: User | None = None, version: int | None = None) -> None:
    """Cancel an order, with the reason: tickets that are not ready are scrapped, finished sails stay in the loft.

    Conflict once a sail has left: then the rest is delivered or scrapped sail by sail.
    """
    policies.require(by, "cancel_order")
    versions.expect(order, version)
    reason = reason.strip()
    if not reason:
        raise problem("reason", "missing", "say why the order is cancelled")
    with transaction.atomic():
        versions.take(order, version)
        gone = [line.ticket.number for line in _made(order) if line.delivered_at]
        if gone:
            raise Conflict(f"{', '.join(gone)} left already: scrap what is not to be made, and deliver the rest")
        move_to(order, OrderState.CANCELLED, ORDER, cancelled_at=now, cancel_reason=reason)
        audit.record("cancel", order, by=by, after={"reason": reason}, personal=["reason"])
        changing.withdraw(order, now=now, by=by)
        for line in _made(order):
            if line.ticket.state != TicketState.READY:
                workshop.scrap(ticket=line.ticket, reason=reason, now=now, by=by)


def _made(order: Order) -> list[OrderLine]:
    """The lines whose sails were not given up, as they stand now."""
    lines = OrderLine.objects.filter(order=order).exclude(ticket__state=TicketState.SCRAPPED)
    return list(lines.select_related("ticket").defer("ticket__sail").order_by("position"))


def _delivered(order: Order, lines: list[OrderLine], now: datetime, by: User | None) -> None:
    if not lines:
        raise Conflict(f"no sail of {order} was made: cancel it")
    move_to(order, OrderState.DELIVERED, ORDER, delivered_at=now)
    audit.record("deliver", order, by=by)
    changing.withdraw(order, now=now, by=by)
