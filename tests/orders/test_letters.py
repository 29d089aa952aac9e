"""What the desk's letters say, and that no name can break out of them."""

from __future__ import annotations

import hashlib
import re
from decimal import Decimal
from email.message import EmailMessage
from html import unescape
from urllib.parse import urlsplit

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from loft.orders import order_changes, selectors, services
from loft.orders.models import Revision
from tests import desk
from tests.documents import reading

NASTY = 'Lorne <img src="file:///etc/passwd" onerror=alert(1)> & "Sons"'


def test_the_quote_goes_to_the_customer_with_its_pdf_and_link(loft: None, manager: User) -> None:
    row = desk.issued(manager)
    letter = desk.sent(f"quote_issued:{row.pk}")
    assert (letter["To"], letter["Subject"]) == ("sails@skerling.example", "Quote Q-0001 from Larkfield Sail Loft")
    assert letter["Reply-To"] == "loft@larkfield.example"
    assert desk.link_in(letter) == f"http://127.0.0.1:8000/accept/{desk.token_of(row)}/"
    attached = list(letter.iter_attachments())
    assert [a.get_filename() for a in attached] == ["quote-Q-0001.pdf"]
    assert hashlib.sha256(attached[0].get_content()).hexdigest() == row.pdf_sha256
    html = letter.get_body(("html",))
    assert html is not None and desk.token_of(row) in html.get_content()


