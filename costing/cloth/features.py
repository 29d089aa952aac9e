"""Where the pattern's pockets, windows and rings lie on a sail, in the frame of its leech, and how clear of the seams they are; mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from costing.cloth.frame import Edges, from_frame, moved_left
from costing.cloth.grid import Floats
from costing.cloth.make import EdgePatch, Hanks, Make, Pocket, Seam, Window
from costing.errors import Collector, problem

#: Common practice, no source: room inside a pocket beyond its batten, along and across.
POCKET_LONGER_MM = 12.0
POCKET_WIDER_MM = 14.0
#: Common practice, no source: the hole is the pane less this all round, cut after sewing.
PANE_BORDER_MM = 15.0
#: Common practice, no source: nothing is sewn nearer to a seam than this.
CLEAR_OF_SEAM_MM = 10.0
#: Common practice, no source: a pressed ring's centre lies this far inside the finished edge, and needs this much flat cloth round it.
RING_INSET_MM = 35.0
RING_ROOM_MM = 20.0
#: Common practice, no source: a hank sits this far inside the luff, the first and the last one this far from tack and head.
_HANK_INSET_MM = 15.0
_HANK_FROM_CORNER_MM = 60.0
#: Common practice, no source: half of what a hank's foot takes up along the luff.
_HANK_ROOM_MM = 10.0
_PANE_CORNER_MM = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class Feature:
    """Something that must stay clear of the seams: its path and name for people, and what it takes up, in the frame of the leech."""

    path: str
    name: str
    shape: shapely.Polygon


def pocket_line(edges: Edges, pocket: Pocket) -> Floats:
    """The pocket's centreline from the leech inward, along the threads; a full-length pocket reaches the luff."""
    height = pocket.leech_fraction * float(edges.lines["luff"][-1, 1])
    left, right = edges.across(height)
    length = right - left if pocket.full_length else pocket.batten_length_mm + POCKET_LONGER_MM
    if length > right - left:
        told = f"pocket {pocket.name} is {length:,.0f} mm long inside; the sail is {right - left:,.0f} mm wide there"
        raise problem(f"make.pockets[{pocket.name}].batten_length_mm", "pocket_too_long", told)
    return np.array(((right, height), (right - length, height)))


def pockets_off_equal_parts(edges: Edges, pockets: Sequence[Pocket]) -> tuple[float, ...]:
    """How far the centreline of each pocket, from the clew up, meets the leech from where the pockets would divide it equally.

    Along the line clew point to head point, which is the leech length of the ERS and what its leech points are folded by. A tape along
    the edge that stops at the aft head point finds the top pocket lower, by about the fall of the headboard.
    """
    length = float(edges.lines["luff"][-1, 1])
    places = sorted(float(pocket_line(edges, pocket)[0, 1]) for pocket in pockets)
    return tuple(abs(at - length * k / (len(places) + 1)) for k, at in enumerate(places, start=1))


def top_pocket_to_head(edges: Edges, pockets: Sequence[Pocket]) -> float:
    """From the head point straight to where the centreline of the highest pocket meets the leech."""
    top = max(pockets, key=lambda pocket: pocket.leech_fraction)
    return math.dist(edges.lines["luff"][-1], pocket_line(edges, top)[0])


def pocket_to_luff(edges: Edges, pocket: Pocket) -> float:
    """The shortest distance of a pocket, as wide as it is inside, from the luff; 0 of a full-length one."""
    return 0.0 if pocket.full_length else float(shapely.LineString(edges.lines["luff"]).distance(_pocket_shape(edges, pocket)))


def _pocket_shape(edges: Edges, pocket: Pocket) -> shapely.Polygon:
    half = (pocket.batten_width_mm + POCKET_WIDER_MM) / 2
    return shapely.LineString(pocket_line(edges, pocket)).buffer(half, cap_style="flat")


def pane(edges: Edges, window: Window, inset_mm: float = 0.0) -> shapely.Polygon:
    """The window's pane with rounded corners, its long sides along the threads; with an inset the hole."""
    tack, clew = edges.lines["foot"][-1], edges.lines["foot"][0]
    along = (clew - tack) / np.linalg.norm(clew - tack)
    up = np.array((-along[1], along[0]))
    s, h = tack + window.centre_foot_fraction * (clew - tack) + window.centre_height_mm * up
    half_width, half_height = window.width_mm / 2 - inset_mm, window.height_mm / 2 - inset_mm
    corner = min(_PANE_CORNER_MM, half_width / 2, half_height / 2)
    core = shapely.box(s - half_width + corner, h - half_height + corner, s + half_width - corner, h + half_height - corner)
    return shapely.Polygon(core.buffer(corner, quad_segs=4))


