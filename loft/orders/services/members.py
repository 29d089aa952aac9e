"""What a member of an association does on the page of his own sails, and the letters that ask him to."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from costing.errors import problem
from loft.common import audit, idempotency, policies, versions
from loft.common.errors import Conflict, NotFound
from loft.jobs import mail
from loft.orders import members, selectors
from loft.orders.members import Member
from loft.orders.models import MemberLetter, Order, OrderLine
from loft.orders.services import fitting
from loft.orders.services.acceptance import name_of
from loft.orders.states import OrderState
from loft.workshop import services as workshop
from loft.workshop.states import Need, TicketState

THE_MEMBER = "the member"
Kind = MemberLetter.Kind


@dataclass(frozen=True, slots=True)
class Written:
    """Whom a letter goes to now, who has no address, and who was passed over: written to before, or with nothing to be asked about."""

    written: tuple[Member, ...]
    without_address: tuple[Member, ...]
    passed_over: tuple[Member, ...]


def confirm_details(*, token: str, name: str, now: datetime) -> tuple[OrderLine, ...]:
    """The member confirms the details of every sail of his boat that is made at once; a second time changes nothing.

    That meets the tickets' need of it if his boat's fit sheet is there, and puts the sheet on the tickets; without one the need stays.

    NotFound for a link that opens nothing, InputError when the name is missing, Conflict when the order is no longer open or no sail of
    the boat is made.
    """
    name = name_of(name)
    line = selectors.line_for_member(token)
    with transaction.atomic():
        versions.take(line.order, None)
        line.order.refresh_from_db(fields=["state"])
        if line.order.state != OrderState.OPEN:
            raise Conflict(f"{line.order} is {line.order.get_state_display()}: there is nothing to confirm")
        made = [sail for sail in selectors.suit_of(line) if sail.ticket.state != TicketState.SCRAPPED]
        if not made:
            raise Conflict(f"no sail of {line.boat} is made: there is nothing to confirm")
        for sail in made:
            if OrderLine.objects.filter(pk=sail.pk, confirmed_at=None).update(confirmed_at=now, confirmed_name=name):
                after = {"ticket": sail.ticket.number, "name": name}
                audit.record("confirm_details", line.order, by=None, who=THE_MEMBER, after=after, personal=["name"])
                _meet_fit(sail, name, now)
    return tuple(selectors.suit_of(line))


def write_to_members(
    *, order: Order, by: User | None, now: datetime, kind: str = Kind.DETAILS, again: bool = False, only: Collection[int] = (),
    made_at: str = "",
) -> Written:  # fmt: skip
    """Have a letter sent to each member of an association's order: the link to his page, or a reminder of it.

    Who was sent one of this kind is passed over, unless `again`; who has confirmed everything, or whose sails were given up, always is. A
    reminder goes only to those who were written to. only: the positions of sails, to write to their owners alone. made_at: where the
    members are shown, noted for a request that is sent twice. Conflict when the order is not open, NotFound when it has no members,
    InputError for an unknown position.
    """
    policies.require(by, "write_to_members")
    with transaction.atomic():
        versions.take(order, None)  # of two who press the button at once, the second waits here and sees the letters of the first
        order.refresh_from_db(fields=["state"])
        if order.state != OrderState.OPEN:
            raise Conflict(f"{order} is {order.get_state_display()}: there is nothing to confirm")
        done = _sorted(_asked_for(order, only), kind, again)
        for member in done.written:
            _send(order, member, kind, by, now)
        if done.written:
            after = {"kind": str(kind), "lines": [member.first.position for member in done.written], "again": again}
            audit.record("write_to_members", order, by=by, after=after)
        if made_at:
            idempotency.made(made_at)
    return done


def _asked_for(order: Order, only: Collection[int]) -> tuple[Member, ...]:
    found = members.of_order(order, base_url="")
    if not found:
        raise NotFound(f"{order} has no members to write to: it is not an association's")
    unknown = sorted(set(only) - {line.position for member in found for line in member.lines})
    if unknown:
        raise problem("positions", "unknown", f"{order} has no line {', '.join(map(str, unknown))}")
    return tuple(m for m in found if not only or any(line.position in only for line in m.lines))


def _sorted(asked: Collection[Member], kind: str, again: bool) -> Written:
    due = [m for m in asked if _due(m, kind, again)]
    addressed = tuple(m for m in due if m.email)
    return Written(addressed, tuple(m for m in due if not m.email), tuple(m for m in asked if m not in due))


def _due(member: Member, kind: str, again: bool) -> bool:
    if not member.made or member.confirmed_at is not None or (kind == Kind.REMINDER and member.written_at is None):
        return False
    return again or not member.written(kind)


def _send(order: Order, member: Member, kind: str, by: User | None, now: datetime) -> None:
    """Enqueue the letter under a key of its own: the n-th of this kind to this member."""
    nth = 1 + sum(1 for row in member.letters if row.kind == kind)
    name = f"member_{kind}"
    key = f"{name}:{member.first.pk}" + (f":{nth}" if nth > 1 else "")
    job = mail.enqueue_letter(name=name, key=key, payload={"line": member.first.pk, "revision": order.revision.revision})
    MemberLetter.objects.create(line=member.first, kind=kind, job=job, asked_at=now, asked_by=by)


def _meet_fit(line: OrderLine, name: str, now: datetime) -> None:
    try:
        lines = fitting.fit_lines(line.ticket)
    except NotFound:
        return
    if lines:
        workshop.put_fit(line.ticket, lines)
        workshop.meet([line.ticket], Need.FIT, by=name, now=now, who=THE_MEMBER)
