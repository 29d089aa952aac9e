"""A drawing on a PDF page, as a flowable."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Literal

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from loft.documents import lettering
from loft.documents.drawing import Clip, Drawing, Item, Letters, Stroke


@lru_cache(maxsize=64)
def colour(code: str) -> Color:
    """The colour of a code like #1d5468."""
    return HexColor(code)


class Figure(Flowable):
    """A drawing at its own size, placed left, centre or right in its frame."""

    def __init__(self, drawing: Drawing, align: Literal["LEFT", "CENTER", "RIGHT"] = "CENTER") -> None:
        super().__init__()
        self.drawing = drawing
        self.width, self.height = drawing.width * mm, drawing.height * mm
        self.hAlign = align

    def draw(self) -> None:
        draw_on(self.canv, self.drawing)


def draw_on(canvas: Canvas, drawing: Drawing, x: float = 0.0, y: float = 0.0) -> None:
    """Draw with the lower left corner at (x, y) points."""
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(mm, mm)
    canvas.setLineJoin(1)
    _draw_items(canvas, drawing.items)
    canvas.restoreState()


def _draw_items(canvas: Canvas, items: Iterable[Item]) -> None:
    for item in items:
        match item:
            case Stroke():
                _draw_stroke(canvas, item)
            case Letters():
                _draw_letters(canvas, item)
            case Clip(box=(x, y, w, h)):
                canvas.saveState()
                path = canvas.beginPath()
                path.rect(x, y, w, h)
                canvas.clipPath(path, stroke=0, fill=0)
                _draw_items(canvas, item.items)
                canvas.restoreState()


def _draw_stroke(canvas: Canvas, item: Stroke) -> None:
    path = canvas.beginPath()
    path.moveTo(*item.line[0])
    for point in item.line[1:]:
        path.lineTo(*point)
    if item.closed:
        path.close()
    if item.pen is not None:
        canvas.setStrokeColor(colour(item.pen.colour))
        canvas.setLineWidth(item.pen.width)
        canvas.setDash(list(item.pen.dashes), 0)
    if item.fill:
        canvas.setFillColor(colour(item.fill))
    canvas.drawPath(path, stroke=int(item.pen is not None), fill=int(item.fill is not None))


def _draw_letters(canvas: Canvas, item: Letters) -> None:
    canvas.saveState()
    canvas.translate(*item.at)
    if item.angle:
        canvas.rotate(item.angle)
    length = lettering.width(item.text, item.height, item.font)
    x = {"start": 0.0, "middle": -length / 2, "end": -length}[item.anchor]
    canvas.setFillColor(colour(item.colour))
    draw_text(canvas, item.text, x, 0.0, item.height, item.font)
    canvas.restoreState()


def draw_text(canvas: Canvas, text: str, x: float, y: float, size: float, font: str) -> None:
    """Draw safe text from x on, each piece in the typeface that has it."""
    for face, piece in lettering.runs(text, font):
        canvas.setFont(face, size)
        canvas.drawString(x, y, piece)
        x += canvas.stringWidth(piece, face, size)
