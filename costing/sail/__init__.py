"""The sail: sizes in, outline out, and the ERS measurements of any outline.

`outline(shape)` makes a fair edge that really has the asked widths; `measure(outline)` takes the ERS constructions
on any polygon and does not know how it was made; `published_area` gives the rating formulas' areas.
"""

from costing.sail.areas import polygon_area, published_area
from costing.sail.measure import leech_points, measure
from costing.sail.outline import outline
from costing.sail.shape import Line, LuffCurve, Outline, Point, SailShape

__all__ = [
    "Line",
    "LuffCurve",
    "Outline",
    "Point",
    "SailShape",
    "leech_points",
    "measure",
    "outline",
    "polygon_area",
    "published_area",
]
