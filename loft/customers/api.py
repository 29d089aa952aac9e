"""Customers and boats over HTTP."""

from __future__ import annotations

from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from costing.measurements import SailKind
from loft.common import versions
from loft.common.api_access import ByPolicy, person
from loft.common.api_pages import Pages
from loft.common.idempotency import KEY, idempotent
from loft.customers import fit, measuring, selectors, services
from loft.customers.models import Boat, Customer, FitDetail, FitSheet, MeasuredValue, MeasurementSet


class CustomerIn(serializers.Serializer[Any]):
    """A new customer's details."""

    kind = serializers.ChoiceField(Customer.Kind.choices)
    name = serializers.CharField(max_length=200)
    email = serializers.EmailField(required=False, default="", allow_blank=True)
    address = serializers.CharField(max_length=2000, required=False, default="", allow_blank=True, help_text="Lines as lines.")
    buyer = serializers.ChoiceField(Customer.Buyer.choices)
    tax_exempt = serializers.CharField(max_length=120, required=False, allow_blank=True, help_text="Why no tax is charged; else empty.")


class CustomerOut(serializers.ModelSerializer[Customer]):
    class Meta:
        model = Customer
        fields = ("id", "kind", "name", "email", "address", "buyer", "tax_exempt")


class MeasuredValueOut(serializers.ModelSerializer[MeasuredValue]):
    readings = serializers.ListField(child=serializers.CharField())

    class Meta:
        model = MeasuredValue
        fields = ("measurement", "printed", "unit", "mm", "readings")


class MeasurementSetOut(serializers.ModelSerializer[MeasurementSet]):
    values = MeasuredValueOut(many=True)
    doubts = serializers.ListField(child=serializers.CharField(), help_text="What was hard to believe.")

    class Meta:
        model = MeasurementSet
        fields = ("taken_on", "how", "taken_by", "doubts", "confirmed_by", "on_record", "of_list", "values")


class FitDetailOut(serializers.ModelSerializer[FitDetail]):
    class Meta:
        model = FitDetail
        fields = ("item", "value", "mm", "how", "taken_by", "taken_on")


class FitSheetOut(serializers.ModelSerializer[FitSheet]):
    details = FitDetailOut(many=True)

    class Meta:
        model = FitSheet
        fields = ("entered_at", "entered_by", "details")


class FitRowIn(serializers.Serializer[Any]):
    item = serializers.CharField(max_length=40)
    value = serializers.CharField(max_length=120)
    how = serializers.CharField(max_length=300)
    taken_by = serializers.CharField(max_length=200)
    taken_on = serializers.DateField()


class FitIn(serializers.Serializer[Any]):
    details = FitRowIn(many=True)


class ReadingIn(serializers.Serializer[Any]):
    measurement = serializers.CharField(max_length=60)
    readings = serializers.ListField(child=serializers.CharField(max_length=40), help_text="As written, with units.")


class MeasurementsIn(serializers.Serializer[Any]):
    sail_kind = serializers.ChoiceField([k.value for k in SailKind])
    taken_on = serializers.DateField()
    how = serializers.CharField(max_length=200)
    taken_by = serializers.CharField(max_length=200)
    confirmed_by = serializers.CharField(max_length=200, required=False, default="", allow_blank=True, help_text="Who stands by doubts.")
    values = ReadingIn(many=True)


class BoatOut(serializers.ModelSerializer[Boat]):
    measurement_sets = MeasurementSetOut(many=True)
    fit_sheets = FitSheetOut(many=True)

    class Meta:
        model = Boat
        fields = ("id", "class_code", "sail_number", "name", "owner", "email", "measurement_sets", "fit_sheets")


class BoatIn(serializers.Serializer[Any]):
    """A boat's details as they should be."""

    name = serializers.CharField(max_length=200)
    owner = serializers.CharField(max_length=200)
    sail_number = serializers.CharField(max_length=20, allow_blank=True, help_text="Empty: to follow.")
    email = serializers.EmailField(required=False, allow_blank=True, help_text="The owner's; as it is when left out.")


class BoatFilter(serializers.Serializer[Any]):
    class_code = serializers.CharField(max_length=40, required=False, default="")


