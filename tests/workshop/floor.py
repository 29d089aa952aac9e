"""The floor of the tests: tickets that only lack cloth, rolls in hand, a planning as the worker runs it."""

from __future__ import annotations

from decimal import Decimal

from django.contrib.auth.models import User

from loft.jobs import services as jobs
from loft.jobs.models import Job
from loft.orders import services as desk_writes
from loft.orders.models import Order
from loft.workshop import lay_planning, rolls, services
from loft.workshop.models import Lay, LaySection, Roll, Ticket
from tests import desk


def run_planning(lay: Lay) -> None:
    """Run the planning that the lay awaits, as the worker would."""
    lay.refresh_from_db()
    assert jobs.run_one(pk=Job.objects.get(key=lay_planning.job_key(lay)).pk)
    lay.refresh_from_db()


def white_roll(by: User, name: str = "R-7", *, lot: str = "1180", length_mm: int = 40_000, flaws: tuple[tuple[int, int], ...] = ()) -> Roll:
    return rolls.book_roll(
        name=name, cloth_code="DW170", colour="white", lot=lot, length_mm=length_mm, usable_width_mm=1355, flaws=flaws, now=desk.NOW, by=by
    )


def sections(lay: Lay) -> list[LaySection]:
    return list(LaySection.objects.filter(lay=lay).select_related("lay", "roll").order_by("number"))


def all_met(order: Order, tickets: list[Ticket], by: User) -> None:
    """Deposit and fit, so that only cloth is missing."""
    desk_writes.record_payment(order=order, amount=Decimal(order.deposit_minor) / 100, received_on=desk.TODAY, by=by, now=desk.NOW)
    for ticket in tickets:
        services.confirm_fit(ticket=ticket, fit=desk.FIT, by=by, now=desk.NOW)
