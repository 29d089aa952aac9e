"""The papers of an order and of a revision, read back from the PDF alone."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from costing.errors import InputError
from costing.quote import TaxLine
from loft.catalogue import services as catalogue
from loft.common import selectors as common
from loft.orders import order_papers, paper, selectors, services
from loft.orders.models import Order, Payment, Revision
from tests import desk, skerling
from tests.documents import reading


@pytest.fixture
def order(loft: None, manager: User) -> Order:
    return selectors.order(desk.accepted(manager).pk)


def _pay(order: Order, amount: str | Decimal, by: User) -> Payment:
    return services.record_payment(order=order, amount=Decimal(amount), received_on=desk.TODAY, by=by, now=desk.NOW, reference="BACS 17")


def _deposit(order: Order) -> Decimal:
    return Decimal(order.deposit_minor) / 100


def _words(minor: int) -> str:
    return f"{Decimal(minor) / 100:,.2f}"


def test_the_confirmation_says_what_was_accepted_and_what_is_missing(order: Order) -> None:
    text = reading.text(order_papers.confirmation_pdf(order, common.loft_profile()))
    for words in (
        f"Order confirmation {order.reference}", "Hester Lorne", "O-0001-01", "Heron 214", "Linnet (number to follow)", "held",
        _words(order.gross_minor), _words(order.deposit_minor), "sail number, from Morwenna Fell",
    ):  # fmt: skip
        assert words in text, words


def test_a_cancelled_order_is_stamped(order: Order, manager: User) -> None:
    services.cancel_order(order=order, reason="the fleet was sold", now=desk.NOW, by=manager)
    text = reading.text(order_papers.confirmation_pdf(selectors.order(order.pk), common.loft_profile()))
    assert "CANCELLED" in text


# VAT fraction: at 20 % the tax in an amount with tax is one sixth of it (HMRC, VAT guide, Notice 700, section 30; from memory).
@pytest.mark.parametrize(
    ("received", "rates", "taxes"),
    [
        ("1200.00", [("S", "0.2", "1000", "200")], ["200.00"]),
        ("100.00", [("S", "0.2", "1000", "200")], ["16.67"]),
        ("0.01", [("S", "0.2", "1000", "200")], ["0.00"]),
        # half of the gross bears 20 %, half bears nothing
        ("600.00", [("S", "0.2", "1000", "200"), ("Z", "0", "1200", "0")], ["50.00", "0.00"]),
    ],
)
def test_the_tax_within_a_payment(received: str, rates: list[tuple[str, str, str, str]], taxes: list[str]) -> None:
    lines = tuple(TaxLine(code, code, Decimal(f), Decimal(net), Decimal(tax)) for code, f, net, tax in rates)
    found = order_papers.tax_within(Decimal(received), lines, "GBP")
    assert [str(t.tax) for t in found] == taxes
    assert sum(t.taxable + t.tax for t in found) == Decimal(received)


def test_a_receipt_has_its_own_number_and_the_day_as_tax_point(order: Order, manager: User) -> None:
    deposit = _deposit(order)
    first, second = _pay(order, deposit, manager), _pay(order, "10.00", manager)
    text = reading.text(order_papers.receipt_pdf(selectors.payment(order_pk=order.pk, pk=first.pk), common.loft_profile()))
    assert f"{order.reference}-P1" in text
    assert f"received as deposit for order {order.reference}" in text
    assert "tax point" in text
    assert "no invoice" in text
    assert f"{deposit / 6:,.2f}" in text  # one sixth, as above
    later = reading.text(order_papers.receipt_pdf(selectors.payment(order_pk=order.pk, pk=second.pk), common.loft_profile()))
    assert f"{order.reference}-P2" in later
    assert "received as payment" in later
    letter = desk.sent(f"payment_received:{first.pk}")
    assert letter["Subject"] == f"Receipt {order.reference}-P1 from Larkfield Sail Loft"
    assert [part.get_filename() for part in letter.iter_attachments()] == [f"receipt-{order.reference}-P1.pdf"]


@pytest.mark.parametrize("first", ["0", "100.00"])
def test_a_payment_larger_than_what_is_open_is_refused(order: Order, manager: User, first: str) -> None:
    if Decimal(first):
        _pay(order, first, manager)
    still = Decimal(order.gross_minor) / 100 - Decimal(first)
    with pytest.raises(InputError) as refused:
        _pay(order, still + Decimal("0.01"), manager)
    (problem,) = refused.value.problems
    assert (problem.code, f"GBP {still:,} is still open" in problem.message) == ("too_much", True)
    assert Payment.objects.count() == (1 if Decimal(first) else 0)
    _pay(order, still, manager)


@pytest.mark.parametrize("deposit", ["1.01", "100", "-0.1"])
def test_terms_cannot_ask_a_deposit_larger_than_the_order(loft: None, deposit: str) -> None:
    text = skerling.text("larkfield_2026.toml")
    wrong = re.sub(r"(?m)^deposit = \S+", f"deposit = {deposit}", text)
    assert wrong != text
    with pytest.raises(InputError) as refused:
        catalogue.load_house(text=wrong)
    assert {p.path.rpartition(".")[2] for p in refused.value.problems} == {"deposit"}


def test_the_delivery_note_names_what_leaves_and_no_price(order: Order, manager: User) -> None:
    lines = list(order.lines.all())
    lines[0].ticket.__class__.objects.filter(pk=lines[0].ticket_id).update(
        state="ready", released_at=desk.NOW, started_at=desk.NOW, ready_at=desk.NOW, label_number="SK 0471", lot="1180"
    )
    text = reading.text(order_papers.delivery_note_pdf(selectors.order(order.pk), common.loft_profile()))
    for words in ("Heron 214", "SK 0471", "1180", "1 of 2", "Still to come: Linnet (number to follow)"):
        assert words in text, words
    assert _words(lines[0].net_minor) not in text
    assert _words(order.gross_minor) not in text


def test_a_revision_marks_what_is_new(loft: None, manager: User) -> None:
    first = desk.issued(manager)
    boats = desk.TWO_BOATS.replace(b"Linnet,Morwenna Fell,to follow", b"Linnet,Morwenna Fell,77") + b"Wren,Ansel Roe,31,,,\n"
    services.revise(quote=first.quote, boats=boats, on=desk.TODAY, now=desk.NOW, by=manager)
    second = services.issue(revision=selectors.last_revision(first.quote_id), by=manager, now=desk.NOW)
    text = reading.text(bytes(second.pdf or b""))
    assert "What is new since revision 1" in text
    assert "Linnet 77 sail number to follow 77" in text
    assert "Wren 31 added" in text
    assert "total with tax " + _words(first.gross_minor) + " " + _words(second.gross_minor) in text
    old = Revision.objects.select_related("quote__customer").get(pk=first.pk)
    assert "What is new" not in reading.text(bytes(old.pdf or b""))


def test_a_reprint_of_what_no_longer_holds_is_stamped_and_has_no_link(loft: None, manager: User) -> None:
    first = desk.issued(manager)
    link, sent = desk.token_of(first), bytes(first.pdf or b"")
    assert paper.quote_pdf(first, common.loft_profile()) == sent
    services.revise(quote=first.quote, on=desk.TODAY, now=desk.NOW, by=manager)
    row = Revision.objects.select_related("quote__customer").get(pk=first.pk)
    reprint = paper.quote_pdf(row, common.loft_profile())
    for words in reading.page_words(reprint):
        assert "SUPERSEDED" in words
    text = reading.text(reprint)
    assert link[:20] not in text
    assert f"Quote {first.quote.reference}" in text
    assert _words(first.gross_minor) in text
    assert bytes(row.pdf or b"") == sent  # what was sent is kept as it was
    draft = selectors.last_revision(first.quote_id)
    assert "SUPERSEDED" not in reading.text(paper.quote_pdf(draft, common.loft_profile()))
