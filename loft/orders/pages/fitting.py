"""The button on a ticket that confirms the fit of its sail."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_POST

from loft.common import pages, versions
from loft.orders import services
from loft.workshop import pages as workshop_pages
from loft.workshop.models import Ticket


@require_POST
@pages.may("release_ticket")
def confirm_fit(request: HttpRequest, pk: int) -> HttpResponse:
    """The boat's fit sheet has been checked for this sail."""

    def confirm(ticket: Ticket) -> str:
        services.confirm_fit(ticket=ticket, by=pages.person(request), now=timezone.now(), version=versions.of_form(request))
        return "Fit details confirmed."

    return workshop_pages.meet(request, pk, confirm)
