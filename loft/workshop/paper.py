"""What the floor's sheets are made from."""

from __future__ import annotations

from datetime import datetime

from costing.quote import TicketPlan, TicketStep, non_class, snapshot
from loft.common.models import LoftProfile
from loft.documents.content import FitLine, Letterhead, TicketDocument
from loft.workshop import finished, lay_cloths, lay_selectors, rule_check, selectors
from loft.workshop.models import Step, Ticket
from loft.workshop.states import HOLDS_RELEASE

_HELD_BACK = {"its step": "its step can start", "ready": "the sail is ready"}


def letterhead(profile: LoftProfile) -> Letterhead:
    """The loft as it stands on paper."""
    return Letterhead(
        name=profile.name, address=profile.address_lines, email=profile.email, phone=profile.phone,
        tax_number=profile.tax_number, date_format=profile.date_format,
    )  # fmt: skip


def ticket_document(ticket: Ticket, profile: LoftProfile, *, now: datetime) -> TicketDocument:
    """The sheet of a ticket that was read with `selectors.ticket`."""
    missing, measured = selectors.waiting_for(ticket), finished.of_ticket(ticket, now=now)
    design = snapshot.thaw_design(bytes(ticket.design.data))
    rule = rule_check.rule_on(ticket, measured.on).sail_or_none(design.shape.kind)
    return TicketDocument(
        letterhead=letterhead(profile),
        order_number=ticket.order_number,
        ticket_number=ticket.number,
        class_name=ticket.class_name,
        pattern_label=ticket.pattern_label,
        due_on=ticket.due_on,
        sail=snapshot.thaw_sail(bytes(ticket.sail)),
        design=design,
        plans=_plans(list(ticket.steps.all())),
        waiting_for=tuple(f"{m.wording}, ask {m.asked}" for m in missing if m.kind in HOLDS_RELEASE),
        still_due=tuple(f"{m.wording}, ask {m.asked}, before {_HELD_BACK[m.holds]}" for m in missing if m.kind not in HOLDS_RELEASE),
        insignia=ticket.insignia,
        royalty_label_place=ticket.label_place,
        edition=measured.edition,
        by_eye=rule.by_eye,
        finished=measured.rows,
        fit=tuple(FitLine(*row) for row in ticket.fit),
        shared_lays=_shared_lays(ticket),
        not_legal=tuple(ticket.not_legal),
        left_out=non_class.label_materials(rule_check.pattern_of(design).kit) if ticket.not_legal else frozenset(),
    )


def _shared_lays(ticket: Ticket) -> tuple[str, ...]:
    """The lays that a sail shares with others, each with its cloth; empty when it is laid by itself."""
    return tuple(f"{lay} ({lay_cloths.told((lay.cloth_code, lay.colour))})" for lay in lay_selectors.lays_of(ticket))


def _plans(steps: list[Step]) -> tuple[TicketPlan, ...]:
    stations = list(dict.fromkeys(s.station for s in steps))
    return tuple(TicketPlan(station, tuple(_planned(s) for s in steps if s.station == station)) for station in stations)


def _planned(step: Step) -> TicketStep:
    return TicketStep(step.operation, step.label, step.minutes, step.how, step.caution, step.needs_number)
