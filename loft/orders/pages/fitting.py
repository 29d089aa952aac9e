"""A ticket's way to its boat: her page with the fit sheet, and the button that confirms the fit of the sail on it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from loft.common import pages, versions
from loft.customers import fit
from loft.orders import services
from loft.workshop import pages as workshop_pages
from loft.workshop import selectors
from loft.workshop.models import Ticket


@require_POST
@pages.may("release_ticket")
def confirm_fit(request: HttpRequest, pk: int) -> HttpResponse:
    """The boat's fit sheet has been checked for this sail."""

    def confirm(ticket: Ticket) -> str:
        services.confirm_fit(ticket=ticket, by=pages.person(request), now=timezone.now(), version=versions.of_form(request))
        return "Fit details confirmed."

    return workshop_pages.meet(request, pk, confirm)


@require_GET
@pages.may("edit_customers")
def boat_of_ticket(request: HttpRequest, pk: int) -> HttpResponse:
    """From a ticket to its boat's page, where her fit sheet and measurements are."""
    ticket = selectors.ticket(pk)
    boat = fit.boat_of(class_code=ticket.class_code, sail_number=ticket.sail_number, name=ticket.boat, owner=ticket.owner)
    return redirect("edit_boat", boat.pk)
