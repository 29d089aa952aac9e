"""What the three work sheets share: a head that can be read across the room, the hold, the steps to tick."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Spacer

from costing.quote import TicketStep
from loft.documents import layout, lettering, page, wording
from loft.documents.content import TicketDocument
from loft.documents.drawing import ACCENT, INK, SIGNAL, SOFT
from loft.documents.figure import draw_text
from loft.documents.layout import TickBox
from loft.documents.typefaces import BOLD, REGULAR

HEAD_HEIGHT = 49.5 * mm
TO_FOLLOW = "number to follow"


def sheet(doc: TicketDocument, station: str, story: Sequence[Flowable]) -> page.Sheet:
    """The pages of one station's sheet."""
    mark = f" · {wording.NOT_LEGAL}" if doc.not_legal else ""
    name = f"{station} · {doc.sail.label}{mark}"
    return page.Sheet(
        story=[*not_legal(doc), *held(doc), *story],
        foot=f"{doc.letterhead.name} · order {doc.order_number} · ticket {doc.ticket_number} · {station}{mark}",
        running=(name, f"Ticket {doc.ticket_number}"),
        head=lambda canvas: _draw_head(canvas, doc, station),
        head_height=HEAD_HEIGHT,
        stamp="HELD" if doc.waiting_for else "",
    )


def _draw_head(canvas: Canvas, doc: TicketDocument, station: str) -> None:
    """Station, ticket and due date on one line, then the sail as large as the page allows."""
    height = A4[1]
    left, room = page.MARGIN, page.text_width()
    canvas.setFillColor(HexColor(ACCENT))
    draw_text(canvas, station.upper(), left, height - 19 * mm, 15, BOLD)
    due = wording.day(doc.due_on, doc.letterhead.date_format)
    right = f"Order {doc.order_number}  ·  Ticket {doc.ticket_number}  ·  Due {due}"
    canvas.setFillColor(HexColor(INK))
    size = lettering.fitting_size(right, 13, room * 0.72, BOLD)
    draw_text(canvas, right, left + room - lettering.width(right, size, BOLD), height - 19 * mm, size, BOLD)
    page.rule(canvas, height - 22 * mm, A4, ACCENT, 1.4)
    draw_text(canvas, doc.sail.label, left, height - 37 * mm, lettering.fitting_size(doc.sail.label, 42, room, BOLD), BOLD)
    below = f"{doc.class_name} · {doc.pattern_label} · {doc.sail.owner}"
    canvas.setFillColor(HexColor(SOFT))
    draw_text(canvas, below, left, height - 44.5 * mm, lettering.fitting_size(below, 10.5, room), REGULAR)
    page.rule(canvas, height - 47.5 * mm, A4, ACCENT, 0.6)


def not_legal(doc: TicketDocument) -> list[Flowable]:
    """That the sail is not class legal, by which limits, and that it gets no label; nothing for a class sail."""
    if not doc.not_legal:
        return []
    words = [layout.text(f"{wording.NOT_LEGAL} – no class label on this sail.", layout.NOTICE)]
    words += [layout.bullet(f"{wording.spelled(told)}.", 168) for told in doc.not_legal]
    return [layout.framed(words, 176, SIGNAL), layout.gap(3)]


def held(doc: TicketDocument) -> list[Flowable]:
    """The hold and what it waits for, and below it what holds no start; nothing once all is there."""
    due = [layout.text("Still to come: " + "; ".join(doc.still_due) + ".", layout.BODY), layout.gap(2)] if doc.still_due else []
    if not doc.waiting_for:
        return due
    words = [layout.text("HELD – do not start.", layout.NOTICE), layout.text("Waits for: " + "; ".join(doc.waiting_for) + ".", layout.BIG)]
    return [layout.framed(words, 176, SIGNAL), layout.gap(3), *due]


def station_steps(doc: TicketDocument, station: str) -> tuple[TicketStep, ...]:
    """The steps of a station in the pattern's order; empty when the sail has none there."""
    return tuple(step for plan in doc.plans if plan.station == station for step in plan.steps)


def step_table(doc: TicketDocument, steps: Sequence[TicketStep]) -> list[Flowable]:
    """Steps with a box to tick, what they act on, their minutes, and the caution beside them."""
    rows: list[list[layout.Cell]] = []
    for number, step in enumerate(steps, start=1):
        what: list[Flowable] = [layout.text(step.label, layout.STEP)]
        if step.needs_number and not doc.sail.sail_number:
            what.append(layout.text(f"HOLD this step: {TO_FOLLOW}.", layout.CAUTION))
        what.append(layout.text(wording.spelled(step.how), layout.SMALL))
        caution: layout.Cell = layout.text(step.caution, layout.CAUTION) if step.caution else ""
        rows.append([TickBox(5), str(number), what, caution, wording.minutes(step.minutes), ""])
    total = sum((s.minutes for s in steps), Decimal(0))
    return [
        layout.heading("Steps", layout.HEADING),
        layout.table(("", "", "Step", "Caution", "min", "by"), rows, (9, 7, 61, 69, 14, 16), right=(4,), style=layout.STEP, pad=1.1),
        layout.gap(1),
        layout.text(f"Standard time for these steps: {wording.hours(total)}. Write down what it really took.", layout.SMALL),
    ]


def boxes(names: Sequence[str], widths_mm: Sequence[float], rows: Sequence[str] = ("",), height_mm: float = 9) -> Flowable:
    """Blank boxes to write in, a name over each column; `rows` names the lines in the first column."""
    body = [[first, *[""] * (len(names) - 1)] for first in rows]
    lined = [("GRID", (0, 0), (-1, -1), 0.5, HexColor(SOFT)), ("BOTTOMPADDING", (0, 1), (-1, -1), (height_mm - 4) * mm)]
    return layout.table(names, body, widths_mm, style=layout.CELL_BOLD, extra=lined)


def defer(words: str) -> list[Flowable]:
    """A short caution at the end of a sheet."""
    return [Spacer(1, 1.5 * mm), layout.text(words, layout.CAUTION)]
