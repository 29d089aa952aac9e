"""The floor over HTTP: tickets, their sheets as PDF, their steps. Nothing here shows a price or a cost."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema, extend_schema_field
from rest_framework import serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from costing.errors import Collector
from costing.measurements import MEASUREMENTS
from costing.quote.finished import FinishedRow
from loft import documents
from loft.common import pages, versions
from loft.common import selectors as common
from loft.common.api_access import ByPolicy, drawn, person
from loft.common.api_pages import Pages
from loft.common.errors import NotFound
from loft.common.idempotency import HEADER, idempotent
from loft.common.readings import MOST
from loft.documents import finished_sizes
from loft.workshop import finished, non_class, paper, selectors, services
from loft.workshop.models import FinishedSet, Step, Ticket
from loft.workshop.states import Occasion, TicketState

NOT_LEGAL = "NON-CLASS: a sentence for each limit that the sail is outside of; empty for a class sail."
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
    not_legal = serializers.ListField(child=serializers.CharField(), help_text=NOT_LEGAL)

    class Meta:
        model = Ticket
        fields = (
            "id", "number", "order_number", "due_on", "sail_label", "boat", "owner", "sail_number", "class_name", "pattern_label",
            "state", "roll", "lot", "metres_used", "label_number", "opened_at", "released_at", "started_at", "ready_at", "waiting_for",
            "not_legal",
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


class FinishedRowOut(serializers.Serializer[Any]):
    """A size of the finished sail, in its measurement's unit and unrounded."""

    path = serializers.SerializerMethodField(help_text="What a reading of it is posted as.")
    measurement = serializers.CharField()
    unit = serializers.SerializerMethodField()
    rule = serializers.SerializerMethodField()
    limit = serializers.SerializerMethodField(help_text="In words, as papers print it.")
    tolerance = serializers.SerializerMethodField(help_text="How far off its target it still measures, in words.")
    target = serializers.ListField(source="designed", child=serializers.DecimalField(None, 8))
    measured = serializers.ListField(child=serializers.DecimalField(None, 8))
    deviation = serializers.ListField(source="deviations", child=serializers.DecimalField(None, 8), help_text="Measured less target.")
    room = serializers.DecimalField(
        None, 8, allow_null=True, help_text="Left of the limits, negative in a breach; null while not measured."
    )

    def get_path(self, row: FinishedRow) -> str:
        return finished_sizes.text(row).path

    def get_unit(self, row: FinishedRow) -> str:
        return MEASUREMENTS[row.measurement].unit

    def get_rule(self, row: FinishedRow) -> str:
        return finished_sizes.text(row).rule

    def get_limit(self, row: FinishedRow) -> str:
        return finished_sizes.text(row).limit

    def get_tolerance(self, row: FinishedRow) -> str:
        return finished_sizes.text(row).tolerance


class FinishedSetOut(serializers.ModelSerializer[FinishedSet]):
    class Meta:
        model = FinishedSet
        fields = ("number", "occasion", "taken_on", "how", "taken_by", "doubts", "confirmed_by")


class FinishedOut(serializers.Serializer[Any]):
    edition = serializers.CharField(help_text="The class edition that it is compared with.")
    on = serializers.DateField(help_text="The day on which it is expected to be certified.")
    outside = serializers.BooleanField(help_text="Whether a reading breaches a limit: the ticket is held then.")
    rows = FinishedRowOut(many=True)
    sets = FinishedSetOut(many=True)


class FinishedReadingIn(serializers.Serializer[Any]):
    path = serializers.CharField(max_length=120)
    readings = serializers.ListField(child=serializers.CharField(max_length=40), max_length=MOST)


class FinishedIn(serializers.Serializer[Any]):
    values = FinishedReadingIn(many=True)
    occasion = serializers.ChoiceField(Occasion.choices, default=Occasion.FIRST)
    taken_on = serializers.DateField()
    how = serializers.CharField(max_length=300)
    taken_by = serializers.CharField(max_length=200)
    confirmed_by = serializers.CharField(
        max_length=200, required=False, default="", allow_blank=True, help_text="Who stands by what is hard to believe."
    )


class LabelIn(serializers.Serializer[Any]):
    label_number = serializers.CharField(max_length=40, help_text="The number on the class label that was sewn on.")


class NonClassIn(serializers.Serializer[Any]):
    """The customer's written yes to a sail that is not class legal."""

    name = serializers.CharField(max_length=120, help_text="Who wrote the yes.")
    said_on = serializers.DateField(help_text="The day of it.")
    words = serializers.CharField(max_length=500, help_text="Its words.")
    label_is_off = serializers.BooleanField(
        required=False, default=False, help_text="A class label that was sewn on already has been taken off again."
    )


