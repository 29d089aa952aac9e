"""The writes of the floor: opening tickets, meeting what they wait for, working through their steps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F, Q

from costing import takeoff
from costing.errors import problem
from costing.quote import PricedSail, snapshot
from loft.catalogue import selectors as catalogue
from loft.common import audit, policies, versions
from loft.common.errors import Conflict
from loft.common.states import move_all, move_to
from loft.workshop import lay_planning, rule_check
from loft.workshop.models import Design, Requirement, Step, Ticket
from loft.workshop.new_tickets import NewNeed, NewTicket, need_row, step_rows, ticket_row
from loft.workshop.states import HOLDS_RELEASE, TICKET, Need, TicketState

_BEFORE_WORK = (TicketState.HELD, TicketState.RELEASED)


def keep_designs(new: Iterable[Design]) -> None:
    """Store designs that are not there yet; one that somebody else stored meanwhile is the same by its key."""
    Design.objects.bulk_create(new, ignore_conflicts=True)


def open_tickets(new: Sequence[NewTicket], *, now: datetime) -> tuple[Ticket, ...]:
    """Open tickets HELD with their steps and requirements, then release those that wait for nothing.

    Call it inside the transaction that opens the order. The number of statements does not grow with the number of tickets.
    """
    tickets = Ticket.objects.bulk_create([ticket_row(n, now) for n in new])
    Step.objects.bulk_create([step for t, n in zip(tickets, new, strict=True) for step in step_rows(t, n.plans)])
    Requirement.objects.bulk_create([need_row(t, need, now) for t, n in zip(tickets, new, strict=True) for need in n.needs])
    _release(tickets, None, None, now=now, who=audit.THE_CUSTOMER)
    return tuple(tickets)


def ask(ticket: Ticket, need: NewNeed, *, now: datetime) -> None:
    """Open one more need on a ticket; call it inside the transaction that makes it necessary."""
    need_row(ticket, need, now).save(force_insert=True)


def meet(
    tickets: Iterable[Ticket], need: Need, *, by: str, now: datetime, user: User | None = None, who: str = audit.THE_SERVICE
) -> int:  # fmt: skip
    """Mark a need as met on these tickets and release those that wait for nothing more; how many were released.

    by: the name that the tickets keep; user, who: whose doing the history calls it, which keeps no customer's name.
    """
    tickets = tuple(tickets)
    with transaction.atomic():
        _lock([t.pk for t in tickets])
        Requirement.objects.filter(ticket__in=tickets, kind=need, met_at__isnull=True).update(met_at=now, met_by=by)
        return _release(tickets, need, user, now=now, who=who)


def confirm_fit(*, ticket: Ticket, fit: Sequence[Sequence[str]], by: User, now: datetime, version: int | None = None) -> None:
    """The boat's fit sheet has been checked for this sail; fit: its lines (what, value, how, by whom, when), kept on the ticket."""
    if not fit:
        raise problem("fit", "missing", "the fit is confirmed on the boat's fit sheet, and there is none")
    with transaction.atomic():
        _confirm(ticket, Need.FIT, by, now, version)
        put_fit(ticket, fit)


def put_fit(ticket: Ticket, fit: Sequence[Sequence[str]]) -> None:
    """Print this fit sheet on the ticket from now on; call it inside the transaction that needs it."""
    Ticket.objects.filter(pk=ticket.pk).update(fit=[list(line) for line in fit])


def check_rules_again(*, ticket: Ticket, by: User, now: datetime, version: int | None = None) -> bool:
    """Compare a sail once more with the edition in force when it will be measured; whether nothing breaches, which may release it."""
    with transaction.atomic():
        _lock([ticket.pk])
        inside = rule_check.check_again(ticket=ticket, by=by, now=now, version=version)
        _release([ticket], Need.RULES, by, now=now)
    return inside


def confirm_options(*, ticket: Ticket, by: User, now: datetime, version: int | None = None) -> None:
    """The options have been confirmed by the customer other than by the acceptance itself."""
    _confirm(ticket, Need.OPTIONS, by, now, version)


def book_cloth(*, tickets: Sequence[Ticket], roll: str, lot: str, by: User, now: datetime, version: int | None = None) -> int:
    """Set a roll and dye lot aside for these sails; how many tickets that released.

    All body panels of one sail come from one lot, so a sail whose cutting has begun keeps the lot that it has (Conflict).
    version: of the one ticket that was looked at.
    """
    policies.require(by, "confirm_cloth")
    versions.expect(tickets[0], version)
    if not roll.strip() or not lot.strip():
        raise problem("lot" if roll.strip() else "roll", "missing", "name the roll and the dye lot that are set aside")
    begun = [t.number for t in tickets if t.state not in _BEFORE_WORK and (t.lot or t.state != TicketState.IN_WORK)]
    if begun:
        raise Conflict(f"{', '.join(begun)}: cutting has begun, the lot stays as it is")
    with transaction.atomic():
        if version is not None:
            versions.take(tickets[0], version)
        may = Q(state__in=_BEFORE_WORK) | Q(state=TicketState.IN_WORK, lot="")  # in work without a lot: a signed change took it away
        rows = Ticket.objects.filter(may, pk__in=[t.pk for t in tickets])
        if rows.update(roll=roll.strip(), lot=lot.strip(), version=F("version") + 1) != len(tickets):
            raise Conflict("cutting of one of these sails has begun meanwhile")
        audit.record_all("book_cloth", tickets, by=by, after={"roll": roll.strip(), "lot": lot.strip()})
        return meet(tickets, Need.CLOTH, by=by.get_username(), now=now, user=by)


