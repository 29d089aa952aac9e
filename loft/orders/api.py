"""The desk over HTTP: quotes and orders."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from types import SimpleNamespace
from typing import Any, ClassVar

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from costing.errors import InputError, Problem
from loft.common import limits, pages, versions
from loft.common import selectors as common
from loft.common.api_access import ByPolicy, drawn, person
from loft.common.api_pages import Pages
from loft.common.idempotency import KEY, idempotent
from loft.customers import selectors as customers
from loft.customers import services as customer_services
from loft.customers.models import Customer
from loft.orders import api_shapes as shapes
from loft.orders import order_papers, paper, selectors, services
from loft.orders.models import Revision
from loft.orders.states import OrderState
from loft.workshop.api import PDF


class QuoteViews(viewsets.ViewSet):
    """Quotes, the newest first."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    lookup_value_converter = "int"
    policy: ClassVar = {
        "list": "see_prices", "retrieve": "see_prices", "pdf": "see_prices", "cost_sheet": "see_costs", "create": "draft_quote",
        "revise": "draft_quote", "drop_outs": "draft_quote", "doubts": "draft_quote", "issue": "issue_quote", "cancel": "cancel_quote",
    }  # fmt: skip

    @extend_schema(responses=shapes.QuoteOut(many=True))
    def list(self, request: Request) -> Response:
        pages = Pages()
        rows = pages.paginate_queryset(selectors.quotes(), request, self)
        return pages.get_paginated_response(shapes.QuoteOut(rows, many=True).data)

    @extend_schema(responses=shapes.QuoteWithBatch)
    def retrieve(self, request: Request, pk: int) -> Response:
        return Response(shapes.QuoteWithBatch(selectors.quote(pk)).data, headers=versions.headers(selectors.last_revision(pk)))

    @extend_schema(parameters=[KEY], request=shapes.QuoteIn, responses={201: shapes.QuoteOut})
    @idempotent
    def create(self, request: Request) -> Response:
        """Price a whole batch and keep it as a draft."""
        asked, now = valid(shapes.QuoteIn(data=request.data)), timezone.now()
        limits.count(limits.COSTLY, str(person(request).pk), now=now)
        revision = _drafted(asked, request, now)
        place = f"/api/quotes/{revision.quote.pk}/"
        return Response(shapes.QuoteOut(_just_made(revision)).data, status=status.HTTP_201_CREATED, headers={"Location": place})

    @extend_schema(parameters=[KEY, versions.IF_MATCH], request=shapes.RevisionIn, responses={201: shapes.QuoteOut})
    @action(detail=True, methods=["post"])
    @idempotent
    def revise(self, request: Request, pk: int) -> Response:
        """Draft a new revision at today's prices; what was issued before is superseded, its link dead."""
        asked, now, last = valid(shapes.RevisionIn(data=request.data)), timezone.now(), _seen(request, pk)
        limits.count(limits.COSTLY, str(person(request).pk), now=now)
        services.revise(
            quote=selectors.quote(pk), boats=asked["csv"].encode(), pattern=asked["pattern"], terms=asked.get("terms"),
            on=_priced_on(asked, now), now=now, made_at=f"/api/quotes/{pk}/", by=person(request),
            seen=last.revision, at_list=asked.get("at_list"),
        )  # fmt: skip
        return _quote(pk, status.HTTP_201_CREATED)

    @extend_schema(parameters=[KEY, versions.IF_MATCH], request=shapes.DropOutsIn, responses={201: shapes.QuoteOut})
    @action(detail=True, methods=["post"], url_path="drop-outs")
    @idempotent
    def drop_outs(self, request: Request, pk: int) -> Response:
        """Re-price at the number that is left: a new revision without the boats that dropped out, at the tier that the rest reaches."""
        asked, now, last = valid(shapes.DropOutsIn(data=request.data)), timezone.now(), _seen(request, pk)
        limits.count(limits.COSTLY, str(person(request).pk), now=now)
        services.reprice_left(
            quote=last.quote, lines=asked["lines"], today=common.local_time(now, common.loft_profile()).date(), now=now,
            by=person(request), seen=last.revision, made_at=f"/api/quotes/{pk}/",
        )  # fmt: skip
        return _quote(pk, status.HTTP_201_CREATED)

    @extend_schema(parameters=[KEY, versions.IF_MATCH], request=shapes.IssueIn, responses=shapes.QuoteOut)
    @action(detail=True, methods=["post"])
    @idempotent
    def issue(self, request: Request, pk: int) -> Response:
        """Issue the draft: number, PDF, link and mail to the customer."""
        asked = valid(shapes.IssueIn(data=request.data))
        services.issue(
            revision=_seen(request, pk), by=person(request), now=timezone.now(), reason=asked["reason"],
            made_at=f"/api/quotes/{pk}/",
        )  # fmt: skip
        return _quote(pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=shapes.SettleIn, responses=shapes.QuoteOut)
    @action(detail=True, methods=["post"])
    def doubts(self, request: Request, pk: int) -> Response:
        """Somebody stands by name by the sizes that are hard to believe; a quote with doubts is not issued before."""
        asked = valid(shapes.SettleIn(data=request.data))
        services.settle_doubts(revision=_seen(request, pk), name=asked["name"], by=person(request), now=timezone.now())
        return _quote(pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=None, responses=shapes.QuoteOut)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: int) -> Response:
        """Take the last revision back."""
        services.cancel(revision=_seen(request, pk), now=timezone.now(), by=person(request))
        return _quote(pk)

    @extend_schema(responses={(200, "application/pdf"): PDF})
    @action(detail=True)
    @drawn
    def pdf(self, request: Request, pk: int) -> HttpResponse:
        """The last revision's PDF as it was sent, of a draft one drawn now; the contract's, where that is a change that came to nothing."""
        revision = selectors.revision_to_open(pk)
        return pages.pdf(paper.quote_pdf(revision, common.loft_profile()), f"quote-{revision.quote.reference or 'draft'}.pdf")

    @extend_schema(responses={(200, "application/pdf"): PDF})
    @action(detail=True, url_path="cost-sheet")
    @drawn
    def cost_sheet(self, request: Request, pk: int) -> HttpResponse:
        """Every cost of the same revision: for the loft alone."""
        revision = selectors.revision_to_open(pk)
        return pages.pdf(paper.cost_sheet_pdf(revision, common.loft_profile()), f"cost-sheet-{revision.quote.reference or 'draft'}.pdf")


