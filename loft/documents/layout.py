"""Paragraphs, headings and tables in the house style; every text that goes in is escaped here."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Literal
from xml.sax.saxutils import quoteattr

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Paragraph, Spacer, Table, TableStyle

from loft.documents import lettering
from loft.documents.drawing import ACCENT, HAIR, INK, SIGNAL, SOFT, TINT
from loft.documents.typefaces import BOLD, ITALIC, REGULAR


def _style(
    name: str,
    size: float,
    *,
    font: str = REGULAR,
    colour: str = INK,
    lead: float = 1.28,
    after: float = 0.0,
    before: float = 0.0,
    alignment: Literal[0, 2] = 0,
) -> ParagraphStyle:
    return ParagraphStyle(
        name, fontName=font, fontSize=size, leading=size * lead, textColor=HexColor(colour), alignment=alignment,
        spaceAfter=after, spaceBefore=before, splitLongWords=1,
    )  # fmt: skip


BODY = _style("body", 9)
LEAD = _style("lead", 10.5, lead=1.35)
SMALL = _style("small", 7.8, colour=SOFT)
CELL = _style("cell", 8.6, lead=1.2)
CELL_BOLD = _style("cell bold", 8.6, font=BOLD, lead=1.2)
HEAD_CELL = _style("head cell", 7.6, font=BOLD, colour=ACCENT, lead=1.15)
HEAD_CELL_RIGHT = _style("head cell right", 7.6, font=BOLD, colour=ACCENT, lead=1.15, alignment=TA_RIGHT)
TITLE = _style("title", 19, font=BOLD, colour=ACCENT, lead=1.15)
HEADING = _style("heading", 11.5, font=BOLD, colour=ACCENT, before=9, after=3)
SUBHEADING = _style("subheading", 9.2, font=BOLD, before=5, after=1.5)
CAUTION = _style("caution", 8.4, font=ITALIC, colour=SIGNAL)
SECTION = _style("section", 13.5, font=BOLD, colour=ACCENT, before=12, after=2)
CUSTOMER = _style("customer", 11, font=BOLD, lead=1.3)
TINY = _style("tiny", 6.6, colour=SOFT, lead=1.15)
LIMIT = _style("limit", 7.5, lead=1.14)
FINE = _style("fine", 7.9, lead=1.16)
PRICE = _style("price", 8.2, lead=1.18)
STEP = _style("step", 9.6, lead=1.2)
HUGE = _style("huge", 30, font=BOLD, lead=1.15)
BIG = _style("big", 13, lead=1.2)
BIG_BOLD = _style("big bold", 13, font=BOLD, lead=1.2)
MARK = _style("mark", 7.4, font=BOLD, colour=SIGNAL)
NOTICE = _style("notice", 11, font=BOLD, colour=SIGNAL)

LINE = HexColor(HAIR)
ACCENT_COLOUR = HexColor(ACCENT)
TINT_COLOUR = HexColor(TINT)

Command = tuple[Any, ...]  # of a reportlab table style
Cell = str | Flowable | list[Flowable]


def text(words: str, style: ParagraphStyle = BODY, room: float = 1e6) -> Paragraph:
    """A paragraph of plain words; `room` is its width in points where right-to-left text may need a second line."""
    return Paragraph(lettering.wrapped_markup(words, style.fontSize, room, style.fontName), style)


def noted(words: str, note: str, style: ParagraphStyle = CELL) -> Cell:
    """A cell with a note in the smallest type under it; the plain words where there is none."""
    return [text(words, style), text(note, TINY)] if note else words


def link(address: str, style: ParagraphStyle = BODY) -> Paragraph:
    """A web address that can be read and followed."""
    return Paragraph(f"<a href={quoteattr(lettering.clean(address))}>{lettering.markup(address, style.fontName)}</a>", style)


def texts(words: Iterable[str], style: ParagraphStyle = BODY) -> list[Flowable]:
    return [text(w, style) for w in words]


class Heading(Paragraph):
    """A heading that goes to the next page when there is no room for something to follow it; not for inside tables or kept groups."""

    company = 14 * mm

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        width, own = super().wrap(room, height)
        return (width, own) if own + self.company <= height else (width, height + 1)

    def split(self, room: float, height: float) -> list[Flowable]:
        return []


def heading(words: str, style: ParagraphStyle = HEADING) -> Paragraph:
    """A heading that does not stand alone at the foot of a page."""
    return Heading(lettering.markup(words, style.fontName), style)


def room(height_mm: float) -> Flowable:
    """A new page where less height is left, so that a table does not begin away from what is said above it."""
    return CondPageBreak(height_mm * mm)


def bullet(words: str, width_mm: float, style: ParagraphStyle = CELL) -> Paragraph:
    """A line with a dash before it, later lines indented."""
    hanging = ParagraphStyle("bullet", style, leftIndent=9, bulletIndent=0, spaceAfter=1.4)
    return Paragraph(lettering.wrapped_markup(words, style.fontSize, width_mm * mm - 9, style.fontName), hanging, bulletText="–")


def gap(height_mm: float) -> Spacer:
    return Spacer(1, height_mm * mm)


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[Cell]],
    widths_mm: Sequence[float],
    *,
    right: Sequence[int] = (),
    style: ParagraphStyle = CELL,
    extra: Sequence[Command] = (),
    pad: float = 2.6,
) -> Table:
    """A table with a repeated head and thin rules; columns in `right` hold figures."""
    widths = [w * mm for w in widths_mm]
    body = [[_cell(c, i, style, widths[i], right) for i, c in enumerate(row)] for row in rows]
    top: list[list[Cell]] = [[text(h, HEAD_CELL_RIGHT if i in right else HEAD_CELL) for i, h in enumerate(head)]] if head else []
    commands: list[Command] = [
        ("FONT", (0, 0), (-1, -1), style.fontName, style.fontSize, style.fontSize * 1.2),
        ("TEXTCOLOR", (0, 0), (-1, -1), style.textColor),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), pad),
        ("BOTTOMPADDING", (0, 0), (-1, -1), pad),
        ("LEFTPADDING", (0, 0), (-1, -1), 3),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3),
        ("LINEBELOW", (0, 0), (-1, -1), 0.35, LINE),
        *(("ALIGN", (i, 0), (i, -1), "RIGHT") for i in right),
    ]
    if head:
        commands += [("VALIGN", (0, 0), (-1, 0), "BOTTOM"), ("LINEBELOW", (0, 0), (-1, 0), 0.9, ACCENT_COLOUR)]
    return Table([*top, *body], widths, repeatRows=len(top), style=TableStyle([*commands, *extra]), hAlign="LEFT")


def _cell(content: Cell, column: int, style: ParagraphStyle, width: float, right: Sequence[int]) -> Cell:
    if not isinstance(content, str) or content == "":
        return content
    room = width - 6
    typefaces = {face for face, _ in lettering.runs(content, style.fontName)}
    if lettering.width(content, style.fontSize, style.fontName) <= room and typefaces == {style.fontName}:
        return lettering.visible(content)  # one line in the table's own typeface: no need for a paragraph
    aligned = _figure_style(content, style, room) if column in right else style
    return text(content, aligned, room)


def _figure_style(content: str, style: ParagraphStyle, room: float) -> ParagraphStyle:
    """To the right, and so much smaller that no figure is broken in two."""
    longest = max(lettering.width(word, style.fontSize, style.fontName) for word in content.split() or [content])
    size = style.fontSize * min(1.0, room / longest * 0.99) if longest else style.fontSize
    return ParagraphStyle("aligned", style, alignment=TA_RIGHT, fontSize=size)


def room_for(cells: Iterable[Cell], least_mm: float, style: ParagraphStyle = CELL) -> float:
    """How wide a column must be, mm, so that each of its texts stands on one line; at least `least_mm`."""
    widest = max((lettering.width(c, style.fontSize, style.fontName) for c in cells if isinstance(c, str)), default=0.0)
    return max(least_mm, (widest + 6.5) / mm)


def pairs(rows: Sequence[tuple[str, Cell]], widths_mm: tuple[float, float], style: ParagraphStyle = CELL) -> Table:
    """Names and values without rules: a small block of facts."""
    name_style = SMALL if style.fontSize < 10 else STEP
    return Table(
        [[text(name, name_style), _cell(value, 1, style, widths_mm[1] * mm, ())] for name, value in rows],
        [w * mm for w in widths_mm],
        style=TableStyle(
            [
                ("FONT", (1, 0), (1, -1), style.fontName, style.fontSize, style.fontSize * 1.2),
                ("TEXTCOLOR", (1, 0), (1, -1), style.textColor),
                ("VALIGN", (0, 0), (-1, -1), "TOP" if style.fontSize < 10 else "MIDDLE"),
                ("TOPPADDING", (0, 0), (-1, -1), 1.2),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 1.2),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 2),
            ]
        ),
        hAlign="LEFT",
    )


def side_by_side(left: Sequence[Flowable], right: Sequence[Flowable], widths_mm: tuple[float, float]) -> Table:
    """Two columns whose contents start at the same height."""
    return Table(
        [[list(left), list(right)]],
        [w * mm for w in widths_mm],
        style=TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
                ("TOPPADDING", (0, 0), (-1, -1), 0),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
            ]
        ),
        hAlign="LEFT",
    )


def write_in(*columns: int) -> list[Command]:
    """Table commands that make blank boxes of these columns, to be written in."""
    return [("GRID", (c, 1), (c, -1), 0.6, HexColor(SOFT)) for c in columns]


class TickBox(Flowable):
    """An empty square to tick by hand."""

    def __init__(self, size_mm: float = 3.4) -> None:
        super().__init__()
        self.width = self.height = size_mm * mm

    def draw(self) -> None:
        self.canv.setStrokeColor(HexColor(INK))
        self.canv.setLineWidth(0.7)
        self.canv.rect(0, 0, self.width, self.height)


def tick_list(words: Sequence[str], width_mm: float, style: ParagraphStyle = CELL) -> Table:
    """Lines each with an open tick box."""
    return table((), [(TickBox(), text(w, style, (width_mm - 7) * mm)) for w in words], (7, width_mm - 7), style=style, pad=2.2)


def framed(content: Sequence[Flowable], width_mm: float, colour: str = ACCENT, fill: str | None = None) -> Table:
    """Content in a thin frame."""
    style: list[Command] = [
        ("BOX", (0, 0), (-1, -1), 0.9, HexColor(colour)),
        ("LEFTPADDING", (0, 0), (-1, -1), 6),
        ("RIGHTPADDING", (0, 0), (-1, -1), 6),
    ]
    if fill:
        style.append(("BACKGROUND", (0, 0), (-1, -1), HexColor(fill)))
    return Table([[list(content)]], [width_mm * mm], style=TableStyle(style), hAlign="LEFT")