def give_sail_number(*, ticket: Ticket, number: str, by: User, now: datetime, version: int | None = None) -> None:
    """Record a sail number that was to follow; where its characters go is worked out and the waiting step may be done."""
    policies.require(by, "give_sail_number")
    versions.expect(ticket, version)
    not_over(ticket)
    if ticket.sail_number is not None:
        raise Conflict(f"{ticket.number} already has the sail number {ticket.sail_number}")
    sail = numbered(snapshot.thaw_sail(bytes(ticket.sail)), ticket.design, ticket, number.strip())
    with transaction.atomic():
        versions.take(ticket, version)
        fields = {"sail_number": number.strip(), "sail_label": sail.label, "sail": snapshot.freeze_sail(sail)}
        if Ticket.objects.filter(pk=ticket.pk, sail_number__isnull=True).update(**fields) == 0:
            raise Conflict(f"{ticket.number} was given a sail number by somebody else")
        audit.record("give_sail_number", ticket, by=by, after={"sail_number": number.strip()}, personal=["sail_number"])
        meet([ticket], Need.NUMBER, by=by.get_username(), now=now, user=by)
    for name, value in fields.items():
        setattr(ticket, name, value)


def record_label(*, ticket: Ticket, label_number: str, by: User, now: datetime, version: int | None = None) -> None:
    """The class's label has been sewn on; its number is kept."""
    policies.require(by, "work_ticket")
    versions.expect(ticket, version)
    not_over(ticket)
    if not label_number.strip():
        raise problem("label_number", "missing", "give the number on the class label")
    with transaction.atomic():
        versions.take(ticket, version)
        if Ticket.objects.values_list("not_legal", flat=True).get(pk=ticket.pk):
            raise Conflict(f"{ticket.number} is sold as NON-CLASS: no class label goes on it")
        before, after = {"label_number": ticket.label_number}, {"label_number": label_number.strip()}
        Ticket.objects.filter(pk=ticket.pk).update(**after)
        audit.record("record_label", ticket, by=by, before=before, after=after)
        meet([ticket], Need.LABEL, by=by.get_username(), now=now, user=by)
    ticket.label_number = label_number.strip()


def start_step(*, step: Step, by: User, now: datetime, version: int | None = None) -> None:
    """Begin a step; the first one puts the ticket in work. Conflict when the ticket is held or the step waits for the number.

    NotAllowed for a step of another station than the person's.
    """
    policies.require(by, f"work_{step.station}")
    ticket = Ticket.objects.get(pk=step.ticket_id)
    versions.expect(ticket, version)
    if ticket.state not in (TicketState.RELEASED, TicketState.IN_WORK):
        raise Conflict(f"{ticket.number} is {ticket.get_state_display()}: no step can be started")
    if step.needs_number and ticket.sail_number is None:
        raise Conflict(f"{step.label} waits for the sail number of {ticket.sail_label}")
    with transaction.atomic():
        versions.take(ticket, version)
        _nothing_asked_again(ticket)
        if ticket.state == TicketState.RELEASED:
            move_to(ticket, TicketState.IN_WORK, TICKET, started_at=now)
        if Step.objects.filter(pk=step.pk, started_at__isnull=True).update(started_at=now, started_by=by) == 0:
            raise Conflict(f"{step.label} has been started already")
        audit.record("start_step", ticket, by=by, after={"step": step.position, "station": step.station})
    step.started_at, step.started_by = now, by


def finish_step(*, step: Step, by: User, now: datetime, metres_used: Decimal | None = None, version: int | None = None) -> None:
    """End a step; the last one makes the ticket ready, unless the class label is still missing (Conflict).

    NotAllowed for a step of another station than the person's.
    """
    policies.require(by, f"work_{step.station}")
    ticket = Ticket.objects.get(pk=step.ticket_id)
    versions.expect(ticket, version)
    if not Step.objects.filter(ticket=ticket, finished_at__isnull=True).exclude(pk=step.pk).exists():
        rule_check.hold_what_breaches(Ticket.objects.filter(pk=ticket.pk), now=now)  # kept even though the step is refused
    with transaction.atomic():
        versions.take(ticket, version)  # of two last steps at once, the second waits here and sees the first
        if Step.objects.filter(pk=step.pk, started_at__isnull=False, finished_at__isnull=True).update(finished_at=now, finished_by=by) == 0:
            raise Conflict(f"{step.label} is not in work")
        if metres_used is not None:
            Ticket.objects.filter(pk=step.ticket_id).update(metres_used=metres_used)
        if not Step.objects.filter(ticket=step.ticket_id, finished_at__isnull=True).exists():
            make_ready(Ticket.objects.get(pk=step.ticket_id), now=now)
        used = {} if metres_used is None else {"metres_used": metres_used}
        audit.record("finish_step", ticket, by=by, after={"step": step.position, "station": step.station, **used})
    step.finished_at, step.finished_by = now, by


