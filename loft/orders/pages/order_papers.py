"""The papers of an order as PDF: confirmation, receipts, delivery note."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from loft.common import pages
from loft.common import selectors as common
from loft.orders import order_papers, selectors


@require_GET
@pages.may("see_prices")
@pages.drawn
def confirmation(request: HttpRequest, pk: int) -> HttpResponse:
    """What was accepted, with what is paid and missing today."""
    order = selectors.order(pk)
    return pages.pdf(order_papers.confirmation_pdf(order, common.loft_profile()), f"order-{order.reference}.pdf")


@require_GET
@pages.may("see_prices")
@pages.drawn
def receipt(request: HttpRequest, pk: int, payment: int) -> HttpResponse:
    """The receipt of one payment, or the paper of a refund."""
    row = selectors.payment(order_pk=pk, pk=payment)
    return pages.pdf(order_papers.receipt_pdf(row, common.loft_profile()), order_papers.receipt_file(row))


@require_GET
@pages.may("see_orders")
@pages.drawn
def delivery_note(request: HttpRequest, pk: int) -> HttpResponse:
    """The sails that leave, to be signed for."""
    order = selectors.order(pk)
    return pages.pdf(order_papers.delivery_note_pdf(order, common.loft_profile()), f"delivery-note-{order.reference}.pdf")
