"""Where the seams of a gored spinnaker run: gores from its corners, and the centre that they leave.

Frame: h along the centreline, from the middle of the straight line tack - clew to the head point, s square to it, aft is positive. It is
the sail's picture turned, never mirrored: face up is the port side, as in costing.cloth.frame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from costing.cloth.cells import Cell, cell_of, right_of
from costing.cloth.frame import Frame
from costing.cloth.grid import Floats
from costing.cloth.make import Centre, Gores, Make
from costing.errors import CostingBug
from costing.measurements import Corner, SailKind
from costing.sail.shape import Outline

_FAR = 1e5
EDGES = ("luff", "leech", "foot")
#: The edges that a corner's gores are counted from and to.
_ACROSS = {Corner.HEAD: ("luff", "leech"), Corner.TACK: ("luff", "foot"), Corner.CLEW: ("leech", "foot")}


@dataclass(frozen=True, slots=True, eq=False)
class SeamLine:
    """A straight seam of the flat sail, and its shaping curve: `full` mm in all at the part `fullest` of its way, none at its ends."""

    name: str
    start: Floats
    end: Floats
    full: float = 0.0
    fullest: float = 0.5

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    def part(self, points: Floats) -> Floats:
        """How far along the seam points lie: 0 at its start, 1 at its end."""
        way = self.end - self.start
        return np.asarray((points - self.start) @ way / (way @ way))

    def fullness(self, part: Floats) -> Floats:
        """What both panels together have beyond the flat sail there: two half parabolas that meet level, mm."""
        if not self.full:
            return np.zeros_like(part)
        way = np.where(part < self.fullest, (self.fullest - part) / self.fullest, (part - self.fullest) / (1 - self.fullest))
        return np.asarray(self.full * (1 - np.clip(way, 0.0, 1.0) ** 2))


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A panel of the flat sail: its mark, its number in its group and what the group is, its cell, and the way of its warp."""

    mark: str
    number: int
    of: int
    place: str
    cell: Cell
    warp: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """The flat sail divided: its frame, its edges, its seams by name, its panels."""

    frame: Frame
    edges: dict[str, Floats]
    seams: dict[str, SeamLine]
    pieces: tuple[Piece, ...]


def centreline(outline: Outline) -> Frame:
    """The frame of a spinnaker."""
    middle = (np.asarray(outline.tack_point) + np.asarray(outline.clew_point)) / 2
    up = np.asarray(outline.head_point) - middle
    ux, uy = up / np.hypot(*up)
    return Frame((float(middle[0]), float(middle[1])), float(ux), float(uy))


def edges_along(outline: Outline, frame: Frame) -> dict[str, Floats]:
    """Luff, leech and foot in the frame, clockwise round the sail."""
    return {name: frame.to_roll(getattr(outline, name)) for name in EDGES}


def gores_of(kind: SailKind, make: Make) -> tuple[Gores, ...]:
    """The gores of each corner, the head's first; a symmetric sail's tack has those of its clew."""
    given = {g.corner: g for g in make.gores}
    if kind is SailKind.SYMMETRIC_SPINNAKER and Corner.CLEW in given:
        given[Corner.TACK] = replace(given[Corner.CLEW], corner=Corner.TACK)
    return tuple(given[corner] for corner in _ACROSS if corner in given)


def divided(outline: Outline, make: Make) -> Layout:
    """The outline divided as the pattern says; it must be one that costing.cloth.gore_checks has passed."""
    frame = centreline(outline)
    edges = edges_along(outline, frame)
    rest = cell_of(tuple(edges.items()))
    seams: dict[str, SeamLine] = {}
    pieces: list[Piece] = []
    for gores in gores_of(outline.kind, make):
        start, end = joint(edges, gores, seams.get("head joint"))
        seams[f"{gores.corner} joint"] = SeamLine(f"{gores.corner} joint", start, end)
        own, rest = _parted(rest, seams[f"{gores.corner} joint"], clockwise=gores.corner is not Corner.TACK)
        pieces += _gores(own, gores, apex(edges, gores.corner), seams)
    return Layout(frame, edges, seams, (*_centre(rest, make, seams), *pieces))


def apex(edges: dict[str, Floats], corner: Corner) -> Floats:
    """A corner's point."""
    edge, end = {Corner.HEAD: ("luff", -1), Corner.TACK: ("luff", 0), Corner.CLEW: ("leech", -1)}[corner]
    return np.asarray(edges[edge][end])


