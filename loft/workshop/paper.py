"""What the floor's sheets are made from."""

from __future__ import annotations

from datetime import date

from costing.quote import Design, TicketPlan, TicketStep, snapshot
from costing.rules import Limit, SailRule, compare
from loft.catalogue import selectors as catalogue
from loft.common.models import LoftProfile
from loft.documents.content import FitLine, Letterhead, TicketDocument
from loft.workshop import selectors
from loft.workshop.models import LaySail, Step, Ticket
from loft.workshop.states import HOLDS_RELEASE

_HELD_BACK = {"its step": "its step can start", "ready": "the sail is ready"}


def letterhead(profile: LoftProfile) -> Letterhead:
    """The loft as it stands on paper."""
    return Letterhead(
        name=profile.name, address=profile.address_lines, email=profile.email, phone=profile.phone,
        tax_number=profile.tax_number, date_format=profile.date_format,
    )  # fmt: skip


def ticket_document(ticket: Ticket, profile: LoftProfile) -> TicketDocument:
    """The sheet of a ticket that was read with `selectors.ticket`."""
    missing = selectors.waiting_for(ticket)
    design = snapshot.thaw_design(bytes(ticket.design.data))
    rule = catalogue.class_rule(code=ticket.class_code, edition=ticket.edition).sail_or_none(design.shape.kind)
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
        edition=ticket.edition,
        by_eye=rule.by_eye,
        to_measure=limits_to_measure(rule, design, on=snapshot.thaw_sail(bytes(ticket.sail)).certified_on),
        fit=tuple(FitLine(*row) for row in ticket.fit),
        shared_lay=_shared_lay(ticket),
    )


def limits_to_measure(rule: SailRule, design: Design, *, on: date | None) -> tuple[Limit, ...]:
    """The limits that apply on a day and that the design has no value for, so that the finisher measures them all the same."""
    compared = {(room.limit.value_name, room.limit.corner, room.limit.formula) for room in design.headroom}
    limits = compare.limits_for(rule, certified_on=on)
    return tuple(x for x in limits if (x.value_name, x.corner, x.formula) not in compared and not _needless(x, design))


def _needless(limit: Limit, design: Design) -> bool:
    """A limit on something that the sail has none of."""
    kinds = {part.kind for part in design.parts}
    without = (*(() if "window" in kinds else ("window_",)), *(() if "pocket" in kinds else ("batten_", "top_pocket_")))
    return limit.measurement.startswith(without)


def _shared_lay(ticket: Ticket) -> str:
    """The number of the lay that a sail shares with others, empty when it is laid by itself."""
    return LaySail.objects.filter(ticket=ticket, out=False).values_list("lay__number", flat=True).first() or ""


def _plans(steps: list[Step]) -> tuple[TicketPlan, ...]:
    stations = list(dict.fromkeys(s.station for s in steps))
    return tuple(TicketPlan(station, tuple(_planned(s) for s in steps if s.station == station)) for station in stations)


def _planned(step: Step) -> TicketStep:
    return TicketStep(step.operation, step.label, step.minutes, step.how, step.caution, step.needs_number)
