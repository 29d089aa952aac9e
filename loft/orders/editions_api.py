"""What an edition does to offered, unfinished and stored sails, over HTTP."""

from __future__ import annotations

from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from loft.catalogue import selectors as catalogue
from loft.common.api_access import ByPolicy
from loft.common.api_pages import Pages
from loft.orders import new_edition


class EditionAsked(serializers.Serializer[Any]):
    class_code = serializers.CharField(max_length=40)
    edition = serializers.CharField(max_length=40)


class AffectedOut(serializers.Serializer[Any]):
    what = serializers.CharField(help_text=f"{new_edition.OPEN_QUOTE}, {new_edition.UNFINISHED} or {new_edition.IN_STOCK}.")
    pk = serializers.IntegerField(help_text="Of the quote or of the ticket.")
    reference = serializers.CharField()
    sail = serializers.CharField()
    edition = serializers.CharField(help_text="The one that it was designed under.")
    expected_on = serializers.DateField(help_text="When it is expected to be certified.")
    bound = serializers.BooleanField(help_text="Whether that day is one of the edition's.")
    breaches = serializers.ListField(child=serializers.CharField(), help_text="With rule number and by how much.")
    left_open = serializers.ListField(child=serializers.CharField(), help_text="What nobody can compare.")


class WouldBreachViews(viewsets.ViewSet):
    """Sails that would breach an edition of their class."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    policy: ClassVar = {"list": "see_prices"}

    @extend_schema(parameters=[EditionAsked], responses=AffectedOut(many=True))
    def list(self, request: Request) -> Response:
        """Open quotes, unfinished tickets and sails in stock, those that the edition binds first."""
        asked = EditionAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        rule = catalogue.class_rule(code=asked.validated_data["class_code"], edition=asked.validated_data["edition"])
        report = new_edition.would_breach(rule, now=timezone.now())
        pages = Pages()
        return pages.get_paginated_response(AffectedOut(pages.paginate_queryset(report.rows, request, self), many=True).data)