class OrderFilter(serializers.Serializer[Any]):
    state = serializers.ChoiceField(OrderState.choices, required=False, default="")


class OrderViews(viewsets.ViewSet):
    """Orders, by the day promised."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    lookup_value_converter = "int"
    policy: ClassVar = {
        "list": "see_orders", "retrieve": "see_orders", "payments": "record_payment", "sail_number": "give_sail_number",
        "confirmation": "see_prices", "receipt": "see_prices", "delivery_note": "see_orders",
        "cloth": "confirm_cloth", "due": "promise_day", "deliver": "deliver_order",
        "deliver_line": "deliver_order", "cancel": "cancel_order", "member_links": "edit_customers",
    }  # fmt: skip

    @extend_schema(parameters=[OrderFilter], responses=shapes.OrderOut(many=True))
    def list(self, request: Request) -> Response:
        asked = valid(OrderFilter(data=request.query_params))
        pages = Pages()
        rows = pages.paginate_queryset(selectors.orders(**asked), request, self)
        return pages.get_paginated_response(shapes.OrderOut(rows, many=True, context={"request": request}).data)

    @extend_schema(responses=shapes.OrderWithMissing)
    def retrieve(self, request: Request, pk: int) -> Response:
        return _order(request, pk)

    @extend_schema(parameters=[KEY], request=shapes.PaymentIn, responses={201: shapes.PaymentOut})
    @action(detail=True, methods=["post"])
    @idempotent
    def payments(self, request: Request, pk: int) -> Response:
        """Note money received; the deposit releases the tickets that wait for nothing else."""
        asked = valid(shapes.PaymentIn(data=request.data))
        place = f"/api/orders/{pk}/"
        payment = services.record_payment(order=selectors.order(pk), by=person(request), now=timezone.now(), made_at=place, **asked)
        return Response(shapes.PaymentOut(payment).data, status=status.HTTP_201_CREATED, headers={"Location": place})

    @extend_schema(parameters=[versions.IF_MATCH], request=shapes.SailNumberIn, responses=shapes.OrderWithMissing)
    @action(detail=True, methods=["post"], url_path="lines/<int:position>/sail-number")
    def sail_number(self, request: Request, pk: int, position: int) -> Response:
        """Give a sail the number that was to follow."""
        asked = valid(shapes.SailNumberIn(data=request.data))
        line = selectors.line(order_pk=pk, position=position)
        seen = versions.asked(request)
        services.give_sail_number(line=line, number=asked["number"], by=person(request), now=timezone.now(), order_version=seen)
        return _order(request, pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=shapes.ClothIn, responses=shapes.OrderWithMissing)
    @action(detail=True, methods=["post"])
    def cloth(self, request: Request, pk: int) -> Response:
        """Set a roll and lot aside for the sails of its cloth and colour that have none yet."""
        asked, seen = valid(shapes.ClothIn(data=request.data)), versions.asked(request)
        services.book_cloth(order=selectors.order(pk), by=person(request), now=timezone.now(), version=seen, **asked)
        return _order(request, pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=shapes.DueIn, responses=shapes.OrderWithMissing)
    @action(detail=True, methods=["post"])
    def due(self, request: Request, pk: int) -> Response:
        """Promise a day."""
        asked, seen = valid(shapes.DueIn(data=request.data)), versions.asked(request)
        services.set_due_date(order=selectors.order(pk), by=person(request), version=seen, **asked)
        return _order(request, pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=None, responses=shapes.OrderWithMissing)
    @action(detail=True, methods=["post"])
    def deliver(self, request: Request, pk: int) -> Response:
        """Close an order whose sails are all ready and have left."""
        services.deliver(order=selectors.order(pk), now=timezone.now(), by=person(request), version=versions.asked(request))
        return _order(request, pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=None, responses=shapes.OrderWithMissing)
    @action(detail=True, methods=["post"], url_path="lines/<int:position>/deliver")
    def deliver_line(self, request: Request, pk: int, position: int) -> Response:
        """One sail has left; with the last one the order is delivered."""
        line, seen = selectors.line(order_pk=pk, position=position), versions.asked(request)
        services.deliver_line(line=line, now=timezone.now(), by=person(request), version=seen)
        return _order(request, pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=shapes.CancelOrderIn, responses=shapes.OrderWithMissing)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: int) -> Response:
        """Cancel the order, with the reason: what is not ready is scrapped."""
        asked, seen = valid(shapes.CancelOrderIn(data=request.data)), versions.asked(request)
        services.cancel_order(order=selectors.order(pk), now=timezone.now(), by=person(request), version=seen, **asked)
        return _order(request, pk)

    @extend_schema(responses=shapes.MemberLinkOut(many=True))
    @action(detail=True, url_path="member-links", pagination_class=None)
    def member_links(self, request: Request, pk: int) -> Response:
        """The pages of an association's members, each with its own sail; none for another customer."""
        found = selectors.member_links(selectors.order(pk), base_url=common.loft_profile().public_base_url)
        rows = [
            {
                "position": line.position, "owner": line.owner, "address": address, "confirmed_at": line.confirmed_at,
                "confirmed_name": line.confirmed_name,
            }
            for line, address in found
        ]  # fmt: skip
        return Response(shapes.MemberLinkOut(rows, many=True).data)

    @extend_schema(responses={(200, "application/pdf"): PDF})
    @action(detail=True)
    @drawn
    def confirmation(self, request: Request, pk: int) -> HttpResponse:
        """The order's confirmation as it stands today."""
        order = selectors.order(pk)
        return pages.pdf(order_papers.confirmation_pdf(order, common.loft_profile()), f"order-{order.reference}.pdf")

    @extend_schema(responses={(200, "application/pdf"): PDF})
    @action(detail=True, url_path="payments/<int:payment>/receipt")
    @drawn
    def receipt(self, request: Request, pk: int, payment: int) -> HttpResponse:
        """The receipt of one payment, a tax point of its own."""
        row = selectors.payment(order_pk=pk, pk=payment)
        return pages.pdf(order_papers.receipt_pdf(row, common.loft_profile()), order_papers.receipt_file(row))

    @extend_schema(responses={(200, "application/pdf"): PDF})
    @action(detail=True, url_path="delivery-note")
    @drawn
    def delivery_note(self, request: Request, pk: int) -> HttpResponse:
        """The sails that leave, to be signed for; no price on it."""
        order = selectors.order(pk)
        return pages.pdf(order_papers.delivery_note_pdf(order, common.loft_profile()), f"delivery-note-{order.reference}.pdf")


