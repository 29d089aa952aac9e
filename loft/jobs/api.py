"""The background work over HTTP, for managers."""

from __future__ import annotations

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, viewsets
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from loft.common.api_access import ByPolicy, person
from loft.common.api_pages import Pages
from loft.jobs import mail, selectors, services
from loft.jobs.models import Job
from loft.jobs.states import State


class JobFilter(serializers.Serializer[Any]):
    state = serializers.ChoiceField(State.choices, required=False, default="")
    lane = serializers.ChoiceField(Job.Lane.choices, required=False, default="")


class AboutOut(serializers.Serializer[Any]):
    to = serializers.CharField(help_text="Where it goes as things stand.")
    subject = serializers.CharField(help_text="Which quote and revision, or which order.")
    place = serializers.CharField()


class JobOut(serializers.ModelSerializer[Job]):
    about = serializers.SerializerMethodField()

    class Meta:
        model = Job
        fields = (
            "id", "kind", "lane", "key", "state", "progress", "attempts", "run_after", "cancel_requested", "last_error", "created_at",
            "finished_at", "sent_to", "about",
        )  # fmt: skip

    @extend_schema_field(AboutOut(allow_null=True))
    def get_about(self, job: Job) -> Any:
        """What a letter is about; null for other work."""
        found = mail.about_of(job)
        return None if found is None else AboutOut(found).data


class JobViews(viewsets.ViewSet):
    """Background work, the newest first."""

    permission_classes = (ByPolicy,)
    pagination_class = Pages
    lookup_value_converter = "int"
    policy: ClassVar = dict.fromkeys(("list", "retrieve", "cancel", "run_again"), "manage_jobs")

    @extend_schema(parameters=[JobFilter], responses=JobOut(many=True))
    def list(self, request: Request) -> Response:
        asked = JobFilter(data=request.query_params)
        asked.is_valid(raise_exception=True)
        pages = Pages()
        rows = pages.paginate_queryset(selectors.jobs(**asked.validated_data), request, self)
        return pages.get_paginated_response(JobOut(rows, many=True).data)

    @extend_schema(responses=JobOut)
    def retrieve(self, request: Request, pk: int) -> Response:
        return Response(JobOut(selectors.job(pk)).data)

    @extend_schema(request=None, responses=JobOut)
    @action(detail=True, methods=["post"])
    def cancel(self, request: Request, pk: int) -> Response:
        """Take a job back: at once if it waits, at its next step if it runs."""
        return Response(JobOut(services.cancel(key=selectors.job(pk).key, by=person(request))).data)

    @extend_schema(request=None, responses=JobOut)
    @action(detail=True, methods=["post"], url_path="run-again")
    def run_again(self, request: Request, pk: int) -> Response:
        """Bring a job back from the dead list, with fresh attempts."""
        return Response(JobOut(services.retry(key=selectors.job(pk).key, by=person(request))).data)
