"""The members of an association's order over HTTP: who was written to, who has confirmed, and writing to them."""

from __future__ import annotations

from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from loft.common import selectors as common
from loft.common.api_access import ByPolicy, person
from loft.common.idempotency import HEADER, idempotent
from loft.orders import members, selectors, services
from loft.orders.models import MemberLetter

_KEY = OpenApiParameter(HEADER, str, "header", required=True, description="New for each time that letters are to be written.")


class MemberLetterOut(serializers.ModelSerializer[MemberLetter]):
    letter = serializers.ChoiceField(MemberLetter.Kind.choices, source="kind")
    state = serializers.CharField(source="job.state", help_text="That of its job: done once the mail server has taken it.")
    sent_to = serializers.CharField(source="job.sent_to")

    class Meta:
        model = MemberLetter
        fields = ("letter", "asked_at", "state", "sent_to")


class MemberOut(serializers.Serializer[Any]):
    positions = serializers.SerializerMethodField(help_text="The lines of the order that are his sails.")
    owner = serializers.CharField()
    boat = serializers.CharField(source="first.boat")
    email = serializers.CharField(help_text="Empty where none is kept.")
    address = serializers.CharField(help_text="The page of his sails, for him alone: whoever has it can confirm.")
    confirmed_at = serializers.DateTimeField(allow_null=True, help_text="Null while one of his sails is not confirmed.")
    confirmed_name = serializers.CharField()
    letters = MemberLetterOut(many=True)

    def get_positions(self, row: members.Member) -> list[int]:
        return [line.position for line in row.lines]


class WriteIn(serializers.Serializer[Any]):
    letter = serializers.ChoiceField(MemberLetter.Kind.choices, required=False, default=MemberLetter.Kind.DETAILS.value)
    again = serializers.BooleanField(required=False, default=False, help_text="Also to those who were sent this letter before.")
    positions = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=32767), required=False, default=list, max_length=400,
        help_text="Only to the owners of these lines; to every member when left out.",
    )  # fmt: skip


class WrittenOut(serializers.Serializer[Any]):
    written = serializers.ListField(child=serializers.IntegerField(), help_text="First lines of those whose letters are on their way.")
    without_address = serializers.ListField(child=serializers.IntegerField(), help_text="Of those without a mail address.")
    passed_over = serializers.ListField(child=serializers.IntegerField(), help_text="Of those sent the same before, or who confirmed.")


class MemberViews(viewsets.ViewSet):
    """The members of an association's order, by line."""

    permission_classes = (ByPolicy,)
    pagination_class = None
    policy: ClassVar = {"list": "edit_customers", "write": "write_to_members"}

    @extend_schema(responses=MemberOut(many=True))
    def list(self, request: Request, pk: int) -> Response:
        """Every member with his letters and his confirmation; none for another customer's order."""
        found = members.of_order(selectors.order(pk), base_url=common.loft_profile().public_base_url)
        return Response(MemberOut(found, many=True).data)

    @extend_schema(parameters=[_KEY], request=WriteIn, responses=WrittenOut)
    @idempotent
    def write(self, request: Request, pk: int) -> Response:
        """Send each member the link to his page, or a reminder of it; nobody gets the same letter twice unless `again` says so."""
        order, asked = selectors.order(pk), WriteIn(data=request.data)
        asked.is_valid(raise_exception=True)
        said = asked.validated_data
        done = services.write_to_members(
            order=order, by=person(request), now=timezone.now(), kind=said["letter"], again=said["again"], only=said["positions"],
            made_at=f"/api/orders/{pk}/members/",
        )  # fmt: skip
        groups = {"written": done.written, "without_address": done.without_address, "passed_over": done.passed_over}
        return Response(WrittenOut({name: [m.first.position for m in found] for name, found in groups.items()}).data)
