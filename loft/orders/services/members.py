"""What a member of an association does on the page of his own sail."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from loft.common import audit, versions
from loft.common.errors import Conflict, NotFound
from loft.orders import selectors
from loft.orders.models import OrderLine
from loft.orders.services import fitting
from loft.orders.services.acceptance import name_of
from loft.orders.states import OrderState
from loft.workshop import services as workshop
from loft.workshop.states import Need

THE_MEMBER = "the member"


def confirm_details(*, token: str, name: str, now: datetime) -> OrderLine:
    """The member confirms the details of his sail; a second time changes nothing.

    That meets the ticket's need of it if his boat's fit sheet is there, and puts the sheet on the ticket; without one the need stays.

    NotFound for a link that opens nothing, InputError when the name is missing, Conflict when the order is no longer open.
    """
    name = name_of(name)
    line = selectors.line_for_member(token)
    with transaction.atomic():
        versions.take(line.order, None)
        line.order.refresh_from_db(fields=["state"])
        if line.order.state != OrderState.OPEN:
            raise Conflict(f"{line.order} is {line.order.get_state_display()}: there is nothing to confirm")
        if OrderLine.objects.filter(pk=line.pk, confirmed_at=None).update(confirmed_at=now, confirmed_name=name):
            _meet_fit(line, name, now)
            after = {"ticket": line.ticket.number, "name": name}
            audit.record("confirm_details", line.order, by=None, who=THE_MEMBER, after=after, personal=["name"])
    line.refresh_from_db(fields=["confirmed_at", "confirmed_name"])
    return line


def _meet_fit(line: OrderLine, name: str, now: datetime) -> None:
    try:
        lines = fitting.fit_lines(line.ticket)
    except NotFound:
        return
    if lines:
        workshop.put_fit(line.ticket, lines)
        workshop.meet([line.ticket], Need.FIT, by=name, now=now)