def joint(edges: dict[str, Floats], gores: Gores, head_joint: SeamLine | None) -> tuple[Floats, Floats]:
    """Where the line that a corner's gores end on starts, on the luff (the clew's: the leech), and where it ends."""
    at = apex(edges, gores.corner)
    if gores.corner is Corner.HEAD:
        height = at[1] - gores.reach_mm
        return _at_height(edges["luff"], height), _at_height(edges["leech"][::-1], height)
    tack = gores.corner is Corner.TACK
    if gores.reach_mm or head_joint is None:
        up = _away(edges["luff"] if tack else edges["leech"][::-1], at, gores.reach_mm)
    else:
        up = head_joint.start if tack else head_joint.end
    return up, _away(edges["foot"][::-1] if tack else edges["foot"], at, gores.foot_mm)


def _at_height(line: Floats, height: float) -> Floats:
    """The point of a line that rises steadily, at a height."""
    return np.array((np.interp(height, line[:, 1], line[:, 0]), height))


def _away(line: Floats, corner: Floats, distance: float) -> Floats:
    """The first point of a line from a corner on that is so far from it, straight; its end where none is."""
    away = np.hypot(*(line - corner).T)
    i = int(np.argmax(away > distance))
    if i == 0:
        return np.asarray(line[-1])
    step, gap = line[i] - line[i - 1], line[i - 1] - corner
    a, b, c = step @ step, gap @ step, gap @ gap - distance**2
    return np.asarray(line[i - 1] + step * ((b * b - a * c) ** 0.5 - b) / a)


def _parted(cell: Cell, by: SeamLine, *, clockwise: bool) -> tuple[Cell, Cell]:
    """The corner's part of the cell and the rest."""
    left, right = _cut(cell, by.end, by.start, by.name), _cut(cell, by.start, by.end, by.name)
    return (left, right) if clockwise else (right, left)


def _cut(cell: Cell, start: Floats, end: Floats, name: str) -> Cell:
    cut = right_of(cell, start, end, name)
    if cut is None:
        raise CostingBug(f"{name} leaves nothing of the sail on one side")
    return cut


def _gores(cell: Cell, gores: Gores, at: Floats, seams: dict[str, SeamLine]) -> list[Piece]:
    """The gores from the first edge of `_ACROSS` to the other; their seams are added to `seams`."""
    corner, ends = gores.corner, seams[f"{gores.corner} joint"]
    base = [ends.start + (ends.end - ends.start) * k / gores.count for k in range(gores.count + 1)]
    for k in range(1, gores.count):
        name = f"{corner} seam {k}"
        seams[name] = SeamLine(name, at, base[k], gores.broadseam_mm, gores.fullest)
    pieces = []
    for k in range(gores.count):
        own = cell
        for i, near in ((k, True), (k + 1, False)):
            if 0 < i < gores.count:
                outward = near == (corner is Corner.TACK)
                own = _cut(own, *((at, base[i]) if outward else (base[i], at)), f"{corner} seam {i}")
        middle = (base[k] + base[k + 1]) / 2 - at
        place = f"{corner} gores from the {_ACROSS[corner][0]}"
        pieces.append(Piece(f"{corner[0].upper()}{k + 1}", k + 1, gores.count, place, own, middle / np.hypot(*middle)))
    return pieces


def _centre(cell: Cell, make: Make, seams: dict[str, SeamLine]) -> list[Piece]:
    """The panels between the gores, from the foot up or from the luff aft; their seams are added to `seams`."""
    upright = make.centre is Centre.VERTICAL
    place, warp = ("from the luff", (0.0, 1.0)) if upright else ("from the foot", (1.0, 0.0))
    first = float(seams["head joint"].start[0]) if upright else 0.0
    rest, cells = cell, []
    for k, seam in enumerate(make.seams, start=1):
        at, name = first + seam.height_mm, f"seam {k}"
        ends = np.array(((at, -_FAR), (at, _FAR)) if upright else ((_FAR, at), (-_FAR, at)))
        below, rest = _cut(rest, ends[1], ends[0], name), _cut(rest, ends[0], ends[1], name)
        side = next(points for side, points in below.sides() if side == name)
        start, end = sorted((side[0], side[-1]), key=lambda p: float(p[1] if upright else p[0]))
        seams[name] = SeamLine(name, start, end, seam.broadseam_mm)
        cells.append(below)
    cells.append(rest)
    return [Piece(f"P{k}", k, len(cells), place, own, np.array(warp)) for k, own in enumerate(cells, start=1)]
