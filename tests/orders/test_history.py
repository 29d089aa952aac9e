"""Every write of the desk and the floor stands in the history, in the order in which it was done, with who did it."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client

from loft.common.errors import Conflict, NotAllowed
from loft.common.models import AuditEntry
from loft.common.services import save_loft_profile
from loft.customers import services as customers
from loft.customers.models import Boat, Customer
from loft.orders import selectors as desk_reads
from loft.orders import services
from loft.orders.models import Order, Payment, Revision
from loft.workshop import selectors as floor_reads
from loft.workshop import services as floor
from loft.workshop.models import Ticket
from loft.workshop.states import Need
from tests import desk
from tests.pages.markup import Page, words


def entries() -> list[tuple[str, str, str]]:
    return list(AuditEntry.objects.order_by("pk").values_list("who", "action", "subject"))


def ticket(order: Order, position: int) -> Ticket:
    return floor_reads.ticket(desk_reads.line(order_pk=order.pk, position=position).ticket_id)


def work_through(order: Order, manager: User, cutter: User) -> None:
    """Everything that the desk and the floor can record on an order, once."""
    services.set_due_date(order=order, due_on=desk.TODAY + timedelta(days=40), by=manager)
    services.record_payment(order=order, amount=desk.paper_of(order).totals.deposit, received_on=desk.TODAY, by=manager, now=desk.NOW)
    services.book_cloth(order=order, roll="R-7", lot="1180", by=manager, now=desk.NOW)
    floor.confirm_fit(ticket=ticket(order, 2), fit=desk.FIT, by=manager, now=desk.NOW)
    services.give_sail_number(line=desk_reads.line(order_pk=order.pk, position=2), number="251", by=manager, now=desk.NOW)
    step = floor_reads.step(ticket_pk=ticket(order, 1).pk, position=1)
    floor.start_step(step=step, by=cutter, now=desk.NOW)
    floor.finish_step(step=step, by=cutter, now=desk.NOW)
    floor.record_label(ticket=ticket(order, 1), label_number="SK 1", by=manager, now=desk.NOW)
    floor.scrap(ticket=ticket(order, 2), reason="torn", now=desk.NOW, by=manager)
    services.cancel_order(order=order, reason="withdrawn", now=desk.NOW, by=manager)


def test_the_life_of_an_order(loft: None, manager: User, cutter: User) -> None:
    customer = customers.save_customer(kind="association", name="Tarnhead Club", email="a@tarn.example", buyer="trade", by=manager)
    start = len(entries())
    first = services.issue(revision=desk.draft(customer=customer, by=manager), by=manager, now=desk.NOW)
    second = services.revise(quote=first.quote, on=desk.TODAY, now=desk.NOW, by=manager)
    services.issue(revision=second, by=manager, now=desk.NOW)
    order = services.accept(token=desk.token_of(second), name="Hester Lorne", now=desk.NOW)
    work_through(order, manager, cutter)
    heron, linnet = (f"boat {boat.pk}" for boat in Boat.objects.order_by("pk"))
    assert entries()[start:] == [
        ("manager", "create", heron), ("manager", "create", linnet),
        ("manager", "draft", f"draft {first.quote_id}"), ("manager", "issue", "Q-0001"), ("manager", "revise", "Q-0001"),
        ("manager", "issue", "Q-0001"), ("the customer", "accept", "Q-0001"), ("the customer", "open", "O-0001"),
        ("manager", "promise_day", "O-0001"), ("manager", "record_payment", "O-0001"),
        ("manager", "book_cloth", "O-0001-01"), ("manager", "book_cloth", "O-0001-02"), ("manager", "release", "O-0001-01"),
        ("manager", "confirm_fit", "O-0001-02"), ("manager", "release", "O-0001-02"),
        ("manager", "give_sail_number", linnet), ("manager", "give_sail_number", "O-0001-02"),
        ("cutter", "start_step", "O-0001-01"), ("cutter", "finish_step", "O-0001-01"), ("manager", "record_label", "O-0001-01"),
        ("manager", "scrap", "O-0001-02"), ("manager", "cancel", "O-0001"), ("manager", "scrap", "O-0001-01"),
    ]  # fmt: skip


def test_the_ends_of_a_quote(loft: None, manager: User) -> None:
    taken_back, late, declined = (desk.issued(manager) for _ in range(3))
    services.cancel(revision=taken_back, now=desk.NOW, by=manager)
    services.decline(token=desk.token_of(declined), now=desk.NOW)
    assert services.expire_due(now=desk.NOW + timedelta(days=400)) == 1
    assert entries()[-3:] == [
        ("manager", "cancel", taken_back.quote.reference), ("the customer", "decline", declined.quote.reference),
        ("the service", "expire", late.quote.reference),
    ]  # fmt: skip


def test_what_is_loaded_and_the_loft_itself(loft: None, manager: User) -> None:
    loads = [(who, action) for who, action, _ in entries() if action == "load"]
    assert len(loads) >= 6 and set(loads) == {("the service", "load")}
    fields = {
        "name": "Larkfield", "address": "1 Quay", "email": "loft@larkfield.example", "currency": "GBP", "date_format": "%d %b %Y",
        "public_base_url": "https://loft.example", "time_zone": "Europe/London",
    }  # fmt: skip
    save_loft_profile(by=manager, **fields)
    last = AuditEntry.objects.latest("pk")
    assert (last.who, last.subject_kind) == ("manager", "loftprofile")
    assert (last.before["name"], last.after["name"]) == ("Larkfield Sail Loft", "Larkfield")


def test_a_refused_write_leaves_no_entry(loft: None, manager: User, cutter: User) -> None:
    order = desk.accepted(manager)
    before = entries()
    boat = Boat.objects.order_by("pk")[0]
    refused = [
        lambda: services.cancel_order(order=order, reason="x", now=desk.NOW, by=cutter),
        lambda: services.set_due_date(order=order, due_on=desk.TODAY, by=cutter),
        lambda: services.deliver(order=order, now=desk.NOW, by=cutter),
        lambda: services.give_sail_number(line=desk_reads.line(order_pk=order.pk, position=2), number="9", by=cutter, now=desk.NOW),
        lambda: services.cancel(revision=order.revision, now=desk.NOW, by=cutter),
        lambda: services.revise(quote=order.revision.quote, on=desk.TODAY, now=desk.NOW, by=cutter),
        lambda: desk.draft(by=cutter),
        lambda: services.issue(revision=desk_reads.last_revision(order.revision.quote_id), by=cutter, now=desk.NOW),
        lambda: services.record_payment(order=order, amount=Decimal(1), received_on=desk.TODAY, by=cutter, now=desk.NOW),
        lambda: floor.confirm_fit(ticket=ticket(order, 2), fit=desk.FIT, by=cutter, now=desk.NOW),
        lambda: floor.confirm_options(ticket=ticket(order, 2), by=cutter, now=desk.NOW),
        lambda: floor.scrap(ticket=ticket(order, 2), reason="x", now=desk.NOW, by=cutter),
        lambda: customers.save_customer(kind="person", name="X", buyer="trade", by=cutter),
        lambda: customers.save_boat(pk=boat.pk, name="X", owner="Y", sail_number="", by=cutter),
        lambda: save_loft_profile(by=cutter, name="X"),
    ]
    for write in refused:
        with pytest.raises(NotAllowed):
            write()
    with pytest.raises(Conflict):
        floor.start_step(step=floor_reads.step(ticket_pk=ticket(order, 1).pk, position=1), by=cutter, now=desk.NOW)
    assert entries() == before
    assert (Payment.objects.count(), Revision.objects.count(), Order.objects.get().state) == (0, 1, "open")


def test_the_page_shows_one_quote_order_or_ticket(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    desk.issued(manager, desk.ONE_BOAT)
    services.book_cloth(order=order, roll="R-7", lot="1180", by=manager, now=desk.NOW)
    client = Client()
    client.force_login(manager)
    shown = {
        asked: words(client.get(f"/history/?{asked}").content.decode())
        for asked in ("", f"quote={order.revision.quote_id}", f"ticket={ticket(order, 1).pk}", "about=O-0001")
    }
    assert "Q-0002" in shown[""] and "Hester Lorne" in shown[""]
    assert "Q-0002" not in shown[f"quote={order.revision.quote_id}"] and "the customer" in shown[f"quote={order.revision.quote_id}"]
    assert "R-7" in shown[f"ticket={ticket(order, 1).pk}"] and "Q-0001" not in shown[f"ticket={ticket(order, 1).pk}"]
    assert "O-0001-02" in shown["about=O-0001"] and "accept" not in shown["about=O-0001"]
    assert client.get("/history/?quote=99999999999999999999999999").status_code == 200
    for page in ("/history/", "/people/", "/profile/", "/account/second-step/", f"/boats/{Boat.objects.order_by('pk')[0].pk}/"):
        assert Page(client.get(page).content.decode()).faults == [], page


def test_entries_name_no_person_outside_their_personal_part(loft: None, manager: User, cutter: User) -> None:
    customer = customers.save_customer(kind="person", name="Ines Calder", email="ines@tarn.example", address="3 Staithe", buyer="private")
    order = services.accept(
        token=desk.token_of(services.issue(revision=desk.draft(customer=customer, by=manager), by=manager, now=desk.NOW)),
        name="Hester Lorne", now=desk.NOW,
    )  # fmt: skip
    work_through(order, manager, cutter)
    kept = str(list(AuditEntry.objects.values()))
    for name in ("Ines Calder", "ines@tarn", "Staithe", "Hester", "Maud Pellow", "Morwenna", "Heron", "Linnet", "torn", "withdrawn"):
        assert name not in kept, name
    assert Customer.objects.get().name == "Ines Calder"


def test_a_release_is_an_entry_of_its_own_with_what_it_followed_from(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    services.book_cloth(order=order, roll="R-7", lot="1180", by=manager, now=desk.NOW)
    assert not AuditEntry.objects.filter(action="release").exists()
    services.record_payment(order=order, amount=desk.paper_of(order).totals.deposit, received_on=desk.TODAY, by=manager, now=desk.NOW)
    (entry,) = AuditEntry.objects.filter(action="release")
    held, released = {"state": "held"}, {"state": "released", "met": "deposit"}
    assert (entry.who, entry.subject, entry.before, entry.after) == ("manager", "O-0001-01", held, released)
    assert [t.state for t in Ticket.objects.order_by("pk")] == ["released", "held"]  # the other one's fit is not confirmed
    floor.meet([ticket(order, 1)], Need.LABEL, by="manager", now=desk.NOW, user=manager)
    assert AuditEntry.objects.filter(action="release").count() == 1
