"""The cutter's sheet of a lay that serves several sails: what to pull from which roll, whose parts they are, and the drawing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, PageBreak

from loft.documents import lay_marks, layout, lettering, page, wording
from loft.documents.content import LaidSail, LaidSection, LayDocument
from loft.documents.cutter_sheet import CAUTION
from loft.documents.drawing import ACCENT, SIGNAL, SOFT
from loft.documents.figure import Figure, draw_text
from loft.documents.lay_drawing import lay_strips
from loft.documents.ticket_sheet import boxes, defer
from loft.documents.typefaces import BOLD, REGULAR

_HEAD = 46 * mm


def lay_sheet_pdf(doc: LayDocument) -> bytes:
    """The sheet of a shared lay."""
    sheet = page.Sheet(
        story=[*_held(doc), *_cloth(doc), *_pull(doc), *_sails(doc), *_used(doc), *defer(CAUTION), PageBreak(), *_sections(doc)],
        foot=f"{doc.letterhead.name} · lay {doc.number}",
        running=(f"Lay {doc.number}", f"{doc.cloth} {doc.colour}"),
        head=partial(_head, doc),
        head_height=_HEAD,
        stamp="HELD" if doc.held else "",
    )
    return page.render([sheet], title=f"Lay {doc.number}", author=doc.letterhead.name)


def _head(doc: LayDocument, canvas: Canvas) -> None:
    height, left, room = A4[1], page.MARGIN, page.text_width()
    canvas.setFillColor(HexColor(ACCENT))
    draw_text(canvas, "CUTTER", left, height - 19 * mm, 15, BOLD)
    page.rule(canvas, height - 22 * mm, A4, ACCENT, 1.4)
    title = f"Lay {doc.number}"
    draw_text(canvas, title, left, height - 36 * mm, lettering.fitting_size(title, 40, room, BOLD), BOLD)
    canvas.setFillColor(HexColor(SOFT))
    below = f"{len(doc.sails)} sails on one lay, {len(doc.sections)} sections"
    draw_text(canvas, below, left, height - 42 * mm, 10.5, REGULAR)


def _held(doc: LayDocument) -> list[Flowable]:
    if not doc.held:
        return []
    words = [
        layout.text("HELD – do not cut sections of these sails.", layout.NOTICE),
        layout.text(f"Not released: {', '.join(doc.held)}.", layout.BIG),
    ]
    return [layout.framed(words, 176, SIGNAL), layout.gap(3)]


def _cloth(doc: LayDocument) -> list[Flowable]:
    table = doc.table
    rows: list[tuple[str, layout.Cell]] = [
        ("Cloth", doc.cloth),
        ("Colour", doc.colour),
        ("Lay", "FACE UP (the face is the port side), never mirrored"),
        ("Tool, pen", f"{table.tool}, {table.pen}; {table.gap_mm:g} mm between parts"),
    ]
    return [layout.pairs(rows, (24, 152), layout.BIG_BOLD)]


def _pull(doc: LayDocument) -> list[Flowable]:
    """What to pull, in the order in which it comes off each roll."""
    widest = max(s.lay.usable_width_mm for s in doc.sections)
    rows: list[Sequence[layout.Cell]] = [
        (f"Section {s.number}", f"{wording.metres_to_pull(s.lay.length_mm)} m", _place(s, widest))
        for s in sorted(doc.sections, key=_off_the_roll)
    ]  # fmt: skip
    return [
        layout.heading(f"Pull – usable width {wording.mm(widest)} mm", layout.HEADING),
        layout.table((), rows, (50, 40, 86), right=(1,), style=layout.BIG_BOLD, pad=3),
    ]


def _off_the_roll(section: LaidSection) -> tuple[bool, str, int, int]:
    """Those on no roll last, as they are numbered."""
    return (section.start_mm is None, section.roll, section.start_mm or 0, section.number)


def _place(section: LaidSection, widest: float) -> str:
    narrow = f", {wording.mm(section.lay.usable_width_mm)} mm wide" if section.lay.usable_width_mm < widest else ""
    if section.cut:
        return f"CUT from roll {section.roll}, lot {section.lot}"
    if section.start_mm is None:
        return f"on no roll yet{narrow}"
    return f"roll {section.roll}, lot {section.lot}, from {wording.metres(section.start_mm)} m{narrow}"


def _called(sail: LaidSail) -> layout.Cell:
    called = f"{sail.label}, cut again: {', '.join(sail.again)}" if sail.again else sail.label
    if not sail.not_legal:
        return called
    return [layout.text(called, layout.STEP), layout.text(wording.not_legal(sail.not_legal), layout.MARK)]


def _sails(doc: LayDocument) -> list[Flowable]:
    rows = [(sail.letter, _called(sail), sail.ticket) for sail in doc.sails]
    return [
        layout.heading("Sails, by the letter on their parts", layout.HEADING),
        layout.table(("Letter", "Sail", "Ticket"), rows, (20, 106, 50), style=layout.STEP, pad=2),
    ]


def _used(doc: LayDocument) -> list[Flowable]:
    names = ("Really used", "Roll", "Lot", "Actual metres", "By", "Date")
    sections = [f"Section {s.number}" for s in doc.sections if not s.cut]
    if not sections:
        return []
    return [layout.gap(3), boxes(names, (40, 32, 32, 28, 20, 24), sections), layout.gap(1)]


def _sections(doc: LayDocument) -> list[Flowable]:
    designs = {sail.letter: sail.design for sail in doc.sails}
    story: list[Flowable] = []
    for section in doc.sections:
        here = {placed.sail for placed in section.lay.placements}
        own = {letter: design for letter, design in designs.items() if letter in here}
        story.append(layout.heading(f"Section {section.number}, face up, seen from above", layout.HEADING))
        story += [Figure(lay_marks.key(next(iter(own.values())), section.lay, 176), "LEFT"), layout.gap(1)]
        for strip in lay_strips(own, section.lay, width=176):
            story += [Figure(strip, "LEFT"), layout.gap(2)]
    return story