def _order(request: Request, pk: int) -> Response:
    order = selectors.order(pk)
    return Response(shapes.OrderWithMissing(order, context={"request": request}).data, headers=versions.headers(order))


def _quote(pk: int, code: int = status.HTTP_200_OK) -> Response:
    return Response(shapes.QuoteOut(selectors.quote(pk)).data, status=code, headers=versions.headers(selectors.last_revision(pk)))


def _seen(request: Request, pk: int) -> Revision:
    """The last revision of a quote, if it is the one that If-Match names, still in the same state; Stale otherwise."""
    last, tag = selectors.last_revision(pk), versions.asked_tag(request)
    if tag is not None and tag != last.version:
        raise versions.stale(last)
    return last


def valid(asked: serializers.Serializer[Any]) -> dict[str, Any]:
    """What was asked, checked; ValidationError with everything that is wrong."""
    asked.is_valid(raise_exception=True)
    return dict(asked.validated_data)


def _drafted(asked: Mapping[str, Any], request: Request, now: datetime) -> Revision:
    boats = asked["csv"].encode() if "csv" in asked else as_csv(asked["boats"])
    try:
        return services.draft_batch(
            customer=_customer(asked), pattern=asked["pattern"], boats=boats, terms=asked["terms"], on=_priced_on(asked, now), now=now,
            by=person(request), made_at="/api/quotes/{}/", at_list=asked["at_list"],
            joins=None if asked["joins"] is None else selectors.order(asked["joins"]),
        )  # fmt: skip
    except InputError as error:
        if "csv" in asked:
            raise
        raise InputError(at_index(p) for p in error.problems) from error