class CustomerViews(viewsets.ViewSet):
    """Customers, by name."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    lookup_value_converter = "int"
    policy: ClassVar = {"list": "see_customers", "retrieve": "see_customers", "create": "edit_customers", "update": "edit_customers"}

    @extend_schema(responses=CustomerOut(many=True))
    def list(self, request: Request) -> Response:
        pages = Pages()
        rows = pages.paginate_queryset(selectors.customers(), request, self)
        return pages.get_paginated_response(CustomerOut(rows, many=True).data)

    @extend_schema(responses=CustomerOut)
    def retrieve(self, request: Request, pk: int) -> Response:
        customer = selectors.customer(pk)
        return Response(CustomerOut(customer).data, headers=versions.headers(customer))

    @extend_schema(parameters=[KEY], request=CustomerIn, responses={201: CustomerOut})
    @idempotent
    def create(self, request: Request) -> Response:
        asked = CustomerIn(data=request.data)
        asked.is_valid(raise_exception=True)
        customer = services.save_customer(**asked.validated_data, made_at="/api/customers/{}/", by=person(request))
        headers = {"Location": f"/api/customers/{customer.pk}/", **versions.headers(customer)}
        return Response(CustomerOut(customer).data, status=status.HTTP_201_CREATED, headers=headers)

    @extend_schema(parameters=[versions.IF_MATCH], request=CustomerIn, responses=CustomerOut)
    def update(self, request: Request, pk: int) -> Response:
        """Change a customer. Quotes that were issued stay as they were sent."""
        asked = CustomerIn(data=request.data)
        asked.is_valid(raise_exception=True)
        customer = services.save_customer(pk=pk, **asked.validated_data, by=person(request), version=versions.asked(request))
        return Response(CustomerOut(customer).data, headers=versions.headers(customer))


class BoatViews(viewsets.ViewSet):
    """Boats, by class and number; they come in with the lists that are quoted."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    lookup_value_converter = "int"
    policy: ClassVar = {
        "list": "see_customers", "retrieve": "see_customers", "update": "edit_customers", "fit": "edit_customers",
        "measurements": "edit_customers",
    }  # fmt: skip

    @extend_schema(parameters=[BoatFilter], responses=BoatOut(many=True))
    def list(self, request: Request) -> Response:
        asked = BoatFilter(data=request.query_params)
        asked.is_valid(raise_exception=True)
        pages = Pages()
        rows = pages.paginate_queryset(selectors.boats(**asked.validated_data), request, self)
        return pages.get_paginated_response(BoatOut(rows, many=True).data)

    @extend_schema(responses=BoatOut)
    def retrieve(self, request: Request, pk: int) -> Response:
        boat = selectors.boat(pk)
        return Response(BoatOut(boat).data, headers=versions.headers(boat))

    @extend_schema(parameters=[versions.IF_MATCH], request=BoatIn, responses=BoatOut)
    def update(self, request: Request, pk: int) -> Response:
        """Correct a boat's name, owner or number."""
        asked = BoatIn(data=request.data)
        asked.is_valid(raise_exception=True)
        boat = services.save_boat(pk=pk, **asked.validated_data, by=person(request), version=versions.asked(request))
        return Response(BoatOut(boat).data, headers=versions.headers(boat))

    @extend_schema(parameters=[KEY], request=FitIn, responses={201: FitSheetOut})
    @action(detail=True, methods=["post"])
    @idempotent
    def fit(self, request: Request, pk: int) -> Response:
        """Keep a new fit sheet; each row says how it was taken, by whom and when."""
        boat, asked = selectors.boat(pk), FitIn(data=request.data)
        asked.is_valid(raise_exception=True)
        rows = {row["item"]: fit.Row(row["value"], row["how"], row["taken_by"], row["taken_on"]) for row in asked.validated_data["details"]}
        sheet = fit.keep(boat=boat, rows=rows, by=person(request), now=timezone.now(), made_at=f"/api/boats/{pk}/")
        return Response(FitSheetOut(sheet).data, status=status.HTTP_201_CREATED)

    @extend_schema(parameters=[KEY], request=MeasurementsIn, responses={201: MeasurementSetOut})
    @action(detail=True, methods=["post"])
    @idempotent
    def measurements(self, request: Request, pk: int) -> Response:
        """Keep what was measured; what is hard to believe is refused with every doubt until `confirmed_by` names who stands by it."""
        boat, asked = selectors.boat(pk), MeasurementsIn(data=request.data)
        asked.is_valid(raise_exception=True)
        said = asked.validated_data
        kept = measuring.keep(
            boat=boat, kind=SailKind(said["sail_kind"]), readings={v["measurement"]: v["readings"] for v in said["values"]},
            taken=measuring.Taken(said["taken_on"], said["how"], said["taken_by"]), confirmed_by=said["confirmed_by"], by=person(request),
            made_at=f"/api/boats/{pk}/",
        )  # fmt: skip
        return Response(MeasurementSetOut(kept).data, status=status.HTTP_201_CREATED)
