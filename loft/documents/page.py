"""The base of every document: sheets with a head and a foot, rendered to bytes that are the same each time."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from io import BytesIO
from threading import Lock
from typing import Any

from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, NextPageTemplate, PageBreak, PageTemplate

from loft.documents import lettering
from loft.documents.drawing import ACCENT, HAIR, SIGNAL, SOFT
from loft.documents.figure import draw_text
from loft.documents.typefaces import BOLD, REGULAR

rl_config.useA85 = 0  # streams as they are: smaller and quicker than in letters

MARGIN = 17 * mm
FOOT = 16 * mm
HEAD = 15 * mm

Draw = Callable[[Canvas], None]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One document within a file, with its own page numbers.

    head: what is drawn at the top of the first page; head_height: points that it takes from the upper page edge; running: left and
    right text at the top of later pages; foot: text at the bottom; stamp: a word across every page ("DRAFT"), empty for none.
    """

    story: Sequence[Flowable]
    foot: str
    running: tuple[str, str]
    head: Draw | None = None
    head_height: float = HEAD
    stamp: str = ""
    size: tuple[float, float] = field(default=A4)

    @property
    def text_width(self) -> float:
        return text_width(self.size)


def text_width(size: tuple[float, float] = A4) -> float:
    """The width of the text on a page of this size, points."""
    return size[0] - 2 * MARGIN


class _CountingCanvas(Canvas):
    """A canvas that writes "page n of m" for each sheet once it knows m."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sheet_number = 0
        self._states: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802 - reportlab's name
        self._states.append(dict(self.__dict__))
        self._startPage()  # type: ignore[attr-defined]

    def save(self) -> None:
        numbers = [state["sheet_number"] for state in self._states]
        for i, state in enumerate(self._states):
            self.__dict__.update(state)
            here = numbers[i]
            page, pages = numbers[: i + 1].count(here), numbers.count(here)
            self.setFont(REGULAR, 7.5)
            self.setFillColor(HexColor(SOFT))
            self.drawRightString(state["_pagesize"][0] - MARGIN, FOOT - 7 * mm, f"page {page} of {pages}")
            super().showPage()
        super().save()


# The library cuts a typeface's subset with one reading position for all threads: two papers at once would take each other's letters.
_ONE_AT_A_TIME = Lock()


def render(sheets: Sequence[Sheet], *, title: str, author: str) -> bytes:
    """All sheets in one PDF, each on fresh pages with its own numbering; the same sheets give the same bytes."""
    buffer = BytesIO()
    document = BaseDocTemplate(
        buffer, pagesize=sheets[0].size, title=lettering.printable(title), author=lettering.printable(author), invariant=1
    )
    story: list[Flowable] = []
    for number, sheet in enumerate(sheets):
        document.addPageTemplates(_templates(number, sheet))
        if number:
            story += [NextPageTemplate(f"first{number}"), PageBreak()]
        story += sheet.story
    with _ONE_AT_A_TIME:
        document.build(story, canvasmaker=_CountingCanvas)
    return buffer.getvalue()


def _templates(number: int, sheet: Sheet) -> list[PageTemplate]:
    width, height = sheet.size

    def frame(head: float) -> Frame:
        return Frame(MARGIN, FOOT, width - 2 * MARGIN, height - FOOT - head, 0, 0, 0, 0)

    def start(canvas: Canvas, _: object) -> None:
        _begin_page(canvas, number, sheet)
        if sheet.head is not None:
            sheet.head(canvas)

    def later(canvas: Canvas, _: object) -> None:
        _begin_page(canvas, number, sheet)
        _draw_running(canvas, sheet)

    return [
        PageTemplate(
            f"first{number}", [frame(sheet.head_height)], onPage=start, pagesize=sheet.size, autoNextPageTemplate=f"later{number}"
        ),
        PageTemplate(f"later{number}", [frame(HEAD + 6 * mm)], onPage=later, pagesize=sheet.size),
    ]


def _begin_page(canvas: Canvas, number: int, sheet: Sheet) -> None:
    canvas.sheet_number = number  # type: ignore[attr-defined]
    width, _ = sheet.size
    if sheet.stamp:
        _draw_stamp(canvas, sheet)
    rule(canvas, FOOT - 3.2 * mm, sheet.size, HAIR, 0.4)
    canvas.setFillColor(HexColor(SOFT))
    foot_size = lettering.fitting_size(sheet.foot, 7.5, width - 2 * MARGIN - 25 * mm)
    draw_text(canvas, sheet.foot, MARGIN, FOOT - 7 * mm, foot_size, REGULAR)


def _draw_stamp(canvas: Canvas, sheet: Sheet) -> None:
    width, height = sheet.size
    canvas.saveState()
    canvas.translate(width / 2, height / 2)
    canvas.rotate(52)
    canvas.setFillColor(HexColor("#f4f0ef"))
    size = min(150.0, 0.72 * math.hypot(width, height) / lettering.width(sheet.stamp, 1, BOLD))
    canvas.setFont(BOLD, size)
    canvas.drawCentredString(0, -size / 3, sheet.stamp)
    canvas.restoreState()


def _draw_running(canvas: Canvas, sheet: Sheet) -> None:
    width, height = sheet.size
    left, right = sheet.running
    y = height - HEAD + 1 * mm
    canvas.setFillColor(HexColor(SOFT))
    half = (width - 2 * MARGIN) * 0.48
    draw_text(canvas, left, MARGIN, y, lettering.fitting_size(left, 8.5, half), REGULAR)
    size = lettering.fitting_size(right, 8.5, half, BOLD)
    canvas.setFillColor(HexColor(SIGNAL if sheet.stamp else ACCENT))
    draw_text(canvas, right, width - MARGIN - lettering.width(right, size, BOLD), y, size, BOLD)
    rule(canvas, y - 2.2 * mm, sheet.size, ACCENT, 0.6)


def rule(canvas: Canvas, y: float, size: tuple[float, float], colour: str, width: float) -> None:
    """A line across the text width."""
    canvas.setStrokeColor(HexColor(colour))
    canvas.setLineWidth(width)
    canvas.line(MARGIN, y, size[0] - MARGIN, y)
