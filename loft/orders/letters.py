"""The letters of the desk: written when they are sent, from what is stored."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils.html import format_html, format_html_join
from django.utils.safestring import mark_safe

from costing import money
from loft.common import selectors as common
from loft.common.models import LoftProfile
from loft.jobs.mail import About, Letter, about, letter
from loft.orders import links, order_papers, selectors
from loft.orders.models import Order, Revision


@letter("quote_issued")
def quote_issued(payload: dict[str, Any]) -> Letter:
    """To the customer: the quote as PDF, and the link by which it can be accepted."""
    revision = Revision.objects.select_related("quote__customer", "link").get(pk=payload["revision"])
    profile, quote = common.loft_profile(), revision.quote
    token = links.token(quote=quote.pk, revision=revision.revision, nonce=revision.link.nonce)
    link = links.address(base_url=profile.public_base_url, token=token)
    sails = "1 sail" if revision.sails == 1 else f"{revision.sails} sails"
    until = _day(revision.valid_until, profile)
    paragraphs = (
        f"Dear {quote.customer.name},",
        f"thank you for asking us. Our quote {quote.reference} for {sails} is attached; it comes to {_amount(revision)} with tax.",
        f"It is valid until {until}, 23:59:59 our time. You can read and accept it here:",
    )
    return Letter(
        to=quote.customer.email,
        subject=_one_line(f"Quote {quote.reference} from {profile.name}"),
        text=_text((*paragraphs, link, _SEE_BEFORE), profile),
        html=_html((*paragraphs, format_html('<a href="{0}">{0}</a>', link), _SEE_BEFORE), profile),
        attachments=((f"{_file_name(revision)}.pdf", bytes(revision.pdf or b""), "application/pdf"),),
        reply_to=profile.email,
    )


@letter("order_accepted")
def order_accepted(payload: dict[str, Any]) -> Letter:
    """To the customer: the order's number, the deposit, and what is still needed."""
    order = Order.objects.select_related("customer", "revision__quote").get(pk=payload["order"])
    profile = common.loft_profile()
    cur = money.currency(order.currency)
    deposit = Decimal(order.deposit_minor).scaleb(-cur.digits)
    paragraphs = (
        f"Dear {order.customer.name},",
        f"{order.revision.accepted_name} accepted our quote {order.revision.quote.reference}: your order has the number {order.reference}.",
        f"We begin when the deposit of {order.currency} {deposit:,} has come, each boat's details are confirmed and cloth is set aside.",
        "A sail number may follow later: only the numbers of that sail wait for it. The confirmation is attached.",
    )
    confirmation = order_papers.confirmation_pdf(selectors.order(order.pk), profile)
    return Letter(
        to=order.customer.email,
        subject=_one_line(f"Order {order.reference} at {profile.name}"),
        text=_text(paragraphs, profile),
        html=_html(paragraphs, profile),
        attachments=((f"order-{order.reference}.pdf", confirmation, "application/pdf"),),
        reply_to=profile.email,
    )


@letter("payment_received")
def payment_received(payload: dict[str, Any]) -> Letter:
    """To the customer: the receipt of money received, a tax point of its own."""
    payment = selectors.payment(order_pk=payload["order"], pk=payload["payment"])
    order, profile = payment.order, common.loft_profile()
    number = order_papers.receipt_number(payment)
    paid = f"{order.currency} {order_papers.amount(payment.amount_minor, order.currency):,}"
    paragraphs = (
        f"Dear {order.customer.name},",
        f"thank you: we received {paid} on {_day(payment.received_on, profile)} for order {order.reference}.",
        f"Receipt {number} is attached. It says what tax is in the amount; invoices come under their own numbers.",
    )
    return Letter(
        to=order.customer.email,
        subject=_one_line(f"Receipt {number} from {profile.name}"),
        text=_text(paragraphs, profile),
        html=_html(paragraphs, profile),
        attachments=((f"receipt-{number}.pdf", order_papers.receipt_pdf(payment, profile), "application/pdf"),),
        reply_to=profile.email,
    )


@about("payment_received")
def about_payment(payload: dict[str, Any]) -> About:
    """Which receipt of which order, to whom."""
    payment = selectors.payment(order_pk=payload["order"], pk=payload["payment"])
    return About(payment.order.customer.email, f"receipt {order_papers.receipt_number(payment)}", f"/orders/{payment.order_id}/")


@about("quote_issued")
def about_quote(payload: dict[str, Any]) -> About:
    """Which revision of which quote, to whom."""
    row = Revision.objects.select_related("quote__customer").only("revision", "quote__number", "quote__customer__email")
    revision = row.get(pk=payload["revision"])
    return About(revision.quote.customer.email, f"{revision.quote.reference} revision {revision.revision}", f"/quotes/{revision.quote_id}/")


@about("order_accepted")
def about_order(payload: dict[str, Any]) -> About:
    """Which order, and the revision that it came from, to whom."""
    rows = Order.objects.select_related("customer", "revision__quote")
    order = rows.only("number", "customer__email", "revision__revision", "revision__quote__number").get(pk=payload["order"])
    words = f"{order.reference}, {order.revision.quote.reference} revision {order.revision.revision}"
    return About(order.customer.email, words, f"/orders/{order.pk}/")


_SEE_BEFORE = "Opening the link shows the quote; nothing is accepted before you write your name there and confirm."


def _text(paragraphs: Sequence[str], profile: LoftProfile) -> str:
    return "\n\n".join((*(str(p) for p in paragraphs), _signature(profile))) + "\n"


def _html(paragraphs: Sequence[str], profile: LoftProfile) -> str:
    """Every paragraph escaped, unless it was built by format_html."""
    body = format_html_join("\n", "<p>{}</p>", ((p,) for p in paragraphs))
    signature = format_html_join(mark_safe("<br>"), "{}", ((line,) for line in _signature(profile).splitlines()))
    return format_html('<!doctype html>\n<html lang="en"><body>\n{}\n<p>{}</p>\n</body></html>\n', body, signature)


def _signature(profile: LoftProfile) -> str:
    return "\n".join(line for line in (profile.name, *profile.address_lines, profile.phone, profile.email) if line)


def _one_line(text: str) -> str:
    """A header is one line, whatever a name holds."""
    return " ".join(text.split())


def _amount(revision: Revision) -> str:
    cur = money.currency(revision.currency)
    return f"{revision.currency} {Decimal(revision.gross_minor).scaleb(-cur.digits):,}"


def _day(day: date | None, profile: LoftProfile) -> str:
    return "" if day is None else day.strftime(profile.date_format)


def _file_name(revision: Revision) -> str:
    suffix = "" if revision.revision == 1 else f"-revision-{revision.revision}"
    return f"quote-{revision.quote.reference}{suffix}"