def edge_point(edges: Edges, patch: EdgePatch) -> Floats:
    """The point of the finished edge that the patch is centred on: the one beside its ring."""
    edge = shapely.LineString(_from_corner(edges, patch))
    return np.asarray(edge.interpolate(edge.project(shapely.Point(ring_point(edges, patch)))).coords[0])


def ring_point(edges: Edges, patch: EdgePatch) -> Floats:
    """The middle of the patch's ring, square inside the edge, as far from tack or clew point as the pattern says.

    In a straight line on the finished sail, as a class limits a reef's height.
    """
    line, far = _from_corner(edges, patch), patch.from_corner_mm
    inside = moved_left(line, -RING_INSET_MM if patch.edge == "luff" else RING_INSET_MM)
    gaps = inside - line[0]
    beyond = np.hypot(gaps[:, 0], gaps[:, 1]) >= far
    if beyond[0] or not beyond.any():
        low, high = (math.dist(line[0], inside[end]) for end in (0, -1))
        told = f"the ring {patch.name} lies {far:,g} mm from its corner; on this sail it must lie between {low:,.0f} and {high:,.0f} mm"
        raise problem(f"make.edge_patches[{patch.name}].from_corner_mm", "off_the_edge", told)
    end = int(beyond.argmax())
    start, step = gaps[end - 1], gaps[end] - gaps[end - 1]
    a, b, c = float(step @ step), float(start @ step), float(start @ start) - far**2
    return np.asarray(inside[end - 1] + (math.sqrt(b * b - a * c) - b) / a * step)


def _from_corner(edges: Edges, patch: EdgePatch) -> Floats:
    """The finished luff from the tack, or the leech from the clew."""
    if patch.edge not in ("luff", "leech"):
        told = f"a patch lies on the luff or the leech, not on the {patch.edge!r}"
        raise problem(f"make.edge_patches[{patch.name}].edge", "unknown_edge", told)
    return edges.lines["luff"] if patch.edge == "luff" else edges.lines["leech"][::-1]


def hank_points(edges: Edges, hanks: Hanks, seams: Sequence[Floats] = (), overlap_mm: float = 0.0) -> Floats:
    """Where hanks are sewn or pressed on, from the tack up, clear of the seams that end on the luff; rows s, h.

    Equal parts of the luff; a hank that would sit on a seam moves to the nearer side of it. Where that leaves a gap longer than the
    pattern's spacing, there is one hank more.
    """
    inside = shapely.LineString(moved_left(edges.lines["luff"], -_HANK_INSET_MM))
    taken = tuple(_taken_by(inside, seam, overlap_mm) for seam in seams)
    bands = shapely.union_all([shapely.box(low, 0.0, high, 1.0) for low, high in taken if high > low])
    between = inside.length - 2 * _HANK_FROM_CORNER_MM
    gaps = max(1, math.ceil(between / hanks.spacing_mm - 1e-9))
    tried = [[_beside(bands, _HANK_FROM_CORNER_MM + between * k / n) for k in range(n + 1)] for n in range(gaps, gaps + 3)]
    near = (places for places in tried if np.diff(places).max() <= hanks.spacing_mm + 1e-6)
    return shapely.get_coordinates([inside.interpolate(at) for at in next(near, tried[0])])


def _taken_by(inside: shapely.LineString, seam: Floats, overlap_mm: float) -> tuple[float, float]:
    """From where to where along the line of the hanks a seam's cloth lies, with room beside it; nothing where it does not end there."""
    along = (seam[-1] - seam[0]) / np.hypot(*(seam[-1] - seam[0]))
    crossing = inside.intersection(shapely.LineString((seam[0] - 1.5 * _HANK_INSET_MM * along, seam[-1] + 1.5 * _HANK_INSET_MM * along)))
    if crossing.is_empty:
        return 0.0, 0.0
    at = float(inside.project(shapely.Point(shapely.get_coordinates(crossing)[0])))
    ahead, behind = (shapely.get_coordinates(inside.interpolate(at + step))[0] for step in (1.0, -1.0))
    edge = (ahead - behind) / np.hypot(*(ahead - behind))
    square = max(abs(float(edge[0] * along[1] - edge[1] * along[0])), 0.1)
    half = (overlap_mm + CLEAR_OF_SEAM_MM + _HANK_ROOM_MM) / square
    return at - half, at + half


