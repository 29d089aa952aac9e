"""A drawing as SVG text for screens."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import count
from xml.sax.saxutils import escape, quoteattr

from loft.documents import lettering
from loft.documents.drawing import Clip, Drawing, Item, Letters, Stroke
from loft.documents.typefaces import BOLD, ITALIC

_FAMILY = "Lato, 'DejaVu Sans Condensed', sans-serif"


def svg(drawing: Drawing) -> str:
    """The drawing as one self-contained SVG element, sized in mm."""
    w, h = drawing.width, drawing.height
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w:g} {h:g}" width="{w:g}mm" height="{h:g}mm" '
        f'role="img" aria-label={quoteattr(lettering.printable(drawing.title))} font-family="{_FAMILY}">'
    )
    clips = count()
    return head + f"<title>{escape(lettering.printable(drawing.title))}</title>" + "".join(_elements(drawing.items, h, clips)) + "</svg>"


def _elements(items: Iterable[Item], page: float, clips: Iterator[int]) -> Iterable[str]:
    for item in items:
        match item:
            case Stroke():
                yield _stroke(item, page)
            case Letters():
                yield _letters(item, page)
            case Clip(box=(x, y, w, h)):
                name = f"clip{next(clips)}"
                yield f'<clipPath id="{name}"><rect x="{x:.2f}" y="{page - y - h:.2f}" width="{w:.2f}" height="{h:.2f}"/></clipPath>'
                yield f'<g clip-path="url(#{name})">' + "".join(_elements(item.items, page, clips)) + "</g>"


def _stroke(item: Stroke, page: float) -> str:
    points = " ".join(f"{x:.2f},{page - y:.2f}" for x, y in item.line)
    shape = "polygon" if item.closed else "polyline"
    style = f'fill="{item.fill or "none"}"'
    if item.pen is not None:
        style += f' stroke="{item.pen.colour}" stroke-width="{item.pen.width:g}" stroke-linejoin="round"'
        if item.pen.dashes:
            style += f' stroke-dasharray="{" ".join(f"{d:g}" for d in item.pen.dashes)}"'
    return f'<{shape} points="{points}" {style}/>'


def _letters(item: Letters, page: float) -> str:
    x, y = item.at[0], page - item.at[1]
    style = f'font-size="{item.height:.2f}" text-anchor="{item.anchor}" fill="{item.colour}"'
    if item.font == BOLD:
        style += ' font-weight="bold"'
    if item.font == ITALIC:
        style += ' font-style="italic"'
    turn = f' transform="rotate({-item.angle:.2f} {x:.2f} {y:.2f})"' if item.angle else ""
    return f'<text x="{x:.2f}" y="{y:.2f}" {style}{turn}>{escape(lettering.printable(item.text))}</text>'