def test_the_confirmation_names_order_and_deposit(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    letter = desk.sent(f"order_accepted:{order.pk}")
    assert letter["Subject"] == "Order O-0001 at Larkfield Sail Loft"
    text = letter.get_body(("plain",))
    assert text is not None
    deposit = f"GBP {desk.paper_of(order).totals.deposit:,}"
    assert all(words in text.get_content().replace("\n", " ") for words in ("O-0001", "Q-0001", "Hester Lorne", deposit))


def test_markup_in_a_name_is_text_in_the_letter(loft: None, manager: User) -> None:
    row = services.issue(revision=desk.draft(desk.ONE_BOAT, customer=desk.association(name=NASTY)), by=manager, now=desk.NOW)
    letter = desk.sent(f"quote_issued:{row.pk}")
    text, html = letter.get_body(("plain",)), letter.get_body(("html",))
    assert text is not None and html is not None
    assert NASTY in text.get_content()
    assert "<img" not in html.get_content()
    assert NASTY in unescape(html.get_content())


@pytest.mark.parametrize("email", ["a@skerling.example\nBcc: all@skerling.example", "a@skerling.example\r\nX-Evil: 1"])
def test_a_line_break_in_an_address_reaches_no_header(loft: None, manager: User, email: str) -> None:
    """Forms and the API refuse such an address; even a row that holds one sends nothing astray."""
    row = services.issue(revision=desk.draft(desk.ONE_BOAT, customer=desk.association(email=email)), by=manager, now=desk.NOW)
    with pytest.raises(LookupError):
        desk.sent(f"quote_issued:{row.pk}")


def test_a_line_break_in_a_loft_name_stays_in_the_subject_line(loft: None, manager: User) -> None:
    from loft.common.models import LoftProfile

    LoftProfile.objects.update(name="Larkfield\nBcc: all@skerling.example")
    row = desk.issued(manager, desk.ONE_BOAT)
    letter = desk.sent(f"quote_issued:{row.pk}")
    assert letter["Bcc"] is None
    assert letter["Subject"] == "Quote Q-0001 from Larkfield Bcc: all@skerling.example"


def test_a_line_break_in_a_stored_name_stays_in_the_subject_line(loft: None, manager: User) -> None:
    """A name is refused with one; a row of an earlier release may hold it, and the owner's wording may put it in the subject."""
    services.word_letter(name="quote_issued", subject="{quote} for {customer}", body="{customer}: {link}", by=manager, now=desk.NOW)
    customer = desk.association(name="Lorne\r\nBcc: all@skerling.example")
    row = services.issue(revision=desk.draft(desk.ONE_BOAT, customer=customer), by=manager, now=desk.NOW)
    letter = desk.sent(f"quote_issued:{row.pk}")
    assert (letter["Bcc"], letter["Subject"]) == (None, "Q-0001 for Lorne Bcc: all@skerling.example")


def test_the_letter_is_written_from_what_is_stored_when_it_is_sent(loft: None, manager: User) -> None:
    row = desk.issued(manager, desk.ONE_BOAT)
    customer = Revision.objects.get(pk=row.pk).quote.customer
    customer.email = "new@skerling.example"
    customer.save()
    assert desk.sent(f"quote_issued:{row.pk}")["To"] == "new@skerling.example"


def _both_parts(letter: EmailMessage) -> list[str]:
    """What the text and the HTML of a letter say, as a reader sees it."""
    plain, html = letter.get_body(("plain",)), letter.get_body(("html",))
    assert plain is not None and html is not None
    shown = unescape(re.sub(r"<[^>]+>", " ", html.get_content()))
    return [" ".join(words.split()) for words in (plain.get_content(), shown)]


def test_a_change_goes_to_the_customer_with_its_pdf_and_a_link_that_opens_it(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    now = timezone.now()  # the page behind the link reads the clock
    boats = order_changes.current_list(order).replace(b"214,,,window", b"214,,,no window")
    change = services.issue(
        revision=services.draft_change(order=order, boats=boats, now=now, by=manager), by=manager, now=now
    )  # fmt: skip
    letter = desk.sent(f"change_issued:{change.pk}")
    assert (letter["To"], letter["Subject"]) == ("sails@skerling.example", "Change of order O-0001: please sign")
    old, new = (f"GBP {minor / 100:,.2f}" for minor in (order.gross_minor, change.gross_minor))
    for words in _both_parts(letter):
        assert f"attached as Q-0001, revision 2, with everything that is new marked. With it order O-0001 comes to {new} with tax" in words
        assert f"before it was {old}" in words
        assert f"http://127.0.0.1:8000/accept/{desk.token_of(change)}/" in words
    (attached,) = letter.iter_attachments()
    assert attached.get_filename() == "quote-Q-0001-revision-2.pdf"
    assert hashlib.sha256(attached.get_content()).hexdigest() == change.pdf_sha256
    page = Client().get(urlsplit(desk.link_in(letter)).path)
    assert (page.status_code, "Change of order O-0001" in page.content.decode()) == (200, True)


def test_a_signed_change_is_confirmed_with_the_order_as_it_stands(loft: None, manager: User) -> None:
    order = desk.accepted(manager)
    services.record_payment(order=order, amount=Decimal(order.gross_minor) / 100, received_on=desk.TODAY, by=manager, now=desk.NOW)
    boats = order_changes.current_list(order).replace(b"window", b"no window")
    change = services.draft_change(order=selectors.order(order.pk), boats=boats, now=desk.NOW, by=manager)
    services.accept(token=desk.token_of(services.issue(revision=change, by=manager, now=desk.NOW)), name="Hester Lorne", now=desk.NOW)
    letter = desk.sent(f"change_accepted:{change.pk}")
    assert (letter["To"], letter["Subject"]) == ("sails@skerling.example", "Order O-0001 is changed")
    total, owed = (f"GBP {minor / 100:,.2f}" for minor in (change.gross_minor, order.gross_minor - change.gross_minor))
    for words in _both_parts(letter):
        assert f"Hester Lorne signed the change Q-0001, revision 2: order O-0001 now comes to {total} with tax; {owed} of what" in words
    (attached,) = letter.iter_attachments()
    assert attached.get_filename() == "order-O-0001.pdf"
    text = reading.text(attached.get_content())
    assert "From quote Q-0001, revision 2" in text
    assert f"Owed back to you {owed.removeprefix('GBP ')}" in text
