"""A ticket after the customer has signed a change: its sail, and those of its steps that have not begun, made anew.

What has begun stays as it was done. A change of cloth gives the roll back and asks for another; changed sizes are to be confirmed anew.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import F, Min

from costing.quote import PricedSail, TicketPlan, TicketStep, snapshot
from loft.common import audit
from loft.common.states import move_all
from loft.workshop import lay_planning, new_tickets, non_class, services
from loft.workshop.models import Design, LaySail, LayShare, Requirement, Step, Ticket
from loft.workshop.states import HOLDS_RELEASE, TICKET, Need, TicketState

#: Beyond any step's position, so that all can be put in a new order under the rule that a position is taken once.
_ASIDE = 1000
_OVER = {TicketState.READY: "the sail is ready", TicketState.SCRAPPED: "the sail was scrapped"}


@dataclass(frozen=True, slots=True)
class Renewed:
    """What a ticket is to be: its design, its sail, its plans; cloth_wording and asked_for_fit are empty where those stay as they are.

    label: the class's label that it must carry then, and where it goes; None and empty: none.
    """

    design: Design
    sail: PricedSail
    plans: tuple[TicketPlan, ...]
    cloth_wording: str = ""
    asked_for_fit: str = ""
    label: new_tickets.NewNeed | None = None
    label_place: str = ""


def over(ticket: Ticket) -> str:
    """Why nothing about this sail changes any more, in words; empty while it may."""
    return _OVER.get(TicketState(ticket.state), "")


def begun(tickets: Iterable[Ticket]) -> Mapping[int, Mapping[str, datetime]]:
    """For each ticket the operations that have begun, and when; one query."""
    found: dict[int, dict[str, datetime]] = {t.pk: {} for t in tickets}
    rows = Step.objects.filter(ticket__in=list(found), started_at__isnull=False)
    for ticket, operation, at in rows.values_list("ticket", "operation", "started_at"):
        if at is not None:
            found[ticket][operation] = at
    return found


def cut(tickets: Iterable[Ticket]) -> Mapping[int, datetime]:
    """Tickets of which a section of a shared lay has cut parts, and when first; one query."""
    shares = LayShare.objects.filter(ticket__in=[t.pk for t in tickets], section__cut_at__isnull=False)
    rows = shares.values_list("ticket").annotate(at=Min("section__cut_at"))
    return dict(rows)


def locked(tickets: Sequence[int]) -> list[Ticket]:
    """These tickets as they stand now; whoever else works on them waits until the transaction ends."""
    return list(Ticket.objects.select_for_update(of=("self",)).filter(pk__in=tickets).select_related("design").order_by("pk"))


def renew(ticket: Ticket, new: Renewed, *, signed_by: str, now: datetime) -> None:
    """Put a signed change on a ticket, inside the transaction that accepts it; `ticket` of `locked`."""
    sail, before = new.sail, _audited(ticket.design, snapshot.thaw_sail(bytes(ticket.sail)), ticket.roll, ticket.lot)
    if ticket.sail_number is not None and sail.sail_number is None:  # it came after the change was drafted
        sail = services.numbered(sail, new.design, ticket, ticket.sail_number)
    if new.cloth_wording or _cut_otherwise(ticket, new.design):
        lay_planning.take_off(ticket=ticket, now=now, by=None)
    rows = Ticket.objects.filter(pk=ticket.pk)
    rows.update(design=new.design, sail=new_tickets.frozen_for_the_floor(sail), version=F("version") + 1)
    keeps = _stays_as_settled(ticket, new)
    _renew_steps(ticket, sail, new.plans, without=non_class.label_steps(sail) if keeps else ())
    needs = Requirement.objects.filter(ticket=ticket)
    needs.filter(kind=Need.OPTIONS).update(met_at=now, met_by=signed_by)
    if new.cloth_wording:
        rows.update(roll="", lot="")
        needs.filter(kind=Need.CLOTH).update(met_at=None, met_by="", wording=new.cloth_wording)
    if new.asked_for_fit:
        needs.filter(kind=Need.FIT).update(met_at=None, met_by="", asked=new.asked_for_fit)
    unlabelled = _renew_class(ticket, new, keeps, now)
    _hold(ticket)
    roll, lot = ("", "") if new.cloth_wording else (ticket.roll, ticket.lot)
    after = _audited(new.design, sail, roll, lot) | dict.fromkeys(unlabelled, "")
    audit.record("renew", ticket, by=None, who=audit.THE_CUSTOMER, before=before | unlabelled, after=after)


def _audited(design: Design, sail: PricedSail, roll: str, lot: str) -> dict[str, str]:
    """What the audit keeps of a ticket that is renewed."""
    return {
        "design": str(design), "cloth": sail.cloth_label, "colour": sail.colour, "number_colour": sail.number_colour, "roll": roll,
        "lot": lot,
    }  # fmt: skip


def _cut_otherwise(ticket: Ticket, design: Design) -> bool:
    """Whether a sail on a shared lay has other parts to cut by its new design; what is put on later changes no part, and it stays there."""
    if design.pk == ticket.design_id or not LaySail.objects.filter(ticket=ticket, out=False).exists():
        return False
    old, new = (snapshot.thaw_design(bytes(one.data)).parts for one in (ticket.design, Design.objects.get(pk=design.pk)))
    return old != new


def _settled_on_the_floor(ticket: Ticket) -> bool:
    """Whether the sail was ordered as a class sail and sold as NON-CLASS since; `ticket` as it stood before the change."""
    return bool(ticket.not_legal) and not snapshot.thaw_sail(bytes(ticket.sail)).breaches


def _stays_as_settled(ticket: Ticket, new: Renewed) -> bool:
    """Whether the sail stays NON-CLASS by what was settled on the floor: that holds for its design."""
    return _settled_on_the_floor(ticket) and new.design.pk == ticket.design_id


def _renew_class(ticket: Ticket, new: Renewed, keeps: bool, now: datetime) -> dict[str, str]:
    """Whether the sail is class legal now, and the label with it; the number of a label that it goes without from now on, to be audited."""
    on_the_floor = _settled_on_the_floor(ticket)
    not_legal = ticket.not_legal if keeps else list(new.sail.not_legal)
    label_place, label_number = ("", "") if not_legal else (new.label_place, ticket.label_number)
    Ticket.objects.filter(pk=ticket.pk).update(not_legal=not_legal, label_place=label_place, label_number=label_number)
    needs = Requirement.objects.filter(ticket=ticket)
    if not keeps and (on_the_floor or not_legal):
        needs.filter(kind=Need.RULES).delete()  # said of what the sail is no longer
    if not_legal:
        needs.filter(kind=Need.LABEL).delete()
    elif new.label is not None and not needs.filter(kind=Need.LABEL).exists():
        services.ask(ticket, new.label, now=now)
    return {"label_number": ticket.label_number} if ticket.label_number and not label_number else {}


def _hold(ticket: Ticket) -> None:
    """A released ticket that waits for something again is held; one in work goes on, and its cutting waits for the cloth."""
    waits = Requirement.objects.filter(ticket=ticket, kind__in=HOLDS_RELEASE, met_at__isnull=True)
    if waits.exists():
        move_all(Ticket.objects.filter(pk=ticket.pk), TicketState.RELEASED, TicketState.HELD, TICKET, released_at=None)


def _renew_steps(ticket: Ticket, sail: PricedSail, plans: tuple[TicketPlan, ...], *, without: Collection[str] = ()) -> None:
    """Steps that have begun stay; the others are those of the new plans but `without` these operations, all in the plans' order."""
    old = list(Step.objects.filter(ticket=ticket).order_by("position"))
    Step.objects.filter(ticket=ticket).update(position=F("position") + _ASIDE)
    there = {step.operation: step for step in old}
    wanted = [(plan.station, step) for plan in plans for step in plan.steps if step.operation not in without]
    ordered = [_step(there.get(planned.operation), station, planned, ticket) for station, planned in wanted]
    Step.objects.filter(ticket=ticket, started_at__isnull=True).exclude(operation__in=[p.operation for _, p in wanted]).delete()
    for step in old:  # begun, and no longer planned: it stays behind the last step that stood before it
        if step.started_at is not None and step not in ordered:
            ordered.insert(_place_after(step, old, ordered), step)
    for position, step in enumerate(ordered, start=1):
        step.position = position
    Step.objects.bulk_update([s for s in ordered if s.pk], ["position", "station", "label", "minutes", "how", "caution", "needs_number"])
    Step.objects.bulk_create([s for s in ordered if not s.pk])


def _step(there: Step | None, station: str, planned: TicketStep, ticket: Ticket) -> Step:
    step = there or Step(ticket=ticket, operation=planned.operation)
    if step.started_at is None:
        step.station, step.label, step.how, step.caution = station, planned.label, planned.how, planned.caution
        step.minutes = planned.minutes.quantize(Decimal("0.01"))
        step.needs_number = planned.needs_number and ticket.sail_number is None
    return step


def _place_after(step: Step, old: Sequence[Step], ordered: Sequence[Step]) -> int:
    before = [s for s in old[: old.index(step)] if s in ordered]
    return ordered.index(before[-1]) + 1 if before else 0