class ScrapIn(serializers.Serializer[Any]):
    reason = serializers.CharField(max_length=300)


class TicketViews(viewsets.ViewSet):
    """Work tickets, in the order in which they are due."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    lookup_value_converter = "int"
    policy: ClassVar = {
        "list": "see_tickets", "retrieve": "see_tickets", "sheet": "see_tickets", "start_step": "work_ticket", "finish_step": "work_ticket",
        "rules": "release_ticket", "non_class": "sell_non_class", "sign_options": "release_ticket", "label": "work_ticket",
        "scrap": "scrap_ticket", "finished": "see_tickets", "measure": "measure_sail",
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
        content = _SHEETS[station](paper.ticket_document(ticket, common.loft_profile(), now=timezone.now()))
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

    @extend_schema(parameters=[versions.IF_MATCH], request=NonClassIn, responses=TicketWithSteps)
    @action(detail=True, methods=["post"], url_path="non-class")
    def non_class(self, request: Request, pk: int) -> Response:
        """Sell a sail that the class rules hold as NON-CLASS, on the customer's written yes: for the manager alone."""
        asked, seen = NonClassIn(data=request.data), versions.asked(request)
        asked.is_valid(raise_exception=True)
        given = dict(asked.validated_data)
        off, yes = given.pop("label_is_off"), non_class.WrittenYes(**given)
        non_class.sell(ticket=selectors.ticket(pk), yes=yes, label_is_off=off, by=person(request), now=timezone.now(), version=seen)
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

    @extend_schema(operation_id="tickets_measured_retrieve", responses=FinishedOut)
    @action(detail=True, url_path="measured")
    def finished(self, request: Request, pk: int) -> Response:
        """What is to be measured on the finished sail, with limits and targets, and what has been: the loft's own check, no certificate."""
        return _finished(pk)

    @extend_schema(
        operation_id="tickets_measured_create", request=FinishedIn, responses={201: FinishedOut},
        parameters=[versions.IF_MATCH, OpenApiParameter(HEADER, str, "header", required=True)],
    )  # fmt: skip
    @finished.mapping.post
    @idempotent
    def measure(self, request: Request, pk: int) -> Response:
        """Keep what the finished sail measured. A breach of the class holds the ticket: recut, measure again, or sell it as NON-CLASS."""
        ticket, asked, seen = selectors.ticket(pk), FinishedIn(data=request.data), versions.asked(request)
        asked.is_valid(raise_exception=True)
        said = asked.validated_data
        finished.record(
            ticket=ticket, readings=_readings(said["values"]), confirmed_by=said["confirmed_by"],
            taken=finished.Taken(said["taken_on"], said["how"], said["taken_by"], said["occasion"]), by=person(request),
            now=timezone.now(), version=seen, made_at=f"/api/tickets/{pk}/measured/",
        )  # fmt: skip
        return _finished(pk, status.HTTP_201_CREATED)

    @extend_schema(parameters=[versions.IF_MATCH], request=ScrapIn, responses=TicketWithSteps)
    @action(detail=True, methods=["post"])
    def scrap(self, request: Request, pk: int) -> Response:
        """Take a sail out of work for good."""
        asked, seen = ScrapIn(data=request.data), versions.asked(request)
        asked.is_valid(raise_exception=True)
        services.scrap(ticket=selectors.ticket(pk), by=person(request), now=timezone.now(), version=seen, **asked.validated_data)
        return _ticket(pk)


def _readings(values: Sequence[Mapping[str, Any]]) -> Mapping[str, Sequence[str]]:
    """The readings by their paths; InputError for a path that stands twice, of which one would be lost."""
    wrong, found = Collector(), dict[str, Sequence[str]]()
    for i, value in enumerate(values):
        if value["path"] in found:
            wrong.add(f"values[{i}].path", "twice", f"{value['path']} stands in the request already: give all its readings at once")
        found[value["path"]] = value["readings"]
    wrong.raise_if_any()
    return found


def _ticket(pk: int) -> Response:
    ticket = selectors.ticket(pk)
    return Response(TicketWithSteps(ticket).data, headers=versions.headers(ticket))


def _finished(pk: int, code: int = status.HTTP_200_OK) -> Response:
    ticket = selectors.ticket(pk)
    found = finished.of_ticket(ticket, now=timezone.now())
    shown = {
        "edition": found.edition, "on": found.on, "outside": bool(found.breached), "rows": found.rows,
        "sets": selectors.finished_sets(ticket),
    }  # fmt: skip
    return Response(FinishedOut(shown).data, status=code, headers=versions.headers(ticket))