def _beside(bands: shapely.Geometry, at: float) -> float:
    """The place itself, or the nearer end of the band that it lies in."""
    for band in shapely.get_parts(bands):
        low, _, high, _ = band.bounds
        if low < at < high:
            return float(low if at - low <= high - at and low > 0 else high)
    return at


def features(edges: Edges, make: Make) -> Iterator[Feature]:
    """Everything of the pattern that a seam must not run through."""
    for pocket in make.pockets:
        yield Feature(f"make.pockets[{pocket.name}]", f"pocket {pocket.name}", _pocket_shape(edges, pocket))
    for window in make.windows:
        yield Feature(f"make.windows[{window.name}]", f"window {window.name}", pane(edges, window))
    for patch in make.edge_patches:
        room = shapely.Point(ring_point(edges, patch)).buffer(RING_ROOM_MM)
        yield Feature(f"make.edge_patches[{patch.name}]", f"the ring of {patch.name}", room)


def check_clear_of_seams(found: Collector, edges: Edges, home: Edges, make: Make, seams: Sequence[Seam]) -> None:
    """Add a problem for every feature that one of these seams runs through or too near to, saying how far and what would do.

    edges: in the frame of the seams; home: the whole sail in the frame of the leech, where features have their places.
    """
    for feature in features(home, make):
        low, high = extent(feature, edges, home)
        for number, seam in enumerate(seams, start=1):
            below, above = seam_band(seam.height_mm, make)
            if below - CLEAR_OF_SEAM_MM < high and low < above + CLEAR_OF_SEAM_MM:
                found.add(feature.path, "seam_too_near", _too_near(feature.name, (low, high), number, seam, make))


def extent(feature: Feature, edges: Edges, home: Edges) -> tuple[float, float]:
    """The heights that a feature takes up in the frame of the seams; none where it lies in the other half."""
    shape = shapely.transform(feature.shape, lambda points: from_frame(points, home.frame, edges.frame))
    inside = shape if edges.half is None else shape.intersection(edges.half)
    if inside.is_empty:
        return math.inf, -math.inf
    return float(inside.bounds[1]), float(inside.bounds[3])


def blocked(edges: Edges, home: Edges, make: Make, spare_mm: float = 0.0) -> Iterator[tuple[float, float]]:
    """Between which heights each feature lets no seam lie; at the ends themselves one may. spare_mm: kept free besides."""
    for feature in features(home, make):
        low, high = extent(feature, edges, home)
        clear = CLEAR_OF_SEAM_MM + spare_mm
        yield low - clear, high + clear + make.seam_overlap_mm


def seam_band(height: float, make: Make) -> tuple[float, float]:
    """The heights that a seam's overlap takes up: it lies below the sew line, on the panel below."""
    return height - make.seam_overlap_mm, height


def _too_near(name: str, takes: tuple[float, float], number: int, seam: Seam, make: Make) -> str:
    low, high = seam_band(seam.height_mm, make)
    apart = max(low - takes[1], takes[0] - high)
    how = f"lies {_figure(apart)} mm from" if apart > 0 else "lies in the way of"
    down, up = takes[0] - CLEAR_OF_SEAM_MM, takes[1] + CLEAR_OF_SEAM_MM + make.seam_overlap_mm
    lower, higher = _figure(math.floor(down * 10) / 10), _figure(math.ceil(up * 10) / 10)
    right = f"{CLEAR_OF_SEAM_MM:g} mm are needed: put the seam at {lower} mm or lower, or at {higher} mm or higher"
    return f"{name} {how} seam {number} at {_figure(seam.height_mm)} mm; {right}, or move {name}"


def _figure(mm: float) -> str:
    """To a tenth, as heights are proposed: "1,949.1"; whole ones without it."""
    return f"{mm:,.1f}".removesuffix(".0")
