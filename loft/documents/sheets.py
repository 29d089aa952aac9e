"""The workshop's and the manager's documents as PDF bytes."""

from __future__ import annotations

from collections.abc import Sequence

from loft.documents import page
from loft.documents.content import CostSheetDocument, TicketDocument
from loft.documents.cost_sheet import cost_sheet
from loft.documents.cutter_sheet import cutter_sheet
from loft.documents.making_sheets import finisher_sheet, sewer_sheet


def cutter_sheet_pdf(doc: TicketDocument) -> bytes:
    """The cutter's sheet of one ticket."""
    return _ticket([cutter_sheet(doc)], f"Cutter's sheet, ticket {doc.ticket_number}", doc)


def sewer_sheet_pdf(doc: TicketDocument) -> bytes:
    """The sewer's sheet of one ticket."""
    return _ticket([sewer_sheet(doc)], f"Sewer's sheet, ticket {doc.ticket_number}", doc)


def finisher_sheet_pdf(doc: TicketDocument) -> bytes:
    """The finisher's sheet of one ticket."""
    return _ticket([finisher_sheet(doc)], f"Finisher's sheet, ticket {doc.ticket_number}", doc)


def tickets_pdf(docs: Sequence[TicketDocument]) -> bytes:
    """All sheets of several tickets in one file: for each ticket cutter, sewer, finisher; ValueError when there is none."""
    if not docs:
        raise ValueError("there are no tickets to print")
    pages = [make(doc) for doc in docs for make in (cutter_sheet, sewer_sheet, finisher_sheet)]
    return _ticket(pages, f"Work sheets, order {docs[0].order_number}", docs[0])


def cost_sheet_pdf(doc: CostSheetDocument) -> bytes:
    """The loft's own view of a batch."""
    return page.render([cost_sheet(doc)], title=f"Cost sheet, quote {doc.reference}", author=doc.letterhead.name)


def _ticket(pages: Sequence[page.Sheet], title: str, doc: TicketDocument) -> bytes:
    return page.render(pages, title=title, author=doc.letterhead.name)
