"""The floor over HTTP: tickets, their sheets as PDF, their steps. Nothing here shows a price or a cost."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, ClassVar

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema, extend_schema_field
from rest_framework import serializers, viewsets
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from loft import documents
from loft.common import pages, versions
from loft.common import selectors as common
from loft.common.api_access import ByPolicy, drawn, person
from loft.common.api_pages import Pages
from loft.common.errors import NotFound
from loft.workshop import paper, selectors, services
from loft.workshop.models import Step, Ticket
from loft.workshop.states import TicketState

PDF = OpenApiResponse(OpenApiTypes.BINARY, "A PDF.")

_SHEETS: Mapping[str, Callable[[documents.TicketDocument], bytes]] = {
    "cutter": documents.cutter_sheet_pdf,
    "sewer": documents.sewer_sheet_pdf,
    "finisher": documents.finisher_sheet_pdf,
}


class TicketFilter(serializers.Serializer[Any]):
    state = serializers.ChoiceField(TicketState.choices, required=False, default="")
    order_number = serializers.CharField(max_length=40, required=False, default="")


class MissingOut(serializers.Serializer[Any]):
    kind = serializers.CharField()
    wording = serializers.CharField()
    asked = serializers.CharField(help_text="Who is asked for it.")
    holds = serializers.CharField(help_text="What waits for it: release, its step, or ready.")


class TicketOut(serializers.ModelSerializer[Ticket]):
    waiting_for = serializers.SerializerMethodField()

    class Meta:
        model = Ticket
        fields = (
            "id", "number", "order_number", "due_on", "sail_label", "boat", "owner", "sail_number", "class_name", "pattern_label",
            "state", "roll", "lot", "metres_used", "label_number", "opened_at", "released_at", "started_at", "ready_at", "waiting_for",
        )  # fmt: skip

    @extend_schema_field(MissingOut(many=True))
    def get_waiting_for(self, ticket: Ticket) -> Any:
        return MissingOut(selectors.waiting_for(ticket), many=True).data


class StepOut(serializers.ModelSerializer[Step]):
    started_by = serializers.SlugRelatedField[Any](slug_field="username", read_only=True, allow_null=True)
    finished_by = serializers.SlugRelatedField[Any](slug_field="username", read_only=True, allow_null=True)

    class Meta:
        model = Step
        fields = (
            "position", "station", "operation", "label", "minutes", "how", "caution", "needs_number",
            "started_at", "started_by", "finished_at", "finished_by",
        )  # fmt: skip


class TicketWithSteps(TicketOut):
    steps = StepOut(many=True, read_only=True)

    class Meta(TicketOut.Meta):
        fields = (*TicketOut.Meta.fields, "steps")  # type: ignore[assignment]


class FinishIn(serializers.Serializer[Any]):
    metres_used = serializers.DecimalField(8, 3, min_value=0, required=False, help_text="Metres really used, when the step is cutting.")


class LabelIn(serializers.Serializer[Any]):
    label_number = serializers.CharField(max_length=40, help_text="The number on the class label that was sewn on.")


class ScrapIn(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300)


class TicketViews(viewsets.ViewSet):
    """Work tickets, in the order in which they are due."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    lookup_value_converter = "int"
    policy: ClassVar = {
        "list": "see_tickets", "retrieve": "see_tickets", "sheet": "see_tickets", "start_step": "work_ticket", "finish_step": "work_ticket",
        "rules": "release_ticket", "sign_options": "release_ticket", "label": "work_ticket",
        "scrap": "scrap_ticket",
    }  # fmt: skip

    @extend_schema(parameters=[TicketFilter], responses=TicketOut(many=True))
    def list(self, request: Request) -> Response:
        asked = TicketFilter(data=request.query_params)
        asked.is_valid(raise_exception=True)
        pages = Pages()
        rows = pages.paginate_queryset(selectors.tickets(**asked.validated_data), request, self)
        return pages.get_paginated_response(TicketOut(rows, many=True).data)

    @extend_schema(responses=TicketWithSteps)
    def retrieve(self, request: Request, pk: int) -> Response:
        return _ticket(pk)

    @extend_schema(parameters=[OpenApiParameter("station", str, "path", enum=tuple(_SHEETS))], responses={(200, "application/pdf"): PDF})
    @action(detail=True, url_path="sheets/<str:station>")
    @drawn
    def sheet(self, request: Request, pk: int, station: str) -> HttpResponse:
        """The sheet of one station."""
        if station not in _SHEETS:
            raise NotFound(f"there are sheets for {', '.join(_SHEETS)}, none for {station}")
        ticket = selectors.ticket(pk)
        content = _SHEETS[station](paper.ticket_document(ticket, common.loft_profile()))
        return pages.pdf(content, f"ticket-{ticket.number}-{station}.pdf")

    @extend_schema(parameters=[versions.IF_MATCH], request=None, responses=TicketWithSteps)
    @action(detail=True, methods=["post"], url_path="steps/<int:position>/start")
    def start_step(self, request: Request, pk: int, position: int) -> Response:
        step, seen = selectors.step(ticket_pk=pk, position=position), versions.asked(request)
        services.start_step(step=step, by=person(request), now=timezone.now(), version=seen)
        return _ticket(pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=FinishIn, responses=TicketWithSteps)
    @action(detail=True, methods=["post"], url_path="steps/<int:position>/finish")
    def finish_step(self, request: Request, pk: int, position: int) -> Response:
        asked = FinishIn(data=request.data)
        asked.is_valid(raise_exception=True)
        step = selectors.step(ticket_pk=pk, position=position)
        seen = versions.asked(request)
        services.finish_step(step=step, by=person(request), now=timezone.now(), version=seen, **asked.validated_data)
        return _ticket(pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=None, responses=TicketWithSteps)
    @action(detail=True, methods=["post"])
    def rules(self, request: Request, pk: int) -> Response:
        """Compare the sail once more with the class edition in force when it will be measured; what breaches holds it."""
        seen = versions.asked(request)
        services.check_rules_again(ticket=selectors.ticket(pk), by=person(request), now=timezone.now(), version=seen)
        return _ticket(pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=None, responses=TicketWithSteps)
    @action(detail=True, methods=["post"], url_path="options")
    def sign_options(self, request: Request, pk: int) -> Response:
        """The options have been confirmed by the customer other than by the acceptance itself."""
        seen = versions.asked(request)
        services.confirm_options(ticket=selectors.ticket(pk), by=person(request), now=timezone.now(), version=seen)
        return _ticket(pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=LabelIn, responses=TicketWithSteps)
    @action(detail=True, methods=["post"])
    def label(self, request: Request, pk: int) -> Response:
        """The class label has been sewn on; a sail cannot be ready before."""
        asked, seen = LabelIn(data=request.data), versions.asked(request)
        asked.is_valid(raise_exception=True)
        services.record_label(ticket=selectors.ticket(pk), by=person(request), now=timezone.now(), version=seen, **asked.validated_data)
        return _ticket(pk)

    @extend_schema(parameters=[versions.IF_MATCH], request=ScrapIn, responses=TicketWithSteps)
    @action(detail=True, methods=["post"])
    def scrap(self, request: Request, pk: int) -> Response:
        """Take a sail out of work for good."""
        asked, seen = ScrapIn(data=request.data), versions.asked(request)
        asked.is_valid(raise_exception=True)
        services.scrap(ticket=selectors.ticket(pk), by=person(request), now=timezone.now(), version=seen, **asked.validated_data)
        return _ticket(pk)


def _ticket(pk: int) -> Response:
    ticket = selectors.ticket(pk)
    return Response(TicketWithSteps(ticket).data, headers=versions.headers(ticket))
