"""Drawings for screens: the same as on paper, as SVG text."""

from __future__ import annotations

from costing.quote import Design
from loft.documents import lay_drawing, lay_marks, sail_drawing
from loft.documents.svg import svg


def sail_svg(design: Design, side: str = "starboard") -> str:
    """The dimensioned sail seen from one side ("starboard": luff on the right, or "port")."""
    return svg(sail_drawing.dimensioned_sail(design, side=side))


def lay_svg(design: Design) -> str:
    """Every lay of a design, section by section, one below the other."""
    strips = [d for lay in design.lays for d in (lay_marks.key(design, lay, 180.0), *lay_drawing.lay_strips(design, lay, width=180.0))]
    return svg(lay_drawing.stacked(strips, "Lay, face up, warp along the roll"))
