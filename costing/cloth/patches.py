"""Corner and edge patches, layer by layer; cutter's frame, mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import shapely

from costing.cloth.features import edge_point
from costing.cloth.frame import Edges, ring_of
from costing.cloth.grid import Floats
from costing.cloth.make import EdgePatch, Make, Patch
from costing.cloth.part import Cloth, Orientation
from costing.errors import problem
from costing.measurements import Corner

#: Layers of a corner patch below a sail area, m2; the clew has one more (common practice, no source).
_LAYERS_BELOW = ((5.0, 3), (9.0, 4), (12.0, 5))
_EDGE_PATCH_STEP_MM = 25.0
#: A smaller layer than this is not worth its seam (common practice, no source).
_LEAST_RADIUS_MM = 60.0
_SPREAD = math.radians(25.0)  # beyond the corner's own angle, for edges that bow outward
_FAN_POINTS = 25


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One layer where it belongs on the sail, and how far (radians, anticlockwise) it is turned to lie on the roll; None: with the body."""

    number: int
    of: int
    ring: Floats
    turn: float | None


def corner_layers(edges: Edges, patch: Patch, make: Make, cloth: Cloth, caps: Mapping[Corner, float]) -> Iterator[Layer]:
    """The layers of a corner patch, the largest first: it lies along the body's threads, the others along the corner's load line.

    Raises InputError when the number of layers is left open above 12 m2, or the smallest layer would be too small.
    """
    count = patch.layers if patch.layers is not None else _layers(edges, patch)
    corner, base, other = _corner(edges, patch.corner)
    radius = min(patch.size_fraction * _edge_length(edges, patch.corner), caps.get(patch.corner, math.inf))
    foot_leg = radius if patch.corner is Corner.HEAD else min(radius, make.foot_leg_fraction * _chord(edges.lines["foot"]))
    _refuse_small(patch, foot_leg, count)
    for k in range(count):
        smaller = k * patch.step_mm
        fan = _fan(corner, base, other, foot_leg - smaller, radius - smaller)
        turn = _onto_strong_threads((base + other) / 2, cloth, make) if k else None
        yield Layer(k + 1, count, _clipped(edges, fan), turn)


def edge_layers(edges: Edges, patch: EdgePatch) -> Iterator[Layer]:
    """The layers of a patch on an edge: half discs, each smaller than the one before, along the body's threads."""
    for k in range(patch.layers):
        radius = patch.radius_mm - k * _EDGE_PATCH_STEP_MM
        if radius < _LEAST_RADIUS_MM / 2:
            told = f"layer {k + 1} of {patch.name} would have a radius of {radius:.0f} mm; at least {_LEAST_RADIUS_MM / 2:.0f} mm is sewn"
            raise problem(f"make.edge_patches[{patch.name}]", "patch_too_small", told)
        disc = shapely.Point(edge_point(edges, patch)).buffer(radius, quad_segs=8)
        yield Layer(k + 1, patch.layers, _clipped(edges, disc), None)


def _layers(edges: Edges, patch: Patch) -> int:
    area_m2 = edges.finished.area / 1e6
    for below, count in _LAYERS_BELOW:
        if area_m2 < below:
            return count + (patch.corner is Corner.CLEW)
    told = f"the pattern leaves the layers of the {patch.corner} patch open; for {area_m2:.1f} m2 (12 m2 or more) it must give their number"
    raise problem(f"make.patches[{patch.corner}].layers", "layers_unknown", told)


def _corner(edges: Edges, corner: Corner) -> tuple[Floats, float, float]:
    """The corner's point and the directions of its two edges: the foot (at the head: the head's edge) and the luff or leech."""
    luff, head, leech, foot = (edges.lines[name] for name in ("luff", "head", "leech", "foot"))
    tack, clew, top = luff[0], foot[0], luff[-1]
    at, base, other = {
        Corner.TACK: (tack, clew - tack, top - tack),
        Corner.CLEW: (clew, tack - clew, leech[0] - clew),
        Corner.HEAD: (top, (head[-1] if len(head) > 1 else clew) - top, tack - top),
    }[corner]
    start = math.atan2(base[1], base[0])
    turn = math.remainder(math.atan2(other[1], other[0]) - start, math.tau)
    return at, start, start + turn


def _fan(at: Floats, base: float, other: float, base_radius: float, other_radius: float) -> shapely.Polygon:
    """A fan round the corner, its radius going over smoothly from one leg to the other."""
    spread = math.copysign(_SPREAD, other - base)
    angles = np.linspace(base - spread, other + spread, _FAN_POINTS)
    part = np.clip((angles - base) / (other - base), 0.0, 1.0)
    radius = base_radius + (other_radius - base_radius) * part**2 * (3 - 2 * part)
    rim = at + radius[:, None] * np.column_stack((np.cos(angles), np.sin(angles)))
    # a little outside the corner, so that the corner itself is inside
    back = at - 10.0 * np.array((math.cos((base + other) / 2), math.sin((base + other) / 2)))
    return shapely.Polygon(np.vstack((back[None, :], rim)))


def _clipped(edges: Edges, shape: shapely.Polygon) -> Floats:
    inside = edges.finished.intersection(shape)
    largest = max(shapely.get_parts(inside), key=lambda piece: piece.area)
    return ring_of(largest.simplify(0.02))


def _onto_strong_threads(load: float, cloth: Cloth, make: Make) -> float:
    """How far to turn so that the load line lies along the fill, across the roll; along the roll where the warp is the strong side, or
    carries the load in the body's gores."""
    strong = 0.0 if cloth.orientation is Orientation.WARP or make.gores else math.pi / 2
    return strong - load


def _refuse_small(patch: Patch, radius: float, count: int) -> None:
    least = radius - (count - 1) * patch.step_mm
    if least < _LEAST_RADIUS_MM:
        told = f"layer {count} of the {patch.corner} patch would reach {least:.0f} mm; at least {_LEAST_RADIUS_MM:.0f} mm is sewn"
        right = "take fewer layers, a smaller step or a larger patch"
        raise problem(f"make.patches[{patch.corner}]", "patch_too_small", f"{told}: {right}")


def _edge_length(edges: Edges, corner: Corner) -> float:
    """The luff length at head and tack, the leech length at the clew: straight lines to the head point (ERS)."""
    luff = edges.lines["luff"]
    return float(luff[-1, 1]) if corner is Corner.CLEW else _chord(luff)


def _chord(line: Floats) -> float:
    return float(np.hypot(*(line[-1] - line[0])))
