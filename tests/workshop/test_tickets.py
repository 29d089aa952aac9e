"""What holds a ticket, what releases it, and its way through the steps."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from costing.errors import InputError
from costing.quote import snapshot
from loft.common import policies
from loft.common import selectors as common
from loft.common.errors import Conflict
from loft.common.services import give_role
from loft.orders import selectors as desk_reads
from loft.orders import services as desk_writes
from loft.orders.models import Order
from loft.workshop import paper, selectors, services
from loft.workshop.models import Requirement, Ticket
from loft.workshop.states import TICKET, Need, TicketState
from tests import desk

MOVES = [
    ("held", {"released", "scrapped"}),
    ("released", {"in_work", "held", "scrapped"}),
    ("in_work", {"ready", "scrapped"}),
    ("ready", {"scrapped"}),
    ("scrapped", set()),
]


@pytest.mark.parametrize(("old", "new"), MOVES)
def test_a_ticket_moves_only_where_the_table_says(old: str, new: set[str]) -> None:
    assert {state.value for state in TicketState if TICKET.allows(old, state)} == new


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    """Two sails: Heron 214 by the pattern, Linnet a variant with its number to follow."""
    return desk.accepted(manager)


def _states(order: Order) -> list[str]:
    return [line.ticket.state for line in desk_reads.order(order.pk).lines.all()]


def _missing(order: Order, position: int) -> list[tuple[str, str]]:
    row = desk_reads.line(order_pk=order.pk, position=position).ticket
    return [(m.kind, m.holds) for m in selectors.waiting_for(selectors.ticket(row.pk))]


def _pay(order: Order, by: User, minor: int | None = None) -> None:
    """Record the whole deposit, or so many minor units."""
    amount = Decimal(order.deposit_minor if minor is None else minor) / 100
    desk_writes.record_payment(order=order, amount=amount, received_on=desk.TODAY, by=by, now=desk.NOW)


def test_a_sheet_is_stamped_held_only_while_its_start_is_held(order: Order, manager: User) -> None:
    """Number and class label hold a step and the end: the sheet names them without stopping the cutter."""
    profile = common.loft_profile()
    before = paper.ticket_document(selectors.ticket(_ticket(order, 2).pk), profile, now=desk.NOW)
    asked = [w.split(", ask")[0].rpartition(": ")[2] for w in before.waiting_for]
    assert asked == ["deposit", "fit details confirmed", "roll and lot set aside"]
    _pay(order, manager)
    desk_writes.book_cloth(order=order, roll="R-7", lot="1180", by=manager, now=desk.NOW)
    services.confirm_fit(ticket=_ticket(order, 2), fit=desk.FIT, by=manager, now=desk.NOW)
    after = paper.ticket_document(selectors.ticket(_ticket(order, 2).pk), profile, now=desk.NOW)
    assert after.waiting_for == ()
    assert [w.split(",")[0] for w in after.still_due] == ["sail number", "class label (C.6.7)"]
    assert after.still_due[1].endswith("ask the Skerling 13 class, before the sail is ready")


def _ticket(order: Order, position: int) -> Ticket:
    return desk_reads.line(order_pk=order.pk, position=position).ticket


def test_what_each_sail_waits_for_at_first(order: Order) -> None:
    assert _missing(order, 1) == [("deposit", "release"), ("cloth", "release"), ("label", "ready")]
    assert _missing(order, 2) == [
        ("deposit", "release"),
        ("fit", "release"),
        ("cloth", "release"),
        ("number", "its step"),
        ("label", "ready"),
    ]


def test_a_standard_sail_is_released_by_deposit_and_cloth_and_a_variant_by_its_fit_too(order: Order, manager: User) -> None:
    _pay(order, manager)
    assert _states(order) == ["held", "held"]
    assert desk_writes.book_cloth(order=order, roll="R-7", lot="1180", by=manager, now=desk.NOW) == 1
    assert _states(order) == ["released", "held"]
    services.confirm_fit(ticket=_ticket(order, 2), fit=desk.FIT, by=manager, now=desk.NOW)
    assert _states(order) == ["released", "released"]  # the number to follow holds only its own step
    assert _ticket(order, 2).released_at == desk.NOW


def test_a_penny_short_of_the_deposit_releases_nothing_and_the_penny_does(order: Order, manager: User) -> None:
    desk_writes.book_cloth(order=order, roll="R-7", lot="1180", by=manager, now=desk.NOW)
    _pay(order, manager, order.deposit_minor - 1)
    assert _states(order) == ["held", "held"]
    _pay(order, manager, 1)
    assert _states(order) == ["released", "held"]


@pytest.mark.parametrize("amount", ["0", "-1", "10.005"])
def test_an_amount_that_is_none_is_refused(order: Order, manager: User, amount: str) -> None:
    with pytest.raises(InputError):
        desk_writes.record_payment(order=order, amount=Decimal(amount), received_on=desk.TODAY, by=manager, now=desk.NOW)
    assert order.payments.count() == 0


def test_a_late_number_goes_to_ticket_line_and_sheet_and_says_where_its_characters_go(order: Order, manager: User) -> None:
    line = desk_reads.line(order_pk=order.pk, position=2)
    assert snapshot.thaw_sail(bytes(line.ticket.sail)).numbers is None
    desk_writes.give_sail_number(line=line, number=" 251 ", by=manager, now=desk.NOW)
    kept = desk_reads.line(order_pk=order.pk, position=2)
    numbers = snapshot.thaw_sail(bytes(kept.ticket.sail)).numbers
    assert numbers is not None
    # Racing Rules of Sailing, Appendix G1.2: characters at least 300 mm high on a hull of 3.5 to 8.5 m
    assert (numbers.text, numbers.height_mm) == ("251", 300.0)
    assert (kept.label, kept.ticket.sail_label, kept.ticket.sail_number) == ("Linnet 251", "Linnet 251", "251")
    sheet = paper.ticket_document(selectors.ticket(kept.ticket_id), common.loft_profile(), now=desk.NOW)
    assert sheet.sail.label == "Linnet 251"
    with pytest.raises(Conflict, match="already has"):
        desk_writes.give_sail_number(line=kept, number="252", by=manager, now=desk.NOW)


def test_a_number_of_another_owner_is_refused(order: Order, manager: User) -> None:
    line = desk_reads.line(order_pk=order.pk, position=2)
    with pytest.raises(Conflict, match="Maud Pellow"):
        desk_writes.give_sail_number(line=line, number="214", by=manager, now=desk.NOW)
    assert _ticket(order, 2).sail_number is None


def test_no_step_begins_on_a_held_ticket(order: Order, cutter: User) -> None:
    step = selectors.step(ticket_pk=_ticket(order, 1).pk, position=1)
    with pytest.raises(Conflict, match="held"):
        services.start_step(step=step, by=cutter, now=desk.NOW)
    assert selectors.step(ticket_pk=step.ticket_id, position=1).started_at is None


def _released(order: Order, manager: User) -> None:
    _pay(order, manager)
    desk_writes.book_cloth(order=order, roll="R-7", lot="1180", by=manager, now=desk.NOW)
    services.confirm_fit(ticket=_ticket(order, 2), fit=desk.FIT, by=manager, now=desk.NOW)


def test_the_step_of_the_numbers_waits_for_them_and_the_rest_goes_on(order: Order, manager: User, cutter: User) -> None:
    give_role(user=cutter, role=policies.SEWER)
    _released(order, manager)
    ticket = selectors.ticket(_ticket(order, 2).pk)
    waiting = [s for s in ticket.steps.all() if s.needs_number]
    assert [s.operation for s in waiting] == ["numbers"]
    services.start_step(step=selectors.step(ticket_pk=ticket.pk, position=1), by=cutter, now=desk.NOW)
    with pytest.raises(Conflict, match="sail number"):
        services.start_step(step=waiting[0], by=cutter, now=desk.NOW)
    desk_writes.give_sail_number(line=desk_reads.line(order_pk=order.pk, position=2), number="251", by=manager, now=desk.NOW)
    services.start_step(step=waiting[0], by=cutter, now=desk.NOW)
    assert _ticket(order, 2).state == "in_work"


def test_the_last_step_makes_it_ready_only_with_its_class_label(order: Order, manager: User, cutter: User) -> None:
    give_role(user=cutter, role=policies.SEWER)
    _released(order, manager)
    ticket = selectors.ticket(_ticket(order, 1).pk)
    steps = list(ticket.steps.all())
    for step in steps:
        services.start_step(step=step, by=cutter, now=desk.NOW)
    for step in steps[:-1]:
        services.finish_step(step=step, by=cutter, now=desk.NOW + timedelta(hours=1))
    with pytest.raises(Conflict, match="class label"):
        services.finish_step(step=steps[-1], by=cutter, now=desk.NOW + timedelta(hours=2))
    assert selectors.step(ticket_pk=ticket.pk, position=steps[-1].position).finished_at is None
    services.record_label(ticket=ticket, label_number="SK 0471", by=manager, now=desk.NOW)
    services.finish_step(step=steps[-1], by=cutter, now=desk.NOW + timedelta(hours=2))
    done = _ticket(order, 1)
    assert (done.state, done.ready_at, done.label_number) == ("ready", desk.NOW + timedelta(hours=2), "SK 0471")


def test_a_step_is_started_and_finished_once(order: Order, manager: User, cutter: User) -> None:
    _released(order, manager)
    step = selectors.step(ticket_pk=_ticket(order, 1).pk, position=1)
    with pytest.raises(Conflict, match="not in work"):
        services.finish_step(step=step, by=cutter, now=desk.NOW)
    services.start_step(step=step, by=cutter, now=desk.NOW)
    with pytest.raises(Conflict, match="already"):
        services.start_step(step=step, by=manager, now=desk.NOW)
    services.finish_step(step=step, by=cutter, now=desk.NOW, metres_used=Decimal("11.25"))
    kept = _ticket(order, 1)
    assert (kept.metres_used, selectors.step(ticket_pk=kept.pk, position=1).finished_by) == (Decimal("11.250"), cutter)


def test_one_lot_a_sail_once_cutting_has_begun(order: Order, manager: User, cutter: User) -> None:
    _released(order, manager)
    ticket = _ticket(order, 1)
    services.book_cloth(tickets=[ticket], roll="R-8", lot="1181", by=manager, now=desk.NOW)  # before cutting it may still change
    services.start_step(step=selectors.step(ticket_pk=ticket.pk, position=1), by=cutter, now=desk.NOW)
    with pytest.raises(Conflict, match="lot stays"):
        services.book_cloth(tickets=[_ticket(order, 1)], roll="R-9", lot="1182", by=manager, now=desk.NOW)
    assert (_ticket(order, 1).roll, _ticket(order, 1).lot) == ("R-8", "1181")


def test_cutting_that_began_meanwhile_keeps_its_lot(order: Order, manager: User, cutter: User) -> None:
    _released(order, manager)
    stale = _ticket(order, 1)
    services.start_step(step=selectors.step(ticket_pk=stale.pk, position=1), by=cutter, now=desk.NOW)
    with pytest.raises(Conflict, match="meanwhile"):
        services.book_cloth(tickets=[stale], roll="R-9", lot="1182", by=manager, now=desk.NOW)
    assert _ticket(order, 1).lot == "1180"


def test_a_scrapped_sail_says_why_and_takes_no_more_work(order: Order, manager: User) -> None:
    with pytest.raises(InputError):
        services.scrap(ticket=_ticket(order, 1), reason=" ", now=desk.NOW)
    services.scrap(ticket=_ticket(order, 1), reason="cut from the wrong lot", now=desk.NOW)
    scrapped = _ticket(order, 1)
    assert (scrapped.state, scrapped.scrap_reason) == ("scrapped", "cut from the wrong lot")
    with pytest.raises(Conflict):
        services.confirm_fit(ticket=scrapped, fit=desk.FIT, by=manager, now=desk.NOW)


def test_the_order_reads_its_progress_upwards(order: Order, manager: User, cutter: User) -> None:
    assert desk_reads.board_row(desk_reads.order(order.pk)).progress == "waiting"
    _released(order, manager)
    assert desk_reads.board_row(desk_reads.order(order.pk)).progress == "released"
    services.start_step(step=selectors.step(ticket_pk=_ticket(order, 1).pk, position=1), by=cutter, now=desk.NOW)
    (row,) = desk_reads.order_board()
    assert (row.progress, row.by_state, row.sails) == ("in work", (("released", 1), ("in work", 1)), 2)
    assert row.paid_minor == order.deposit_minor
    assert [(m.ticket, m.kind) for m in row.missing] == [("O-0001-01", "label"), ("O-0001-02", "number"), ("O-0001-02", "label")]


def test_an_order_is_delivered_when_every_sail_is_ready(order: Order, manager: User) -> None:
    with pytest.raises(Conflict, match="O-0001-01, O-0001-02"):
        desk_writes.deliver(order=order, now=desk.NOW)
    desk_writes.cancel_order(order=order, reason="class folded", now=desk.NOW)
    assert _states(order) == ["scrapped", "scrapped"]
    with pytest.raises(Conflict):
        _pay(order, manager)


@pytest.mark.parametrize(
    ("what", "fields"),
    [
        ("released without the moment", {"state": "released"}),
        ("held with a moment of release", {"released_at": desk.NOW}),
        ("ready without the moment", {"state": "ready", "released_at": desk.NOW, "started_at": desk.NOW}),
        ("scrapped without the moment", {"state": "scrapped"}),
        ("an unknown state", {"state": "lost"}),
    ],
)
def test_the_database_refuses_stamps_that_do_not_fit_the_state(order: Order, what: str, fields: dict[str, object]) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Ticket.objects.filter(pk=_ticket(order, 1).pk).update(**fields)
    assert _ticket(order, 1).state == "held", what


def test_a_need_stands_once_on_a_ticket(order: Order) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Requirement.objects.create(ticket=_ticket(order, 1), kind=Need.CLOTH, asked="x", wording="x")
    assert Requirement.objects.filter(ticket=_ticket(order, 1), kind=Need.CLOTH).count() == 1


def test_due_days_are_copied_to_the_floor(order: Order) -> None:
    desk_writes.set_due_date(order=order, due_on=desk.TODAY + timedelta(weeks=6))
    assert {t.due_on for t in Ticket.objects.all()} == {desk.TODAY + timedelta(weeks=6)}
