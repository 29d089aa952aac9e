"""Two people at the same moment, on real connections: one order, numbers without a gap, nothing left waiting."""

from __future__ import annotations

from decimal import Decimal

from django.contrib.auth.models import User

from loft.common.errors import Conflict, Stale
from loft.jobs.models import Job
from loft.orders import services
from loft.orders.models import Order, OrderLine, Payment, Quote, Revision
from loft.workshop.models import Ticket
from loft.workshop.states import Need
from tests import desk
from tests.journeys.at_once import together


def test_simultaneous_acceptances_open_one_order(loft: None, manager: User) -> None:
    revision = desk.issued(manager)
    token = desk.token_of(revision)
    names = [f"Hester {i}" for i in range(4)]
    orders = together([lambda name=name: services.accept(token=token, name=name, now=desk.NOW) for name in names])
    assert {type(order) for order in orders} == {Order}, orders
    assert {order.pk for order in orders} == {Order.objects.get().pk}
    assert (Order.objects.get().number, OrderLine.objects.count(), Ticket.objects.count()) == (1, 2, 2)
    assert Job.objects.filter(key__startswith="order_accepted:").count() == 1


def test_acceptance_and_withdrawal_cannot_both_win(loft: None, manager: User) -> None:
    revision = desk.issued(manager, desk.ONE_BOAT)
    token = desk.token_of(revision)
    other = Revision.objects.select_related("quote").get(pk=revision.pk)
    together([
        lambda: services.accept(token=token, name="Hester Lorne", now=desk.NOW),
        lambda: services.cancel(revision=other, now=desk.NOW),
    ])  # fmt: skip
    state = Revision.objects.get(pk=revision.pk).state
    assert (state, Order.objects.count()) in [("accepted", 1), ("cancelled", 0)]


def test_simultaneous_issues_are_numbered_without_a_gap(loft: None, manager: User) -> None:
    drafts = [desk.draft(desk.ONE_BOAT) for _ in range(4)]
    issued = together([lambda row=row: services.issue(revision=row, by=manager, now=desk.NOW) for row in drafts])
    assert {type(row) for row in issued} == {Revision}, issued
    assert sorted(Quote.objects.values_list("number", flat=True)) == [1, 2, 3, 4]
    for row in Revision.objects.select_related("quote"):
        assert row.quote.number in {1, 2, 3, 4} and row.pdf_sha256


def test_one_draft_issued_twice_at_once_is_issued_once(loft: None, manager: User) -> None:
    row = desk.draft(desk.ONE_BOAT)
    twice = [Revision.objects.select_related("quote__customer").get(pk=row.pk) for _ in range(2)]
    results = together([lambda one=one: services.issue(revision=one, by=manager, now=desk.NOW) for one in twice])
    assert sorted(type(r).__name__ for r in results) == [Conflict.__name__, Revision.__name__], results
    assert (Quote.objects.get().number, Job.objects.filter(lane="mail").count()) == (1, 1)


def test_the_last_two_needs_met_at_once_release_the_ticket(loft: None, manager: User) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    deposit = Decimal(order.deposit_minor) / 100
    together([
        lambda: services.record_payment(order=order, amount=deposit, received_on=desk.TODAY, by=manager, now=desk.NOW),
        lambda: services.book_cloth(order=order, roll="R-7", lot="1180", by=manager, now=desk.NOW),
    ])  # fmt: skip
    ticket = Ticket.objects.get()
    assert not ticket.requirements.filter(kind__in=(Need.DEPOSIT, Need.CLOTH), met_at=None).exists()
    assert ticket.state == "released"


def test_two_halves_of_the_deposit_at_once_are_the_deposit(loft: None, manager: User) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    half = order.deposit_minor // 2
    amounts = (Decimal(half) / 100, Decimal(order.deposit_minor - half) / 100)
    pay = services.record_payment
    together([lambda a=a: pay(order=order, amount=a, received_on=desk.TODAY, by=manager, now=desk.NOW) for a in amounts])
    assert Payment.objects.count() == 2
    assert Ticket.objects.get().requirements.get(kind=Need.DEPOSIT).met_at == desk.NOW


def test_two_changes_of_one_order_at_once_leave_one_open(loft: None, manager: User) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    head, row = desk.ONE_BOAT.decode().splitlines()
    lists = [f"{head},options\n{row},no {option}\n".encode() for option in ("tell_tales", "insignia")]
    draft = services.draft_change
    made = together([lambda one=one: draft(order=order, boats=one, now=desk.NOW, by=manager, version=order.version) for one in lists])
    assert sorted(type(r).__name__ for r in made) == [Revision.__name__, Stale.__name__], made
    assert Revision.objects.filter(change=True).count() == 1


def test_one_change_signed_twice_at_once_is_signed_once(loft: None, manager: User) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    boats = desk.ONE_BOAT.replace(b"sail_number\n", b"sail_number,options\n").replace(b"214", b"214,no tell_tales")
    change = services.issue(revision=services.draft_change(order=order, boats=boats, now=desk.NOW, by=manager), by=manager, now=desk.NOW)
    token = desk.token_of(change)
    names = [f"Hester {i}" for i in range(3)]
    signed = together([lambda name=name: services.accept(token=token, name=name, now=desk.NOW) for name in names])
    assert {type(one) for one in signed} == {Order}, signed
    assert sorted(Revision.objects.values_list("state", flat=True)) == ["accepted", "replaced"]
    assert (Order.objects.count(), Job.objects.filter(key=f"change_accepted:{change.pk}").count()) == (1, 1)
