"""What a ticket is opened from, and the rows that it becomes: itself, its steps and what it waits for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from decimal import Decimal

from costing.quote import PricedSail, TicketPlan, snapshot
from loft.workshop.models import Design, Requirement, Step, Ticket
from loft.workshop.states import Need


@dataclass(frozen=True, slots=True)
class NewNeed:
    """A requirement to open with a ticket; met_by is empty while it is open."""

    kind: Need
    asked: str
    wording: str
    met_by: str = ""


@dataclass(frozen=True, slots=True)
class TicketWords:
    """What a sheet says beside its sail."""

    class_code: str
    class_name: str
    edition: str
    pattern_label: str
    insignia: str
    label_place: str
    not_legal: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class NewTicket:
    """Everything that one sail's ticket is opened from."""

    number: str
    order_number: str
    due_on: date | None
    design: Design
    sail: PricedSail
    words: TicketWords
    plans: tuple[TicketPlan, ...]
    needs: tuple[NewNeed, ...]
    fit: Sequence[Sequence[str]] = ()  # the boat's fit sheet as it stands, line by line


def ticket_row(new: NewTicket, now: datetime) -> Ticket:
    sail = new.sail
    return Ticket(
        number=new.number, order_number=new.order_number, due_on=new.due_on, sail_label=sail.label, boat=sail.boat, owner=sail.owner,
        sail_number=sail.sail_number, design=new.design, sail=frozen_for_the_floor(sail), opened_at=now,
        fit=[list(line) for line in new.fit], **asdict(new.words) | {"not_legal": list(new.words.not_legal)},
    )  # fmt: skip


def frozen_for_the_floor(sail: PricedSail) -> bytes:
    """The sail as a ticket carries it, with nothing on it that the floor need not see."""
    nothing = Decimal(0)
    bare = replace(
        sail,
        cost_lines=(),
        items=(),
        cost=nothing,
        pass_through=nothing,
        net=nothing,
        margin=None,
        one_off_cost=nothing,
        price_how="",
        alone_lines=(),
        change_fees=(),
    )
    return snapshot.freeze_sail(bare)


def step_rows(ticket: Ticket, plans: tuple[TicketPlan, ...]) -> Iterable[Step]:
    every = ((plan.station, step) for plan in plans for step in plan.steps)
    for position, (station, step) in enumerate(every, start=1):
        yield Step(
            ticket=ticket, position=position, station=station, operation=step.operation, label=step.label,
            minutes=step.minutes.quantize(Decimal("0.01")),
            how=step.how, caution=step.caution, needs_number=step.needs_number,
        )  # fmt: skip


def need_row(ticket: Ticket, need: NewNeed, now: datetime) -> Requirement:
    met_at = now if need.met_by else None
    return Requirement(ticket=ticket, kind=need.kind, asked=need.asked, wording=need.wording, met_at=met_at, met_by=need.met_by)
