"""The catalogue over HTTP, to read: classes, patterns and supplier lists."""

from __future__ import annotations

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from costing import prices, quote
from costing.prices.retail import RetailList
from costing.rules import ClassRule
from loft.catalogue import selectors
from loft.common.api_access import ByPolicy
from loft.common.api_pages import Pages


class LimitOut(serializers.Serializer[Any]):
    measurement = serializers.CharField()
    rule = serializers.CharField()
    minimum = serializers.CharField(allow_null=True, help_text="Exact, in the measurement's unit.")
    maximum = serializers.CharField(allow_null=True)
    printed = serializers.CharField(help_text="As the rule prints it.")
    corner = serializers.CharField(allow_null=True)


class OptionRuleOut(serializers.Serializer[Any]):
    option = serializers.CharField()
    choice = serializers.CharField()
    rule = serializers.CharField()


class SailRuleOut(serializers.Serializer[Any]):
    kind = serializers.CharField()
    limits = LimitOut(many=True)
    options = OptionRuleOut(many=True)


class ClassOut(serializers.Serializer[ClassRule]):
    code = serializers.CharField()
    name = serializers.CharField()
    edition = serializers.CharField()
    correction = serializers.IntegerField(help_text="How often the text of this edition has been set right.")
    valid_from = serializers.DateField()
    valid_to = serializers.DateField(allow_null=True)
    authority = serializers.CharField()
    sails = SailRuleOut(many=True)


class PatternOptionOut(serializers.Serializer[Any]):
    code = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]  # a field of that name
    choice = serializers.CharField()
    rule = serializers.CharField()
    default = serializers.BooleanField()


class PatternOut(serializers.Serializer[quote.Pattern]):
    code = serializers.CharField()
    version = serializers.IntegerField()
    name = serializers.CharField()
    class_code = serializers.CharField()
    edition = serializers.CharField()
    sail_kind = serializers.CharField()
    options = PatternOptionOut(many=True)
    cloths = serializers.ListField(child=serializers.CharField())
    steps = serializers.ListField(child=serializers.CharField())


class BreakOut(serializers.Serializer[Any]):
    from_quantity = serializers.CharField()
    unit_cost = serializers.CharField()


class SupplierRowOut(serializers.Serializer[Any]):
    row = serializers.IntegerField()
    material = serializers.CharField()
    their_code = serializers.CharField()
    unit = serializers.CharField()
    minimum = serializers.CharField(help_text="The least that is sold, in this unit; 0 for any.")
    pack = serializers.CharField()
    expected = serializers.DateField(allow_null=True, help_text="When it is back, where it is on back order.")
    special = serializers.BooleanField()
    breaks = BreakOut(many=True)


class SupplierListOut(serializers.Serializer[prices.SupplierList]):
    supplier = serializers.CharField()
    version = serializers.CharField()
    valid_from = serializers.DateField()
    valid_to = serializers.DateField(allow_null=True)
    currency = serializers.CharField()
    carriage = serializers.CharField(help_text="A fraction of the price.")
    duty = serializers.CharField(help_text="A fraction of the price with its carriage.")
    rows = SupplierRowOut(many=True)


class OptionPriceOut(serializers.Serializer[Any]):
    option = serializers.CharField()
    price = serializers.CharField()


class OfferOut(serializers.Serializer[Any]):
    name = serializers.CharField()
    price = serializers.CharField()
    valid_from = serializers.DateField(allow_null=True)
    until = serializers.DateField()


class RetailEntryOut(serializers.Serializer[Any]):
    pattern = serializers.CharField()
    name = serializers.CharField()
    cloth = serializers.CharField()
    price = serializers.CharField()
    variant = serializers.CharField(help_text="What a sail to the boat's own measurements costs more.")
    options = OptionPriceOut(many=True)
    offers = OfferOut(many=True)


class RetailListOut(serializers.Serializer[RetailList]):
    class_code = serializers.CharField()
    season = serializers.CharField()
    version = serializers.IntegerField()
    valid_from = serializers.DateField()
    valid_to = serializers.DateField(allow_null=True)
    currency = serializers.CharField()
    with_tax = serializers.BooleanField()
    entries = RetailEntryOut(many=True)


class ClassViews(viewsets.ViewSet):
    """Every edition of every class, the newest of a class first."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    policy: ClassVar = {"list": "see_catalogue"}

    @extend_schema(responses=ClassOut(many=True))
    def list(self, request: Request) -> Response:
        return _page(self, request, selectors.class_rules(), ClassOut)


class PatternViews(viewsets.ViewSet):
    """Every version of every pattern, the newest of a pattern first."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    policy: ClassVar = {"list": "see_catalogue"}

    @extend_schema(responses=PatternOut(many=True))
    def list(self, request: Request) -> Response:
        return _page(self, request, selectors.patterns(), PatternOut)


class SupplierListViews(viewsets.ViewSet):
    """Every version of every supplier's list, the newest of a supplier first: what things cost the loft."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    policy: ClassVar = {"list": "see_costs"}

    @extend_schema(responses=SupplierListOut(many=True))
    def list(self, request: Request) -> Response:
        return _page(self, request, selectors.supplier_lists(), SupplierListOut)


class RetailListViews(viewsets.ViewSet):
    """Every version of the loft's own prices, by class, the newest first."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    policy: ClassVar = {"list": "see_costs"}

    @extend_schema(responses=RetailListOut(many=True))
    def list(self, request: Request) -> Response:
        return _page(self, request, selectors.retail_lists(), RetailListOut)


def _page(view: viewsets.ViewSet, request: Request, rows: tuple[Any, ...], shape: type[serializers.Serializer[Any]]) -> Response:
    pages = Pages()
    return pages.get_paginated_response(shape(pages.paginate_queryset(rows, request, view), many=True).data)
