"""Personal data: handed over whole, erased everywhere but in the papers that the law asks for, and those when their time is over."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.core.management import call_command
from django.test import Client
from django.utils import timezone

from loft.common.errors import Conflict, NotAllowed, NotFound
from loft.common.models import AuditEntry, AuditPersonal
from loft.customers import services as customers
from loft.customers.models import Boat, Customer
from loft.jobs import services as jobs
from loft.orders import order_changes, paper, personal, personal_export, selectors, services
from loft.orders.models import Order, Revision
from loft.workshop.models import Remake, Ticket
from tests import desk

#: Everything that names somebody: the customer, the members, the boats, who accepted, a reference on a payment.
NAMES = (
    "Tarnhead Sailing Club", "sails@tarnhead.example", "Maud Pellow", "Morwenna Fell", "Linnet", "Hester Lorne", "from Hester",
    "fell@tarnhead.example",
)  # fmt: skip

#: The list, with a member's mail address.
BOATS = desk.TWO_BOATS.replace(b"options\n", b"options,email\n").replace(b"0.75:28,window", b"0.75:28,window,fell@tarnhead.example")


@pytest.fixture
def contract(loft: None, manager: User) -> Order:
    """An accepted order with a payment, and beside it a quote of the same customer that was declined."""
    customer = customers.save_customer(
        kind="association",
        name="Tarnhead Sailing Club",
        email="sails@tarnhead.example",
        address="The Boathouse",
        buyer="trade",
        by=manager,
    )
    now = timezone.now()
    for answer in ("decline", "accept"):
        revision = services.issue(revision=desk.draft(BOATS, customer=customer, by=manager), by=manager, now=now)
        token = desk.token_of(revision)
        if answer == "decline":
            services.decline(token=token, now=now)
    order = services.accept(token=token, name="Hester Lorne", now=now)
    services.record_payment(
        order=order, amount=desk.paper_of(order).totals.deposit, received_on=now.date(), by=manager, now=now, reference="from Hester"
    )
    desk.keep_fit_sheets(order)
    services.confirm_fit(ticket=order.lines.get(position=2).ticket, by=manager, now=now)
    Remake.objects.create(
        ticket=order.lines.get(position=1).ticket, cloth_code="DW170", parts=["P1"], reason="Hester Lorne trod on it", asked_at=now
    )
    services.write_to_members(order=order, by=manager, now=now)
    jobs.run_ready(lane="mail")
    return order


def closed(order: Order, manager: User) -> Order:
    services.cancel_order(order=order, reason="the season is over for Hester Lorne", now=timezone.now(), by=manager)
    return Order.objects.get(pk=order.pk)


def found() -> set[tuple[str, str]]:
    """Where in the whole database a name stands: (model and column, name)."""
    hits = set()
    for model in apps.get_models():
        for row in model._default_manager.all().values():
            for column, value in row.items():
                text = bytes(value).decode("latin-1") if isinstance(value, bytes | memoryview) else str(value)
                hits |= {(f"{model.__name__}.{column}", name) for name in NAMES if name in text}
    return hits


def columns() -> set[str]:
    return {where for where, _ in found()}


def test_the_search_of_this_test_finds_what_it_is_for(contract: Order) -> None:
    assert {name for _, name in found()} == set(NAMES)
    expected = {
        "Customer.name", "Boat.owner", "Boat.email", "Revision.snapshot", "Revision.boats", "OrderLine.owner", "Ticket.sail",
        "Ticket.fit", "FitDetail.taken_by", "Job.sent_to",
    }  # fmt: skip
    assert expected | {"AuditPersonal.after"} <= columns()
    assert not {where for where in columns() if where.startswith("AuditEntry.")}


def test_only_the_papers_of_contracts_are_left(contract: Order, manager: User) -> None:
    closed(contract, manager)
    figures = list(Revision.objects.order_by("pk").values("state", "net_minor", "gross_minor", "pdf_sha256"))
    done = personal.erase(customer=contract.customer, by=manager, now=timezone.now())
    assert (done.boats, done.revisions, done.tickets, done.kept) == (2, 1, 2, 1)
    assert columns() == {"Revision.snapshot", "Revision.boats", "Revision.accepted_name"}
    assert {r.pk for r in Revision.objects.exclude(snapshot=b"")} == {contract.revision_id}
    assert list(Revision.objects.order_by("pk").values("state", "net_minor", "gross_minor", "pdf_sha256")) == figures
    assert bytes(Revision.objects.get(pk=contract.revision_id).pdf or b"").startswith(b"%PDF-")
    customer = Customer.objects.get()
    assert (customer.name, customer.email, customer.address) == (f"erased {customer.pk}", "", "")
    assert not Boat.objects.exists()
    entry = AuditEntry.objects.get(action="erase")
    assert (entry.who, entry.subject, entry.after) == ("manager", f"customer {customer.pk}", {"boats": 2, "revisions": 1, "kept": 1})
    assert not AuditPersonal.objects.exists()


def test_when_the_retention_is_over_nothing_is_left(
    contract: Order, manager: User, settings: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    closed(contract, manager)
    personal.erase(customer=contract.customer, by=manager, now=timezone.now())
    call_command("erase_past_retention")
    assert "papers of 0 contracts, 0 customers" in capsys.readouterr().out
    assert columns()
    Order.objects.update(cancelled_at=timezone.now() - timedelta(days=366 * settings.LOFT_RETENTION_YEARS))
    call_command("erase_past_retention")
    assert "papers of 1 contracts, 0 customers" in capsys.readouterr().out
    assert found() == set()
    assert Revision.objects.get(pk=contract.revision_id).pdf_sha256 != ""
    with pytest.raises(NotFound, match="was erased"):
        paper.thaw(Revision.objects.get(pk=contract.revision_id))


def test_a_customer_with_nothing_newer_than_the_retention_is_erased_unasked(contract: Order, manager: User, settings: Any) -> None:
    closed(contract, manager)
    recent = customers.save_customer(kind="person", name="Ines Calder", buyer="private")
    desk.draft(desk.ONE_BOAT.replace(b"Heron,Maud Pellow,214", b"Wagtail,Ines Calder,240"), customer=recent)
    ago = timezone.now() - timedelta(days=366 * settings.LOFT_RETENTION_YEARS)
    Order.objects.update(cancelled_at=ago, opened_at=ago)
    Revision.objects.filter(quote__customer=contract.customer).update(drafted_at=ago)
    Revision.objects.filter(quote__customer=recent).update(drafted_at=timezone.now())
    assert personal.erase_past_retention(now=timezone.now()) == (1, 1)
    assert found() == set()
    assert Customer.objects.get(pk=recent.pk).name == "Ines Calder"
    assert Boat.objects.get().owner == "Ines Calder"


def test_nothing_is_erased_while_something_is_open_or_by_somebody_else(contract: Order, manager: User, cutter: User) -> None:
    before = found()
    with pytest.raises(Conflict, match="first cancel or finish what is open: O-0001"):
        personal.erase(customer=contract.customer, by=manager, now=timezone.now())
    with pytest.raises(NotAllowed):
        personal.erase(customer=contract.customer, by=cutter, now=timezone.now())
    with pytest.raises(NotAllowed):
        personal_export.export(customer=contract.customer, by=cutter)
    assert found() == before


def test_erasing_by_its_page(contract: Order, manager: User) -> None:
    closed(contract, manager)
    client = Client()
    client.force_login(manager)
    address = f"/customers/{contract.customer_id}/erase/"
    client.post(address)
    assert Customer.objects.get().erased_at is None
    assert client.post(address, {"sure": "1", "version": "99"}).status_code == 409
    assert client.post(address, {"sure": "1", "version": "1"}).status_code == 302
    assert Customer.objects.get().erased_at is not None
    assert client.post(address, {"sure": "1"}).status_code == 409
    # What is left still opens, or says that it was erased.
    ticket, quotes = Ticket.objects.order_by("pk")[0], Revision.objects.order_by("pk").values_list("quote", flat=True)
    for page, status in (
        ("/", 200), ("/quotes/", 200), (f"/quotes/{quotes[0]}/", 404), (f"/quotes/{quotes[1]}/", 200), (f"/orders/{contract.pk}/", 200),
        (f"/tickets/{ticket.pk}/", 200), (f"/tickets/{ticket.pk}/cutter.pdf", 200), ("/history/", 200), ("/api/quotes/", 200),
        (f"/api/orders/{contract.pk}/", 200),
    ):  # fmt: skip
        assert client.get(page).status_code == status, page


def test_everything_is_handed_over(contract: Order, manager: User) -> None:
    packed = zipfile.ZipFile(io.BytesIO(personal_export.export(customer=contract.customer, by=manager)))
    tables = json.loads(packed.read("data.json"))
    assert {name: len(rows) for name, rows in tables.items()} == {
        "customer": 1, "boats": 2, "measurements": 2, "fit_sheets": 6, "revisions": 2, "orders": 1, "sails": 2, "member_letters": 1,
        "finished_measurements": 0, "sold_as_non_class": 0,
        "payments": 1, "history": 1,
    }  # fmt: skip
    assert tables["customer"][0]["email"] == "sails@tarnhead.example"
    assert tables["payments"][0]["reference"] == "from Hester"
    for name, rows in tables.items():
        read = list(csv.DictReader(io.StringIO(packed.read(f"{name}.csv").decode())))
        assert [set(r) for r in read] == [set(r) for r in rows], name
    assert packed.read("papers/Q-0002-revision-1.pdf") == bytes(contract.revision.pdf or b"")


def test_changes_and_what_was_paid_back_are_handed_over_too(contract: Order, manager: User) -> None:
    now, boats = timezone.now(), order_changes.current_list(contract)
    services.record_payment(
        order=contract, amount=Decimal(contract.gross_minor) / 100 - desk.paper_of(contract).totals.deposit, received_on=now.date(),
        by=manager, now=now,
    )  # fmt: skip
    draft = services.draft_change(
        order=selectors.order(contract.pk), boats=boats.replace(b"window", b"no window"), now=now, by=manager
    )  # fmt: skip
    signed = services.issue(revision=draft, by=manager, now=now)
    services.accept(token=desk.token_of(signed), name="Hester Lorne", now=now)
    owed = Decimal(contract.gross_minor - signed.gross_minor) / 100
    services.record_refund(order=contract, amount=owed, paid_on=now.date(), by=manager, now=now)
    packed = zipfile.ZipFile(io.BytesIO(personal_export.export(customer=contract.customer, by=manager)))
    tables = json.loads(packed.read("data.json"))
    told = [(r["revision"], r["state"], r["change"], r["accepted_name"], bool(r["replaced_at"])) for r in tables["revisions"][1:]]
    assert told == [(1, "replaced", False, "Hester Lorne", True), (2, "accepted", True, "Hester Lorne", False)]
    assert tables["payments"][-1]["amount_minor"] == -int(owed * 100)
    assert packed.read("papers/Q-0002-revision-2.pdf") == bytes(signed.pdf or b"")


def test_a_name_that_a_spreadsheet_would_run_is_marked_as_text(loft: None, manager: User) -> None:
    made = customers.save_customer(kind="person", name='=HYPERLINK("https://x.example")', buyer="private")
    packed = zipfile.ZipFile(io.BytesIO(personal_export.export(customer=made, by=manager)))
    assert "'=HYPERLINK" in packed.read("customer.csv").decode()
    assert json.loads(packed.read("data.json"))["customer"][0]["name"].startswith("=HYPERLINK")


def test_a_members_address_is_handed_over_and_erased_from_the_contract_too(contract: Order, manager: User) -> None:
    tables = json.loads(zipfile.ZipFile(io.BytesIO(personal_export.export(customer=contract.customer, by=manager))).read("data.json"))
    assert [boat["email"] for boat in tables["boats"]] == ["", "fell@tarnhead.example"]
    closed(contract, manager)
    before = Revision.objects.get(pk=contract.revision_id)
    personal.erase(customer=contract.customer, by=manager, now=timezone.now())
    after = Revision.objects.get(pk=contract.revision_id)
    assert "Linnet,Morwenna Fell" in after.boats and "fell@tarnhead.example" not in after.boats
    assert bytes(after.snapshot) == bytes(before.snapshot)
    assert [name for where, name in found() if name == "fell@tarnhead.example"] == []
