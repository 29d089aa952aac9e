"""What sewing changes of the sizes of a gored sail: the seams that each size crosses, and what their shaping curves add to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from costing import sail
from costing.cloth.gores import EDGES, Layout, SeamLine
from costing.cloth.grid import Floats
from costing.sail.shape import Outline, Point

_APART_MM = 1.0


@dataclass(frozen=True, slots=True)
class Crossed:
    """The number of seams that a size crosses, and how much longer their shaping curves make it, mm."""

    seams: int
    fullness_mm: float = 0.0


def crossings(flat: Outline, layout: Layout) -> dict[str, Crossed]:
    """What each size of a spinnaker crosses, by measurement name: its edges, its widths and its foot median."""
    found = {f"{edge}_length": Crossed(_pieces_of(layout, edge) - 1) for edge in EDGES}
    luff_points = sail.luff_points(flat)
    for name, point in sail.leech_points(flat).items():
        found[name] = _across(layout, luff_points[name], point)
    found["foot_median"] = _across(layout, flat.head_point, sail.foot_middle(flat))
    return found


def _pieces_of(layout: Layout, edge: str) -> int:
    """How many pieces the seams divide an edge into; a panel may have two of them, on both sides of another."""
    return sum(name == edge for piece in layout.pieces for name, _ in piece.cell.sides())


def _across(layout: Layout, start: Point, end: Point) -> Crossed:
    """What the straight line from start to end crosses, but not at its own ends; two seams that meet where it passes are one."""
    a, b = layout.frame.to_roll((start, end))
    length = float(np.hypot(*(b - a)))
    at: list[float] = []
    longer = 0.0
    for seam in layout.seams.values():
        where = _crossing(a, b, seam)
        if where is None or not _APART_MM < where[0] * length < length - _APART_MM:
            continue
        if all(abs(where[0] - other) * length > _APART_MM for other in at):
            at.append(where[0])
        longer += where[1] * float(seam.fullness(np.array(where[2])))
    return Crossed(len(at), longer)


def _crossing(a: Floats, b: Floats, seam: SeamLine) -> tuple[float, float, float] | None:
    """Part of the way from a to b, sine of the angle between them there, part of the seam's way; None where they do not meet."""
    line, way, gap = b - a, seam.end - seam.start, seam.start - a
    cross = float(line[0] * way[1] - line[1] * way[0])
    sine = abs(cross) / float(np.hypot(*line) * np.hypot(*way))
    if sine < 1e-6:
        return None
    on_line = float(gap[0] * way[1] - gap[1] * way[0]) / cross
    on_seam = float(gap[0] * line[1] - gap[1] * line[0]) / cross
    return (on_line, sine, on_seam) if -1e-9 <= on_seam <= 1 + 1e-9 else None
