"""Confirming the fit of a sail: it takes the boat's fit sheet, which goes onto the ticket."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User

from loft.common import policies, versions
from loft.common.errors import Conflict
from loft.customers import fit
from loft.workshop import services as workshop
from loft.workshop.models import Ticket


def confirm_fit(*, ticket: Ticket, by: User, now: datetime, version: int | None = None) -> None:
    """The boat's fit sheet has been checked for this sail; Conflict while there is none, NotFound while the boat is not stored."""
    policies.require(by, "release_ticket")
    versions.expect(ticket, version)
    lines = fit_lines(ticket)
    if not lines:
        raise Conflict(f"There is no fit sheet of {ticket.boat} yet: fill it in on the boat's page, then confirm the fit.")
    workshop.confirm_fit(ticket=ticket, fit=lines, by=by, now=now, version=version)


def fit_lines(ticket: Ticket) -> tuple[fit.Line, ...]:
    """The newest fit sheet of a ticket's boat for paper; empty while there is none."""
    boat = fit.boat_of(class_code=ticket.class_code, sail_number=ticket.sail_number, name=ticket.boat, owner=ticket.owner)
    sheet = fit.latest(boat)
    return tuple(fit.lines(sheet)) if sheet else ()
