"""The sail: sizes in, outline out, and the ERS measurements of any outline.

`outline(shape)` makes a fair edge that really has the asked widths; `measure(outline)` takes the ERS constructions
on any polygon and does not know how it was made; `published_area` gives the rating formulas' areas; `assumed_sizes` says which sizes
nobody gave and where their values come from.
"""

from costing.sail.areas import (
    AreaComparison,
    compare_areas,
    compared_areas,
    formula_in_words,
    girth_heights,
    multihull_spinnaker_area,
    polygon_area,
    published_area,
)
from costing.sail.assumed import area_effects, assumed_sizes, left_to_the_edge, shape_from_sizes
from costing.sail.measure import foot_middle, leech_points, luff_points, measure
from costing.sail.outline import outline
from costing.sail.shape import Line, LuffCurve, Outline, Point, SailShape
from costing.sail.stations import leech_round, measure_for, station_width

__all__ = [
    "AreaComparison",
    "Line",
    "LuffCurve",
    "Outline",
    "Point",
    "SailShape",
    "area_effects",
    "assumed_sizes",
    "compare_areas",
    "compared_areas",
    "foot_middle",
    "formula_in_words",
    "girth_heights",
    "leech_points",
    "leech_round",
    "left_to_the_edge",
    "luff_points",
    "measure",
    "measure_for",
    "multihull_spinnaker_area",
    "outline",
    "polygon_area",
    "published_area",
    "shape_from_sizes",
    "station_width",
]
