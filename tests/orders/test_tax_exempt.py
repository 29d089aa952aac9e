"""A customer who is charged no tax: nothing on any item, the reason on the papers, and drafts alone follow a change."""

from __future__ import annotations

import io
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client
from pypdf import PdfReader

from loft.common import selectors as common
from loft.common.models import AuditEntry
from loft.customers import services as customers
from loft.customers.models import Customer
from loft.orders import paper, services
from tests import desk

REASON = "charity, certificate 4711"


@pytest.fixture
def exempt(loft: None, manager: User) -> Customer:
    fields = {"kind": "association", "name": "Charity Club", "email": "c@club.example", "buyer": "private"}
    return customers.save_customer(**fields, tax_exempt=REASON, by=manager)


def test_nothing_is_charged_on_sails_or_on_what_is_passed_on(exempt: Customer, manager: User) -> None:
    batch = paper.thaw(desk.draft(customer=exempt, by=manager))
    taxed = paper.thaw(desk.draft(desk.TWO_BOATS.replace(b"214", b"314").replace(b"Heron", b"Teal").replace(b"Linnet", b"Smew"),
                                  customer=desk.association(name="B", buyer="private"), by=manager))  # fmt: skip
    (line,) = batch.totals.taxes
    assert (line.code, line.label, line.fraction, line.tax) == ("E", f"exempt: {REASON}", 0, 0)
    assert (batch.totals.net, batch.totals.gross) == (taxed.totals.net, taxed.totals.net)
    assert taxed.totals.gross > taxed.totals.net
    assert all(item.shown_unit_price == item.unit_price for sail in batch.sails for item in sail.items)


def test_the_paper_says_why_and_it_is_issued(exempt: Customer, manager: User) -> None:
    row = services.issue(revision=desk.draft(customer=exempt, by=manager), by=manager, now=desk.NOW)
    pages = PdfReader(io.BytesIO(paper.quote_pdf(row, common.loft_profile()))).pages
    assert REASON in " ".join(" ".join(page.extract_text().split()) for page in pages)


def test_what_was_issued_stays_and_a_revision_follows(exempt: Customer, manager: User) -> None:
    row = services.issue(revision=desk.draft(customer=exempt, by=manager), by=manager, now=desk.NOW)
    fields = {"kind": "association", "name": "Charity Club", "email": "c@club.example", "buyer": "private"}
    customers.save_customer(pk=exempt.pk, **fields, tax_exempt="", by=manager)
    row.refresh_from_db()
    assert paper.thaw(row).totals.tax == 0
    again = services.revise(quote=row.quote, on=desk.TODAY, now=desk.NOW, by=manager)
    assert paper.thaw(again).totals.taxes[0].fraction == Decimal("0.2")
    assert AuditEntry.objects.filter(action="change").latest("pk").after["tax_exempt"] == ""


def test_a_change_that_does_not_name_it_keeps_it(exempt: Customer, manager: User) -> None:
    customers.save_customer(pk=exempt.pk, kind="association", name="New Name", email="c@club.example", buyer="private", by=manager)
    exempt.refresh_from_db()
    assert (exempt.name, exempt.tax_exempt) == ("New Name", REASON)


def test_the_form_keeps_it(exempt: Customer, manager: User, client: Client) -> None:
    client.force_login(manager)
    address = f"/customers/{exempt.pk}/"
    assert REASON in client.get(address).content.decode()
    form = {"kind": "association", "name": "Charity Club", "email": "c@club.example", "address": "", "buyer": "private", "back": "/",
            "version": str(exempt.version)}  # fmt: skip
    assert client.post(address, form | {"tax_exempt": "x" * 121}).status_code == 400
    assert client.post(address, form | {"tax_exempt": "embassy"}).status_code == 302
    exempt.refresh_from_db()
    assert exempt.tax_exempt == "embassy"
