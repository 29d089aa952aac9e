"""Confirming a sail's fit over HTTP: it belongs to the desk, because the fit sheet is the boat's."""

from __future__ import annotations

from typing import ClassVar

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import viewsets
from rest_framework.request import Request
from rest_framework.response import Response

from loft.common import versions
from loft.common.api_access import ByPolicy, person
from loft.orders import services
from loft.workshop import selectors as workshop
from loft.workshop.api import TicketWithSteps


class FitViews(viewsets.ViewSet):
    """The fit of a ticket's sail."""

    permission_classes = (ByPolicy,)
    policy: ClassVar = {"fit": "release_ticket"}

    @extend_schema(parameters=[versions.IF_MATCH], request=None, responses=TicketWithSteps)
    def fit(self, request: Request, pk: int) -> Response:
        """The boat's fit sheet has been checked for this sail, and goes onto its ticket; 409 while the boat has none."""
        seen = versions.asked(request)
        services.confirm_fit(ticket=workshop.ticket(pk), by=person(request), now=timezone.now(), version=seen)
        ticket = workshop.ticket(pk)
        return Response(TicketWithSteps(ticket).data, headers=versions.headers(ticket))