def scrap(*, ticket: Ticket, reason: str, now: datetime, by: User | None = None, version: int | None = None) -> None:
    """Take a sail out of work for good, with the reason."""
    policies.require(by, "scrap_ticket")
    versions.expect(ticket, version)
    if not reason.strip():
        raise problem("reason", "missing", "say why the sail is scrapped")
    with transaction.atomic():
        versions.take(ticket, version)
        move_to(ticket, TicketState.SCRAPPED, TICKET, scrapped_at=now, scrap_reason=reason.strip())
        lay_planning.take_off(ticket=ticket, now=now, by=by)
        audit.record("scrap", ticket, by=by, after={"reason": reason.strip()}, personal=["reason"])


def set_due_date(*, order_number: str, due_on: date | None) -> None:
    """Copy an order's promised day to its tickets."""
    Ticket.objects.filter(order_number=order_number).update(due_on=due_on, version=F("version") + 1)


def _confirm(ticket: Ticket, need: Need, by: User, now: datetime, version: int | None) -> None:
    policies.require(by, "release_ticket")
    versions.expect(ticket, version)
    not_over(ticket)
    with transaction.atomic():
        versions.take(ticket, version)
        audit.record(f"confirm_{need.value}", ticket, by=by)
        meet([ticket], need, by=by.get_username(), now=now, user=by)


def _nothing_asked_again(ticket: Ticket) -> None:
    """Conflict while the sail breaches its class, or something that a signed change took away (cloth, fit) is not there again."""
    asked = Requirement.objects.filter(ticket=ticket, kind__in=HOLDS_RELEASE, met_at__isnull=True).first()
    if asked is not None and asked.kind == Need.RULES:
        raise Conflict(f"{ticket.number} is held: {asked.wording}; {rule_check.WHAT_TO_DO}")
    if asked is not None:
        raise Conflict(f"{ticket.number} was changed and waits again: {asked.wording}, from {asked.asked}")


def _lock(tickets: Sequence[int]) -> None:
    """Have whoever else works on these tickets wait, so that of two last steps (or needs) one sees the other."""
    list(Ticket.objects.select_for_update().filter(pk__in=tickets).order_by("pk").values_list("pk"))


def _release(tickets: Iterable[Ticket], met: Need | None, by: User | None, *, now: datetime, who: str = audit.THE_SERVICE) -> int:
    """Release those of these tickets that wait for nothing more, each with an entry of its own in the history; how many.

    met: the need after which they were looked at; None when they have just been opened. The caller holds their rows.
    """
    open_needs = Requirement.objects.filter(kind__in=HOLDS_RELEASE, met_at__isnull=True)
    free = Ticket.objects.filter(pk__in=[t.pk for t in tickets]).exclude(pk__in=open_needs.values("ticket"))
    rule_check.hold_what_breaches(free.filter(state=TicketState.HELD), now=now)
    released = list(free.filter(state=TicketState.HELD).only("number").order_by("pk"))
    if released:
        rows = Ticket.objects.filter(pk__in=[ticket.pk for ticket in released])
        move_all(rows, TicketState.HELD, TicketState.RELEASED, TICKET, released_at=now)
        after = {"state": TicketState.RELEASED.value} | ({"met": met.value} if met else {})
        audit.record_all("release", released, by=by, before={"state": TicketState.HELD.value}, after=after, who=who)
    return len(released)


def make_ready(ticket: Ticket, *, now: datetime) -> None:
    """The last step is done; Conflict while the label or a breach of the class rules is open."""
    if Requirement.objects.filter(ticket=ticket, kind=Need.LABEL, met_at__isnull=True).exists():
        raise Conflict(f"{ticket.number} cannot be ready before its class label is recorded")
    outside = Requirement.objects.filter(ticket=ticket, kind=Need.RULES, met_at__isnull=True).first()
    if outside is not None:
        raise Conflict(f"{ticket.number} cannot be ready: {outside.wording}; {rule_check.WHAT_TO_DO}")
    move_to(ticket, TicketState.READY, TICKET, ready_at=now)


def numbered(sail: PricedSail, design: Design, ticket: Ticket, number: str) -> PricedSail:
    """A sail of this ticket's class with its number, and where the characters go by the class's hull length."""
    rule = catalogue.class_rule(code=ticket.class_code, edition=ticket.edition)
    outline = snapshot.thaw_design(bytes(design.data)).outline
    numbers = takeoff.number_plan(outline, number, rule.hull_length_mm, rule.number_style(outline.kind))
    return replace(sail, sail_number=number, numbers=numbers, label=f"{sail.boat} {number}".strip())


def not_over(ticket: Ticket) -> None:
    """Conflict when nothing of this ticket is worked on any more."""
    if ticket.state in (TicketState.READY, TicketState.SCRAPPED):
        raise Conflict(f"{ticket.number} is {ticket.get_state_display()}")
