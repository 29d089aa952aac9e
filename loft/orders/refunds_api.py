"""Money paid back over HTTP."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status, viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from loft.common.api_access import ByPolicy, person
from loft.common.idempotency import KEY, idempotent
from loft.orders import api_shapes as shapes
from loft.orders import selectors, services
from loft.orders.api import valid


class RefundIn(serializers.Serializer[Any]):
    amount = serializers.DecimalField(12, 3, min_value=Decimal("0.001"))
    paid_on = serializers.DateField()
    reference = serializers.CharField(max_length=120, required=False, default="", allow_blank=True)


class RefundViews(viewsets.ViewSet):
    """Money that was paid back to a customer."""

    permission_classes = (ByPolicy,)
    policy: ClassVar = {"create": "record_payment"}

    @extend_schema(parameters=[KEY], request=RefundIn, responses={201: shapes.PaymentOut})
    @idempotent
    def create(self, request: Request, pk: int) -> Response:
        """Note money paid back: at most what was paid beyond the order's total, of a cancelled order what was paid. It is below zero."""
        asked = valid(RefundIn(data=request.data))
        place = f"/api/orders/{pk}/"
        payment = services.record_refund(order=selectors.order(pk), by=person(request), now=timezone.now(), made_at=place, **asked)
        return Response(shapes.PaymentOut(payment).data, status=status.HTTP_201_CREATED, headers={"Location": place})
