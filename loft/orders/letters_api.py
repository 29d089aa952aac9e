"""The owner's wording of letters over HTTP."""

from __future__ import annotations

from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from loft.common import versions
from loft.common.api_access import ByPolicy, person
from loft.orders import services, wording


class WordingIn(serializers.Serializer[Any]):
    subject = serializers.CharField(max_length=wording.MOST_SUBJECT)
    body = serializers.CharField(max_length=wording.MOST_BODY, help_text="Paragraphs, a blank line between them.")


class WordingOut(serializers.Serializer[Any]):
    name = serializers.CharField()
    title = serializers.CharField()
    version = serializers.IntegerField(help_text="0 is the wording that the service came with.")
    subject = serializers.CharField()
    body = serializers.CharField()
    placeholders = serializers.SerializerMethodField()

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_placeholders(self, row: wording.Wording) -> Any:
        return list(wording.kind_of(row.name).known)


class LetterViews(viewsets.ViewSet):
    """The letters that the service writes."""

    permission_classes = (ByPolicy,)
    lookup_field = "name"
    lookup_value_converter = "slug"
    pagination_class = None
    policy: ClassVar = {"list": "edit_profile", "retrieve": "edit_profile", "update": "edit_profile"}

    @extend_schema(responses=WordingOut(many=True))
    def list(self, request: Request) -> Response:
        return Response(WordingOut([wording.current(name) for name in wording.KINDS], many=True).data)

    @extend_schema(responses=WordingOut)
    def retrieve(self, request: Request, name: str) -> Response:
        return _answer(wording.current(name))

    @extend_schema(parameters=[versions.IF_MATCH], request=WordingIn, responses=WordingOut)
    def update(self, request: Request, name: str) -> Response:
        """Keep a new version, for every letter that is sent from now on; an unknown placeholder is refused with the list of known ones."""
        seen = versions.asked(request)
        wording.kind_of(name)
        asked = WordingIn(data=request.data)
        asked.is_valid(raise_exception=True)
        return _answer(services.word_letter(name=name, by=person(request), now=timezone.now(), version=seen, **asked.validated_data))


def _answer(row: wording.Wording) -> Response:
    return Response(WordingOut(row).data, headers=versions.headers(row))
