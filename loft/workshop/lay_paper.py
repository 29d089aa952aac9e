"""What the sheet of a shared lay and the cut files are made from."""

from __future__ import annotations

from datetime import datetime

from costing.cloth import Part
from costing.quote import Design, number_lines, snapshot
from loft.common import selectors as common
from loft.common.models import LoftProfile
from loft.documents import LaidSail, LaidSection, LayDocument, cut_files
from loft.workshop import lay_planning, lay_selectors, paper
from loft.workshop.models import LaySail, LaySection, Ticket
from loft.workshop.states import TicketState


def lay_document(row: lay_selectors.LayRow, profile: LoftProfile) -> LayDocument:
    """The sheet of a shared lay that was read with `lay_selectors.lay_row`."""
    laid = lay_planning.designs(row.lay)
    here = {placed.sail for section in row.to_print for placed in lay_planning.section_lay(section).placements}
    sails = tuple(
        LaidSail(
            s.letter,
            s.ticket.number,
            s.ticket.sail_label,
            laid[s.letter],
            tuple(s.ticket.not_legal),
            tuple(s.remake.parts if s.remake else ()),
        )
        for s in row.sails
        if s.letter in here
    )
    first, roll = next(iter(laid.values())), lay_planning.roll(row.lay, laid)
    return LayDocument(
        letterhead=paper.letterhead(profile), number=row.lay.number, cloth=f"{roll.code}: {roll.name}".removesuffix(f": {roll.code}"),
        colour=row.lay.colour, table=first.table, sails=sails, sections=tuple(_laid_section(s) for s in row.to_print),
        held=tuple(s.ticket.number for s in row.sails if not s.out and s.ticket.state == TicketState.HELD),
    )  # fmt: skip


def _laid_section(section: LaySection) -> LaidSection:
    roll = section.roll
    name, lot = (roll.name, roll.lot) if roll else ("", "")
    return LaidSection(section.number, lay_planning.drawn_section(section), name, lot, section.start_mm, section.cut_at is not None)


def ticket_names(ticket: Ticket, *, now: datetime) -> cut_files.CutNames:
    """What stands in a cut file of one sail beside its parts."""
    return cut_files.CutNames(order=ticket.order_number, ticket=ticket.number, sail=ticket.sail_label, made_on=_day(now))


def penned_parts(ticket: Ticket, design: Design) -> tuple[Part, ...]:
    """A sail's parts as the pen marks them: with the base lines of its number, once it has one."""
    return number_lines.with_numbers(design, snapshot.thaw_sail(bytes(ticket.sail)).numbers)


def section_parts(section: LaySection, designs: lay_planning.Laid) -> dict[tuple[str, str], Part]:
    """The parts of the sails of a shared lay's section, by letter and id, as the pen marks them."""
    rows = LaySail.objects.filter(lay=section.lay_id, letter__in=list(designs)).select_related("ticket")
    return {(row.letter, part.id): part for row in rows for part in penned_parts(row.ticket, designs[row.letter])}


def section_names(section: LaySection, *, now: datetime) -> cut_files.CutNames:
    """What stands in the cut file of a shared lay's section: on every part the ticket and the label of its sail."""
    rows = LaySail.objects.filter(lay=section.lay_id).select_related("ticket").defer("ticket__sail")
    sails = {row.letter: (row.ticket.number, row.ticket.sail_label) for row in rows}
    number = f"section {section.number}"
    return cut_files.CutNames(order=section.lay.number, ticket=number, sail="", made_on=_day(now), sails=sails)


def _day(now: datetime) -> str:
    return common.local_time(now, common.loft_profile()).strftime("%d-%m-%Y")
