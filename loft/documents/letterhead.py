"""The loft's letterhead and the small blocks that several documents share."""

from __future__ import annotations

import segno
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from loft.documents import lettering, page
from loft.documents.content import Letterhead
from loft.documents.drawing import ACCENT, INK, SOFT, Drawing, Stroke
from loft.documents.figure import draw_text
from loft.documents.typefaces import BOLD, REGULAR

LETTERHEAD_HEIGHT = 43 * mm


def draw_letterhead(canvas: Canvas, head: Letterhead, size: tuple[float, float]) -> None:
    """Name at the left, address and ways to reach the loft at the right, a rule below."""
    width, height = size
    name_size = lettering.fitting_size(head.name, 25, (width - 2 * page.MARGIN) * 0.62, BOLD)
    canvas.setFillColor(HexColor(ACCENT))
    draw_text(canvas, head.name, page.MARGIN, height - 27 * mm, name_size, BOLD)
    lines = [", ".join(head.address), " · ".join(filter(None, (head.email, head.phone))), head.tax_number]
    canvas.setFillColor(HexColor(SOFT))
    for i, line in enumerate(filter(None, lines)):
        length = lettering.width(line, 8)
        draw_text(canvas, line, width - page.MARGIN - length, height - 19.5 * mm - i * 3.9 * mm, 8, REGULAR)
    page.rule(canvas, height - 32 * mm, size, ACCENT, 1.4)


def qr_code(content: str, side: float) -> Drawing:
    """A QR code (ISO/IEC 18004) as filled squares, `side` paper mm wide without the quiet zone."""
    rows = [list(row) for row in segno.make(content, error="m", micro=False).matrix]
    cell = side / len(rows)
    squares: list[Stroke] = []
    for r, row in enumerate(rows):
        y = side - (r + 1) * cell
        start = None
        for c, dark in enumerate([*row, 0]):
            if dark and start is None:
                start = c
            elif not dark and start is not None:
                squares.append(_bar(start * cell, c * cell, y, cell))
                start = None
    return Drawing(side, side, tuple(squares), content)


def _bar(x0: float, x1: float, y: float, cell: float) -> Stroke:
    top = y + cell + 0.01  # a hair of overlap, so that no white line shows between rows
    return Stroke(((x0, y), (x1, y), (x1, top), (x0, top)), None, True, INK)
