"""Reads of shared lays: which sails may be laid together, and how a lay stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch, QuerySet

from costing import cloth
from costing.quote import Design
from loft.common.errors import NotFound
from loft.jobs.models import Job
from loft.workshop import lay_planning, lays
from loft.workshop.models import Lay, LaySail, LaySection, LayShare, Roll, Ticket
from loft.workshop.states import LayState, TicketState

#: How many tickets are looked at for a new lay, the first to be due first.
_LOOKED_AT = 400


@dataclass(frozen=True, slots=True)
class Waiting:
    """Sails of one cloth and colour that are on no lay and not begun, the first to be due first."""

    cloth_code: str
    colour: str
    tickets: tuple[Ticket, ...]
    remnants: tuple[Roll, ...]  # of this cloth and colour, that no lay has

    def __str__(self) -> str:
        return f"{self.cloth_code} {self.colour}".strip()


@dataclass(frozen=True, slots=True)
class LayRow:
    """A lay in figures: what is to be pulled, the bound, and how far planning and cutting are. Lengths mm."""

    lay: Lay
    sails: tuple[LaySail, ...]
    sections: tuple[LaySection, ...]
    job: Job | None

    @property
    def length_mm(self) -> int:
        return sum(section.length_mm for section in self.sections)

    @property
    def gap_fraction(self) -> Decimal | None:
        """How much longer than the bound; None without sections."""
        bound = sum(section.bound_mm for section in self.sections)
        return Decimal(self.length_mm) / bound - 1 if bound else None

    @property
    def cut(self) -> int:
        return sum(section.cut_at is not None for section in self.sections)


def waiting_sails() -> tuple[Waiting, ...]:
    """What may be laid together now, by cloth and colour."""
    rows = Ticket.objects.filter(state__in=[TicketState.HELD, TicketState.RELEASED]).exclude(lays__out=False)
    groups: dict[tuple[str, str], list[Ticket]] = {}
    tickets = list(rows.select_related("design").order_by("due_on", "number")[:_LOOKED_AT])
    for ticket, body in zip(tickets, lays.bodies(tickets), strict=True):
        groups.setdefault(body, []).append(ticket)
    pieces = Roll.objects.filter(remnant=True, gone_at__isnull=True, sections__isnull=True).order_by("name")
    left: dict[tuple[str, str], list[Roll]] = {}
    for piece in pieces:
        left.setdefault((piece.cloth_code, piece.colour), []).append(piece)
    return tuple(Waiting(*key, tuple(found), tuple(left.get(key, ()))) for key, found in sorted(groups.items()))


def lay_list(*, state: str = "") -> QuerySet[Lay]:
    """Lays, the newest first."""
    rows = Lay.objects.order_by("-pk")
    return rows.filter(state=state) if state in LayState.values else rows


def lay(pk: int) -> Lay:
    """One lay; NotFound when there is none."""
    row = Lay.objects.filter(pk=pk).first()
    if row is None:
        raise NotFound(f"there is no lay {pk}")
    return row


def lay_row(row: Lay) -> LayRow:
    """A lay with its sails, its sections, and the job that plans it."""
    shares = Prefetch("shares", LayShare.objects.select_related("ticket").defer("ticket__sail"))
    sections = LaySection.objects.filter(lay=row).select_related("roll", "lay", "cut_by").prefetch_related(shares).order_by("number")
    sails = LaySail.objects.filter(lay=row).select_related("ticket").defer("ticket__sail").order_by("pk")
    job = Job.objects.filter(key=lay_planning.job_key(row)).first() if row.state == LayState.PLANNING else None
    return LayRow(row, tuple(sails), tuple(sections), job)


def section(lay_pk: int, number: int) -> LaySection:
    """One section of a lay; NotFound when there is none."""
    row = LaySection.objects.filter(lay__pk=lay_pk, number=number).select_related("lay", "roll").first()
    if row is None:
        raise NotFound(f"lay {lay_pk} has no section {number}")
    return row


def lay_of(ticket: Ticket) -> Lay | None:
    """The lay that a sail is on, None when it is laid by itself."""
    row = LaySail.objects.filter(ticket=ticket, out=False).select_related("lay").first()
    return row.lay if row else None


def drawn(found: LaySection) -> tuple[cloth.Lay, Mapping[str, Design]]:
    """A section as a lay of its own with the designs of the sails in it."""
    alone = lay_planning.section_lay(found)
    here = {placed.sail for placed in alone.placements}
    return alone, {letter: design for letter, design in lay_planning.designs(found.lay).items() if letter in here}
