"""Reads of the floor: tickets, what they wait for, designs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import F, Prefetch, QuerySet

from costing.measurements import Corner
from costing.quote import Design as ComputedDesign
from costing.quote import finished, snapshot
from loft.common.errors import NotFound
from loft.workshop.models import Design, FinishedSet, FinishedValue, Requirement, Step, Ticket
from loft.workshop.states import HOLDS_RELEASE, Need

#: How many designs of a pattern are read along with a draft; what is older is simply computed again.
_DESIGNS_READ = 64


class KnownDesigns(Mapping[str, ComputedDesign]):
    """Stored designs by key; each is decoded when it is first asked for."""

    def __init__(self, rows: Mapping[str, bytes]) -> None:
        self._rows = rows
        self._decoded: dict[str, ComputedDesign] = {}

    def __getitem__(self, key: str) -> ComputedDesign:
        if key not in self._decoded:
            self._decoded[key] = snapshot.thaw_design(self._rows[key])
        return self._decoded[key]

    def __contains__(self, key: object) -> bool:
        return key in self._rows

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing that a ticket still waits for, and who is asked for it."""

    ticket: str
    sail: str
    kind: str
    wording: str
    asked: str
    holds: str  # "release", "its step" or "ready"


def known_designs(*pattern_codes: str) -> KnownDesigns:
    """The latest stored designs of these patterns, ready to be handed to the calculation; one query."""
    rows = Design.objects.filter(pattern_code__in=pattern_codes).order_by("-created_at")[: _DESIGNS_READ * max(len(pattern_codes), 1)]
    return KnownDesigns({key: bytes(data) for key, data in rows.values_list("key", "data")})


def designs_by_key(keys: set[str]) -> KnownDesigns:
    """These designs; NotFound when one is missing."""
    rows = {key: bytes(data) for key, data in Design.objects.filter(key__in=keys).values_list("key", "data")}
    if len(rows) != len(keys):
        raise NotFound("a design of this quote is not stored")
    return KnownDesigns(rows)


def tickets(*, state: str = "", order_number: str = "") -> QuerySet[Ticket]:
    """Tickets in the order in which they are due, without the frozen sail."""
    rows = Ticket.objects.defer("sail").prefetch_related("requirements").order_by(F("due_on").asc(nulls_last=True), "number")
    if state:
        rows = rows.filter(state=state)
    if order_number:
        rows = rows.filter(order_number=order_number)
    return rows


def ticket(pk: int) -> Ticket:
    """A ticket with its steps in order, its requirements and its design; NotFound when there is none."""
    steps = Prefetch("steps", Step.objects.order_by("position").select_related("started_by", "finished_by"))
    row = Ticket.objects.select_related("design").prefetch_related(steps, "requirements").filter(pk=pk).first()
    if row is None:
        raise NotFound(f"there is no ticket {pk}")
    return row


def finished_values(row: Ticket) -> dict[finished.Key, tuple[FinishedValue, ...]]:
    """The latest readings of each size of a sail; empty while nobody has measured it. One query."""
    found: dict[finished.Key, list[FinishedValue]] = {}
    values = FinishedValue.objects.filter(finished_set__ticket=row).select_related("finished_set").order_by("finished_set__number", "place")
    for value in values:
        key = (value.measurement, Corner(value.corner) if value.corner else None)
        if key in found and found[key][0].finished_set_id != value.finished_set_id:
            del found[key]
        found.setdefault(key, []).append(value)
    return {key: tuple(own) for key, own in found.items()}


def finished_sizes(row: Ticket) -> dict[finished.Key, tuple[Decimal, ...]]:
    """The same as exact values, in each measurement's unit."""
    return {key: tuple(value.value.normalize() for value in own) for key, own in finished_values(row).items()}


def finished_sets(row: Ticket) -> QuerySet[FinishedSet]:
    """Every occasion on which a sail was measured, the last one first."""
    return FinishedSet.objects.filter(ticket=row).prefetch_related("values").order_by("-number")


def step(*, ticket_pk: int, position: int) -> Step:
    """One step of a ticket; NotFound when there is none."""
    row = Step.objects.filter(ticket__pk=ticket_pk, position=position).first()
    if row is None:
        raise NotFound(f"ticket {ticket_pk} has no step {position}")
    return row


def missing(rows: QuerySet[Ticket]) -> tuple[Missing, ...]:
    """Everything that these tickets still wait for, in the order of the tickets and of the needs."""
    order = {need: i for i, need in enumerate(Need)}
    found = Requirement.objects.filter(ticket__in=rows, met_at__isnull=True).select_related("ticket").defer("ticket__sail")
    ranked = sorted(found, key=lambda r: (r.ticket.number, order[Need(r.kind)]))
    return tuple(_missing(r, r.ticket) for r in ranked)


def waiting_for(row: Ticket) -> tuple[Missing, ...]:
    """What one ticket still waits for, in the order of the needs; reads the prefetched requirements."""
    order = {need: i for i, need in enumerate(Need)}
    unmet = [r for r in row.requirements.all() if r.met_at is None]
    return tuple(_missing(r, row) for r in sorted(unmet, key=lambda r: order[Need(r.kind)]))


def _missing(need: Requirement, row: Ticket) -> Missing:
    holds = "release" if need.kind in HOLDS_RELEASE else "its step" if need.kind == Need.NUMBER else "ready"
    return Missing(row.number, row.sail_label, need.kind, need.wording, need.asked, holds)
