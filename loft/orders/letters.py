"""The letters of the desk: written when they are sent, from what is stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from loft.common import selectors as common
from loft.common.models import LoftProfile
from loft.jobs.mail import About, Attachment, Letter, about, letter
from loft.orders import links, order_papers, selectors, wording
from loft.orders.models import Order, Revision


@letter("quote_issued")
def quote_issued(payload: dict[str, Any]) -> Letter:
    """To the customer: the quote as PDF, and the link by which it can be accepted."""
    revision = Revision.objects.select_related("quote__customer", "link").get(pk=payload["revision"])
    profile, quote = common.loft_profile(), revision.quote
    token = links.token(quote=quote.pk, revision=revision.revision, nonce=revision.link.nonce)
    values = {
        "customer": quote.customer.name, "quote": quote.reference, "total": _amount(revision.gross_minor, revision.currency),
        "sails": "1 sail" if revision.sails == 1 else f"{revision.sails} sails", "valid_until": day(revision.valid_until, profile),
        wording.LINK: links.address(base_url=profile.public_base_url, token=token),
    }  # fmt: skip
    attached = (f"{_file_name(revision)}.pdf", bytes(revision.pdf or b""), "application/pdf")
    return written("quote_issued", quote.customer.email, values, profile, attached)


@letter("change_issued")
def change_issued(payload: dict[str, Any]) -> Letter:
    """To the customer: the change of his order as PDF, and the link by which he signs it."""
    revision = Revision.objects.select_related("quote__customer", "link").get(pk=payload["revision"])
    profile, quote, order = common.loft_profile(), revision.quote, selectors.order_of_quote(revision.quote_id)
    token = links.token(quote=quote.pk, revision=revision.revision, nonce=revision.link.nonce)
    values = {
        "customer": quote.customer.name, "order": order.reference, "quote": f"{quote.reference}, revision {revision.revision}",
        "old_total": _amount(order.revision.gross_minor, order.currency), "total": _amount(revision.gross_minor, revision.currency),
        "valid_until": day(revision.valid_until, profile), wording.LINK: links.address(base_url=profile.public_base_url, token=token),
    }  # fmt: skip
    attached = (f"{_file_name(revision)}.pdf", bytes(revision.pdf or b""), "application/pdf")
    return written("change_issued", quote.customer.email, values, profile, attached)


@letter("change_accepted")
def change_accepted(payload: dict[str, Any]) -> Letter:
    """To the customer: his order is changed; the confirmation as it stands."""
    order, profile = selectors.order(payload["order"]), common.loft_profile()
    revision = Revision.objects.select_related("quote").defer("pdf", "snapshot").get(pk=payload["revision"])
    values = {
        "customer": order.customer.name, "order": order.reference, "quote": f"{revision.quote.reference}, revision {revision.revision}",
        "accepted_by": revision.accepted_name, "total": _amount(revision.gross_minor, order.currency),
        "balance": _balance(order.gross_minor - order.paid_minor, order.currency),  # type: ignore[attr-defined]  # annotated by orders()
    }  # fmt: skip
    attached = (f"order-{order.reference}.pdf", order_papers.confirmation_pdf(order, profile), "application/pdf")
    return written("change_accepted", order.customer.email, values, profile, attached)


@letter("order_accepted")
def order_accepted(payload: dict[str, Any]) -> Letter:
    """To the customer: the order's number, the deposit, and what is still needed."""
    order = selectors.order(payload["order"])
    profile = common.loft_profile()
    values = {
        "customer": order.customer.name, "order": order.reference, "quote": order.revision.quote.reference,
        "accepted_by": order.revision.accepted_name, "deposit": _amount(order.deposit_minor, order.currency),
    }  # fmt: skip
    attached = (f"order-{order.reference}.pdf", order_papers.confirmation_pdf(order, profile), "application/pdf")
    return written("order_accepted", order.customer.email, values, profile, attached)


@letter("payment_received")
def payment_received(payload: dict[str, Any]) -> Letter:
    """To the customer: the receipt of money received, a tax point of its own."""
    payment = selectors.payment(order_pk=payload["order"], pk=payload["payment"])
    order, profile = payment.order, common.loft_profile()
    number = order_papers.receipt_number(payment)
    values = {
        "customer": order.customer.name, "order": order.reference, "receipt": number,
        "amount": _amount(payment.amount_minor, order.currency), "received_on": day(payment.received_on, profile),
    }  # fmt: skip
    attached = (order_papers.receipt_file(payment), order_papers.receipt_pdf(payment, profile), "application/pdf")
    return written("payment_received", order.customer.email, values, profile, attached)


@letter("refund_paid")
def refund_paid(payload: dict[str, Any]) -> Letter:
    """To the customer: the paper of money paid back."""
    payment = selectors.payment(order_pk=payload["order"], pk=payload["payment"])
    order, profile = payment.order, common.loft_profile()
    number = order_papers.receipt_number(payment)
    values = {
        "customer": order.customer.name, "order": order.reference, "refund": number,
        "amount": _amount(-payment.amount_minor, order.currency), "paid_on": day(payment.received_on, profile),
    }  # fmt: skip
    attached = (order_papers.receipt_file(payment), order_papers.receipt_pdf(payment, profile), "application/pdf")
    return written("refund_paid", order.customer.email, values, profile, attached)


@about("refund_paid")
def about_refund(payload: dict[str, Any]) -> About:
    """Which refund of which order, to whom."""
    payment = selectors.payment(order_pk=payload["order"], pk=payload["payment"])
    return About(payment.order.customer.email, f"refund {order_papers.receipt_number(payment)}", f"/orders/{payment.order_id}/")


@about("payment_received")
def about_payment(payload: dict[str, Any]) -> About:
    """Which receipt of which order, to whom."""
    payment = selectors.payment(order_pk=payload["order"], pk=payload["payment"])
    return About(payment.order.customer.email, f"receipt {order_papers.receipt_number(payment)}", f"/orders/{payment.order_id}/")


@about("change_accepted")
def about_signed_change(payload: dict[str, Any]) -> About:
    """Which change of which order, to whom."""
    return replace(about_quote(payload), place=f"/orders/{payload['order']}/")


@about("change_issued")
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


def signature(profile: LoftProfile) -> str:
    """The lines below each letter."""
    return "\n".join(line for line in (profile.name, *profile.address_lines, profile.phone, profile.email) if line)


def written(name: str, to: str, values: Mapping[str, str], profile: LoftProfile, *attached: Attachment) -> Letter:
    """A letter in the wording that counts when it is sent."""
    words, filled, signed = wording.current(name), {**values, "loft": profile.name}, signature(profile)
    return Letter(
        to=to, subject=wording.subject_line(words, filled), text=wording.as_text(words, filled, signed),
        html=wording.as_html(words, filled, signed), attachments=attached, reply_to=profile.email,
    )  # fmt: skip


def _amount(minor: int, currency: str) -> str:
    return f"{currency} {order_papers.amount(minor, currency):,}"


def _balance(minor: int, currency: str) -> str:
    """What is left to settle, within a sentence."""
    if minor < 0:
        return f"{_amount(-minor, currency)} of what you paid is owed back to you, and we pay it back"
    return f"{_amount(minor, currency)} is still to pay" if minor else "nothing is left to pay"


def day(day: date | None, profile: LoftProfile) -> str:
    return "" if day is None else day.strftime(profile.date_format)


def _file_name(revision: Revision) -> str:
    suffix = "" if revision.revision == 1 else f"-revision-{revision.revision}"
    return f"quote-{revision.quote.reference}{suffix}"
