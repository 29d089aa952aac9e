"""Drawings for screens: the same as on paper, as SVG text."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from costing.cloth import Lay
from costing.quote import Design, non_class
from costing.rules import breach_in_words
from loft.documents import lay_drawing, lay_marks, sail_drawing
from loft.documents.drawing import Drawing
from loft.documents.svg import svg

_WIDTH = 180.0


def sail_svg(design: Design, side: str = "starboard", not_legal: Sequence[str] = ()) -> str:
    """The dimensioned sail seen from one side ("starboard": luff on the right, or "port"). not_legal: what its ticket says is outside."""
    told = not_legal or [breach_in_words(breach) for breach in non_class.of_design(design)]
    return svg(sail_drawing.noted(sail_drawing.dimensioned_sail(design, side=side), told))


def lay_svg(design: Design) -> str:
    """Every lay of a design, section by section, one below the other."""
    strips = [d for lay in design.lays for d in (lay_marks.key(design, lay, _WIDTH), *_strips({"": design}, lay))]
    return svg(lay_drawing.stacked(strips, "Lay, face up, warp along the roll"))


def shared_lay_svg(designs: Mapping[str, Design], lay: Lay) -> str:
    """A lay of several sails, section by section; designs by the letter that the lay gives each sail."""
    return svg(lay_drawing.stacked(_strips(designs, lay), "Lay, face up, warp along the roll"))


def _strips(designs: Mapping[str, Design], lay: Lay) -> tuple[Drawing, ...]:
    return lay_drawing.lay_strips(designs, lay, width=_WIDTH)
