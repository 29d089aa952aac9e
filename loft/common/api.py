"""The loft's own details over HTTP."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from loft.common import policies, selectors, services, versions
from loft.common.api_access import person
from loft.common.models import LoftProfile


class ProfileShape(serializers.ModelSerializer[LoftProfile]):
    class Meta:
        model = LoftProfile
        fields = LoftProfile.EDITED


class ProfileView(APIView):
    """The loft as it stands on paper."""

    @extend_schema(responses=ProfileShape)
    def get(self, request: Request) -> Response:
        policies.require(person(request), "edit_profile")
        row = selectors.loft_profile()
        return Response(ProfileShape(row).data, headers=versions.headers(row))

    @extend_schema(parameters=[versions.IF_MATCH], request=ProfileShape, responses=ProfileShape)
    def put(self, request: Request) -> Response:
        """Change it, for every paper that is made from now on."""
        policies.require(person(request), "edit_profile")
        asked: Any = ProfileShape(data=request.data)
        asked.is_valid(raise_exception=True)
        row = services.save_loft_profile(by=person(request), version=versions.asked(request), **asked.validated_data)
        return Response(ProfileShape(row).data, headers=versions.headers(row))
