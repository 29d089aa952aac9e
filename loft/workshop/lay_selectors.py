"""Reads of shared lays: which sails may be laid together, and how a lay stands."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Prefetch, Q, QuerySet

from costing import cloth
from costing.quote import Design
from loft.common.errors import NotFound
from loft.jobs.models import Job
from loft.workshop import lay_cloths, lay_planning, remakes
from loft.workshop.models import Lay, LaySail, LaySection, LayShare, Remake, Roll, Ticket
from loft.workshop.states import LayState, TicketState

#: How many tickets are looked at for a new lay, the first to be due first.
_LOOKED_AT = 400


@dataclass(frozen=True, slots=True)
class Waiting:
    """Sails that have parts of one cloth and colour to cut, on no lay of it and not begun, the first to be due first; and parts that are
    to be cut again."""

    cloth_code: str
    colour: str
    tickets: tuple[Ticket, ...]
    again: tuple[Remake, ...]
    remnants: tuple[Roll, ...]  # of this cloth and colour, that no lay has

    def __str__(self) -> str:
        return lay_cloths.told((self.cloth_code, self.colour))


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
    def to_print(self) -> tuple[LaySection, ...]:
        """What a sheet may show: a lay that is planned anew or was cancelled has only what was cut."""
        return tuple(section for section in self.sections if may_be_cut(section))

    @property
    def cut(self) -> int:
        return sum(section.cut_at is not None for section in self.sections)


def waiting_sails() -> tuple[Waiting, ...]:
    """What may be laid together now, by cloth and colour, the bodies' cloths first."""
    rows = Ticket.objects.filter(state__in=[TicketState.HELD, TicketState.RELEASED]).annotate(
        laid=Count("lays", filter=Q(lays__out=False, lays__remake__isnull=True))
    )
    tickets = list(rows.select_related("design").order_by("laid", "due_on", "number")[:_LOOKED_AT])
    on_lays = cloths_on_lays([ticket.pk for ticket in tickets])
    groups: dict[lay_cloths.Key, list[Ticket]] = {}
    others: dict[lay_cloths.Key, list[Ticket]] = {}
    for ticket, own in zip(tickets, lay_cloths.of_tickets(tickets), strict=True):
        for key, cut_from in own.items():
            if key not in on_lays.get(ticket.pk, ()):
                (groups if cut_from.body else others).setdefault(key, []).append(ticket)
    for key in others.keys() & groups.keys():
        groups[key] += others.pop(key)
    again: dict[lay_cloths.Key, list[Remake]] = {}
    for remake in remakes.waiting():
        again.setdefault((remake.cloth_code, remake.colour), []).append(remake)
    found = {**dict(sorted(groups.items())), **dict(sorted(others.items()))}
    return tuple(
        Waiting(*key, tuple(found.get(key, ())), tuple(again.get(key, ())), _remnants(key)) for key in (*found, *(again.keys() - found))
    )


def _remnants(key: lay_cloths.Key) -> tuple[Roll, ...]:
    rows = Roll.objects.filter(cloth_code=key[0], remnant=True, gone_at__isnull=True, sections__isnull=True).order_by("name")
    return tuple(rows.filter(colour=key[1]) if key[1] else rows)


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
    sails = LaySail.objects.filter(lay=row).select_related("ticket", "remake").defer("ticket__sail").order_by("pk")
    job = Job.objects.filter(key=lay_planning.job_key(row)).first() if row.state == LayState.PLANNING else None
    return LayRow(row, tuple(sails), tuple(sections), job)


def section(lay_pk: int, number: int) -> LaySection:
    """One section of a lay; NotFound when there is none."""
    row = LaySection.objects.filter(lay__pk=lay_pk, number=number).select_related("lay", "roll").first()
    if row is None:
        raise NotFound(f"lay {lay_pk} has no section {number}")
    return row


def may_be_cut(section: LaySection) -> bool:
    """Whether a section, read with its lay, is as it will be cut, or was."""
    return section.cut_at is not None or section.lay.state in (LayState.PLANNED, LayState.CUT)


def lays_of(ticket: Ticket) -> tuple[Lay, ...]:
    """The lays that a sail is on; what it has of other cloths and colours is cut by its own."""
    return tuple(row.lay for row in LaySail.objects.filter(ticket=ticket, out=False).select_related("lay").order_by("lay_id"))


@dataclass(frozen=True, slots=True)
class RemakeRow:
    """Parts that are cut again, and the lay that they are on; None while they wait."""

    remake: Remake
    lay: Lay | None


def remakes_of(ticket: Ticket) -> tuple[RemakeRow, ...]:
    """Every remake of a sail that was not withdrawn, the oldest first."""
    on = {row.remake_id: row.lay for row in LaySail.objects.filter(ticket=ticket, out=False, remake__isnull=False).select_related("lay")}
    rows = Remake.objects.filter(ticket=ticket, withdrawn_at__isnull=True).order_by("asked_at", "pk")
    return tuple(RemakeRow(row, on.get(row.pk)) for row in rows)


def cloths_on_lays(tickets: Collection[int]) -> Mapping[int, set[lay_cloths.Key]]:
    """For each of these tickets what of it is on a lay, by cloth and colour; one query."""
    found: dict[int, set[lay_cloths.Key]] = {}
    rows = LaySail.objects.filter(ticket__in=tickets, out=False, remake__isnull=True)
    for ticket, code, colour in rows.values_list("ticket", "cloth_code", "colour"):
        found.setdefault(ticket, set()).add((code, colour))
    return found


def over_flaw(section: LaySection) -> str:
    """The flaw that an uncut section's place lies over, in words; empty where there is none."""
    if section.roll is None or section.start_mm is None or section.cut_at is not None:
        return ""
    start, end = section.start_mm, section.start_mm + section.length_mm
    found = [f"{low / 1000:.2f} to {high / 1000:.2f} m" for low, high in section.roll.flaws if low < end and high > start]
    return ", ".join(found)


def drawn(found: LaySection) -> tuple[cloth.Lay, Mapping[str, Design]]:
    """A section as a lay of its own with the designs of the sails in it."""
    alone = lay_planning.section_lay(found)
    here = {placed.sail for placed in alone.placements}
    return alone, {letter: design for letter, design in lay_planning.designs(found.lay).items() if letter in here}
