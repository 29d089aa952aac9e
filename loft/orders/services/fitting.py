"""Confirming the fit of a sail: it takes the boat's fit sheet, which goes onto the ticket."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User

from costing.measurements import SailKind
from loft.common import policies, versions
from loft.common.errors import Conflict
from loft.customers import fit
from loft.workshop import selectors as floor
from loft.workshop import services as workshop
from loft.workshop.models import Ticket


def confirm_fit(*, ticket: Ticket, by: User, now: datetime, version: int | None = None) -> None:
    """The boat's fit sheet has been checked for this sail; Conflict while there is none, NotFound while the boat is not stored."""
    policies.require(by, "release_ticket")
    versions.expect(ticket, version)
    lines = fit_lines(ticket)
    if not lines:
        told = f"There is no fit sheet of {ticket.boat} yet, or nothing on it that her {kind_of(ticket).value.replace('_', ' ')} must fit"
        raise Conflict(f"{told}: fill it in on the boat's page, then confirm the fit.")
    workshop.confirm_fit(ticket=ticket, fit=lines, by=by, now=now, version=version)


def fit_lines(ticket: Ticket) -> tuple[fit.Line, ...]:
    """What the newest fit sheet of a ticket's boat has for its kind of sail, for paper; empty while there is nothing."""
    boat = fit.boat_of(class_code=ticket.class_code, sail_number=ticket.sail_number, name=ticket.boat, owner=ticket.owner)
    sheet = fit.latest(boat)
    return fit.lines(sheet, kind_of(ticket)) if sheet else ()


def kind_of(ticket: Ticket) -> SailKind:
    """The kind of sail that a ticket is for."""
    key = ticket.design.key
    return floor.designs_by_key({key})[key].outline.kind
