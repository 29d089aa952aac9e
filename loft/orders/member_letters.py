"""The letters to the members of an association: written when they are sent, from what is stored then."""

from __future__ import annotations

from typing import Any

from loft.common import selectors as common
from loft.jobs.mail import About, Letter, about, letter
from loft.jobs.registry import Cancelled, GiveUp
from loft.orders import letters, members, wording
from loft.orders.models import OrderLine
from loft.orders.states import OrderState


@letter("member_details")
def member_details(payload: dict[str, Any]) -> Letter:
    """To the owner of a boat: the link to the page of his sails, which he is asked to confirm; cancelled when none of them is made."""
    return _written("member_details", payload)


@letter("member_reminder")
def member_reminder(payload: dict[str, Any]) -> Letter:
    """To the owner of a boat who has not confirmed; the job ends as cancelled when he has by now."""
    return _written("member_reminder", payload)


@about("member_details")
@about("member_reminder")
def about_member(payload: dict[str, Any]) -> About:
    """Which sail of which order, by which revision, to whom."""
    line = _line(payload)
    words = f"{line.order.reference} line {line.position}, {line.order.revision.quote.reference} revision {payload['revision']}"
    return About(members.address_of(line), words, f"/orders/{line.order_id}/members/")


def _written(name: str, payload: dict[str, Any]) -> Letter:
    line, profile = _line(payload), common.loft_profile()
    order = line.order
    if order.state != OrderState.OPEN:
        raise GiveUp(f"{order} is {order.get_state_display()}: there is nothing to confirm any more")
    member = members.of_line(line, base_url=profile.public_base_url)
    if not member.made or (name == "member_reminder" and member.confirmed_at):
        raise Cancelled(name)
    if not member.email:
        raise GiveUp(f"no mail address is kept for the owner of {order} line {line.position}: enter it on the page of the boat")
    asked = common.local_time(member.written_at, profile).date() if member.written_at else None
    values = {
        "member": member.owner, "boat": line.boat, "sails": "\n".join(_called(line) for line in member.made),
        "customer": order.customer.name, "order": order.reference, wording.LINK: member.address,
        "written_on": letters.day(asked, profile),
    }  # fmt: skip
    return letters.written(name, member.email, values, profile)


def _line(payload: dict[str, Any]) -> OrderLine:
    rows = OrderLine.objects.select_related("order__customer", "order__revision__quote", "ticket")
    return rows.defer("order__revision__pdf", "order__revision__snapshot", "order__revision__boats", "ticket__sail").get(pk=payload["line"])


def _called(line: OrderLine) -> str:
    """A sail by its pattern's name, without the version that stands behind it."""
    return line.ticket.pattern_label.rpartition(" (")[0] or line.ticket.pattern_label
