"""The loft's letterhead and the small blocks that several documents share."""

from __future__ import annotations

from itertools import groupby

import segno
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from loft.documents import lettering, page
from loft.documents.content import Letterhead
from loft.documents.drawing import ACCENT, INK, SOFT, Drawing, Pen, Stroke
from loft.documents.figure import draw_text
from loft.documents.typefaces import BOLD, REGULAR

LETTERHEAD_HEIGHT = 43 * mm


def draw_letterhead(canvas: Canvas, head: Letterhead, size: tuple[float, float]) -> None:
    """Name at the left, address and ways to reach the loft at the right, a rule below."""
    width, height = size
    name_size = lettering.fitting_size(head.name, 25, (width - 2 * page.MARGIN) * 0.62, BOLD)
    canvas.setFillColor(HexColor(ACCENT))
    draw_text(canvas, head.name, page.MARGIN, height - 27 * mm, name_size, BOLD)
    lines = [
        ", ".join(head.address),
        " · ".join(filter(None, (head.email, head.phone))),
        head.tax_number and f"Tax number {head.tax_number}",
    ]
    canvas.setFillColor(HexColor(SOFT))
    for i, line in enumerate(filter(None, lines)):
        length = lettering.width(line, 8)
        draw_text(canvas, line, width - page.MARGIN - length, height - 19.5 * mm - i * 3.9 * mm, 8, REGULAR)
    page.rule(canvas, height - 32 * mm, size, ACCENT, 1.4)


def qr_code(content: str, side: float) -> Drawing:
    """A QR code (ISO/IEC 18004), `side` paper mm wide without the quiet zone: a row of modules is one dashed line."""
    rows = [list(row) for row in segno.make(content, error="m", micro=False).matrix]
    cell = side / len(rows)
    lines: list[Stroke] = []
    for number, row in enumerate(rows):
        y = side - (number + 0.5) * cell
        runs = [(dark, len(list(group)) * cell) for dark, group in groupby(row)]
        start = 0.0 if runs[0][0] else runs[0][1]
        dashes = tuple(length for _, length in runs[0 if runs[0][0] else 1 :])
        pen = Pen(cell * 1.01, INK, dashes if len(dashes) % 2 == 0 else (*dashes, side))  # a hair of overlap between rows
        lines.append(Stroke(((start, y), (side, y)), pen))
    return Drawing(side, side, tuple(lines), content)