def _just_made(revision: Revision) -> Any:
    """A new quote with its only revision, as `selectors.quote` would read it back."""
    made = revision.quote
    return SimpleNamespace(
        id=made.pk, reference=made.reference, customer=made.customer, joins_id=made.joins_id, created_at=made.created_at,
        revisions=[revision],
    )  # fmt: skip


def _priced_on(asked: Mapping[str, Any], now: datetime) -> date:
    return asked.get("priced_on") or common.local_time(now, common.loft_profile()).date()


def _customer(asked: Mapping[str, Any]) -> Customer:
    if "customer" in asked:
        return customers.customer(asked["customer"])
    return customer_services.new_customer(**asked["new_customer"])


def as_csv(rows: Sequence[Mapping[str, str]]) -> bytes:
    """JSON rows as the same list of boats that a spreadsheet gives, so that one reader reads both."""
    names = list(dict.fromkeys(name for row in rows for name in row))
    text = io.StringIO()
    writer = csv.DictWriter(text, names, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue().encode()


def at_index(problem: Problem) -> Problem:
    """A problem in row 2 of the list is one of the first object that was sent."""
    path = re.sub(r"^row (\d+)", lambda found: f"boats[{int(found[1]) - 2}]", problem.path)
    return Problem(path, problem.code, problem.message)
