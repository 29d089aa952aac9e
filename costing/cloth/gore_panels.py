"""The panels of a gored sail on the roll: cut edge, sew lines and marks of each, its warp along the roll."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from costing.cloth.frame import as_line, grown_ring, ring_of
from costing.cloth.gore_draft import Draft, outside_mm, runs_of
from costing.cloth.gore_marks import OnRoll, gore_marks
from costing.cloth.gores import EDGES, Layout
from costing.cloth.grid import Floats
from costing.cloth.make import Make
from costing.cloth.part import Cloth, Panel, Sew
from costing.errors import Collector
from costing.sail.shape import Line

#: A panel this much under the usable width still counts as touching both edges of it.
_FULL_WITHIN_MM = 1.0


def panels(layout: Layout, make: Make, cloth: Cloth, *, folded: bool) -> tuple[Panel, ...]:
    """Every panel of the layout, in its order; `folded`: the centreline is drawn. InputError for each that is wider than the roll."""
    runs = runs_of(layout)
    outside = shapely.Polygon(grown_ring([(layout.edges[name], outside_mm(name, make)) for name in EDGES]))
    made = tuple(_panel(Draft(layout, piece, make, runs), outside, cloth, folded=folded) for piece in layout.pieces)
    _refuse_wide(made, cloth)
    return made


def _panel(draft: Draft, outside: shapely.Polygon, cloth: Cloth, *, folded: bool) -> Panel:
    """Nothing is cut further out than the whole sail: where two sides meet sharply, at a corner, their allowances would reach far."""
    grown = shapely.Polygon(grown_ring([(side, outside_mm(name, draft.make)) for name, side in draft.sides]))
    largest: shapely.Polygon = max(shapely.get_parts(grown.intersection(outside)), key=lambda piece: piece.area)
    cut = draft.turned(np.asarray(shapely.LinearRing(ring_of(largest)).simplify(0.01).coords)[:-1])
    corner = cut.min(axis=0)

    def on_roll(points: Floats) -> Line:
        return as_line(draft.turned(points) - corner)

    piece = draft.piece
    return Panel(
        mark=piece.mark,
        finished=draft.layout.frame.to_sail(piece.cell.points[::-1]),
        cut=as_line(cut - corner),
        lower_sew=(),
        upper_sew=(),
        marks=tuple(gore_marks(draft, on_roll, folded=folded)),
        full_width=float(np.ptp(cut[:, 1])) >= cloth.usable_width_mm - _FULL_WITHIN_MM,
        free_edges=("", ""),
        more_sews=tuple(_sews(draft, on_roll)),
        place=piece.place,
    )


def _sews(draft: Draft, on_roll: OnRoll) -> Iterator[Sew]:
    """The panel's pieces of its seams, one for each panel beside it, from the seam's start on; half the overlap is on each panel."""
    for name, beside in draft.beside.items():
        seam = draft.layout.seams[name]
        for mark, start, end in beside:
            line = draft.along(seam, start, end)
            flat = draft.layout.frame.to_sail(seam.start + np.array(((start,), (end,))) * (seam.end - seam.start))
            forward = end > start
            yield Sew(name, on_roll(line if forward else line[::-1]), True, mark, flat if forward else flat[::-1])


def _refuse_wide(made: tuple[Panel, ...], cloth: Cloth) -> None:
    found = Collector()
    for i, panel in enumerate(made):
        width = max(y for _, y in panel.cut)
        if width > cloth.usable_width_mm + 1e-6:
            over = width - cloth.usable_width_mm
            told = f"panel {panel.mark} would be {width:,.1f} mm wide, {over:,.1f} mm more than {cloth.code}'s usable width"
            right = "put the seams of the centre nearer to each other" if panel.mark[0] == "P" else "take more gores at that corner"
            found.add(f"panels[{i}]", "panel_too_wide", f"{told}; {right}")
    found.raise_if_any()
