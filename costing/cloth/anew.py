"""One section of a lay, or two that follow each other, handed out to be laid anew by somebody else, and taken back exactly.

What is handed out are outlines that already carry the tool's gap, so that they may touch. What lies in another part's hole goes with that
part. What comes back may overlap by a little: an exact push to the left takes it apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.affinity import rotate, translate

from costing.cloth.lay import Lay, Placement, Section, Table
from costing.cloth.part import Cloth, Part
from costing.cloth.push import pushed_left
from costing.cloth.shapes import Piece, Turned, pieces, reach_mm, turning
from costing.sail.shape import Line

#: A shape as high as the strip is handed out lower by this on either side: some programs refuse shapes without play.
_PLAY_MM = 0.5
#: Nothing is pushed further: a program that lays well leaves no more.
_PUSH_MM = 300.0

#: x and y of the origin of an item, and its turn in degrees.
Spot = tuple[float, float, int]


@dataclass(frozen=True, slots=True)
class Item:
    """What moves as one: its outline about its own origin, mm, and the turns it may take."""

    outline: Line
    angles: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Group:
    """A placement, its piece without holes, and what lies in its holes."""

    host: Placement
    piece: Piece
    riders: tuple[Placement, ...]


@dataclass(frozen=True, slots=True)
class Loose:
    """Neighbouring sections of a lay with their parts free to move on a strip of this height; `length_mm` is what they took."""

    lay: Lay
    numbers: range
    table: Table
    height_mm: float
    items: tuple[Item, ...]
    groups: tuple[_Group, ...]

    @property
    def length_mm(self) -> float:
        return sum(self.lay.sections[n].length_mm for n in self.numbers)

    @property
    def area_mm2(self) -> float:
        return sum(group.piece.area for group in self.groups)


def loosened(lay: Lay, numbers: range, sails: Mapping[str, Sequence[Part]], cloth: Cloth, table: Table) -> Loose:
    """The parts of these sections, ready to be laid anew in one."""
    parts = {(sail, part.id): part for sail, own in sails.items() for part in own if part.material == cloth.code}
    height = lay.usable_width_mm + 2 * reach_mm(table.gap_mm)
    placed = [p for p in lay.placements if p.section in numbers]
    groups = tuple(
        _group(host, riders, parts, lay.usable_width_mm, table)
        for n in numbers
        for host, riders in _hosts([p for p in placed if p.section == n], parts)
    )
    return Loose(lay, numbers, table, height, tuple(_item(group, height) for group in groups), groups)


def alone(lay: Lay, number: int) -> Lay:
    """One section as a lay, to look at by itself; its bound and area remain those of the whole."""
    section = replace(lay.sections[number], number=0)
    return replace(lay, sections=(section,), placements=tuple(replace(p, section=0) for p in lay.placements if p.section == number))


def settled(loose: Loose, spots: Sequence[Spot]) -> Lay:
    """The lay with those sections as one section, its items at these spots, pushed to the left.

    Raises Jammed where they overlap too much; whether it holds, and fits on the table, is for the audit to say.
    """
    turns = [_turn(group.piece, angle) for group, (_, _, angle) in zip(loose.groups, spots, strict=True)]
    y = [min(max(0.0, y - t.dy), max(0.0, loose.height_mm - t.height)) for t, (_, y, _) in zip(turns, spots, strict=True)]
    x = pushed_left(turns, [x - t.dx for t, (x, _, _) in zip(turns, spots, strict=True)], y, reach_mm=_PUSH_MM)
    low = reach_mm(loose.table.gap_mm)
    first = loose.numbers[0]
    laid = [
        placement
        for group, turn, left, up in zip(loose.groups, turns, x, y, strict=True)
        for placement in _moved(group, first, left + turn.dx, up + turn.dy - low, turn.angle)
    ]
    length = max(left + turn.width for left, turn in zip(x, turns, strict=True))
    return _with(loose, laid, length)


def _with(loose: Loose, laid: Sequence[Placement], length: float) -> Lay:
    first, after, fewer = loose.numbers[0], loose.numbers[-1] + 1, len(loose.numbers) - 1
    sections = [Section(first, round(length + 5e-4, 3))]
    sections += [replace(s, number=s.number - fewer) for s in loose.lay.sections[after:]]
    kept = [p for p in loose.lay.placements if p.section < first]
    later = [replace(p, section=p.section - fewer) for p in loose.lay.placements if p.section >= after]
    return replace(loose.lay, sections=(*loose.lay.sections[:first], *sections), placements=(*kept, *laid, *later))


def _hosts(placed: Sequence[Placement], parts: Mapping[tuple[str, str], Part]) -> list[tuple[Placement, tuple[Placement, ...]]]:
    """Each placement of a section that is not in another part's hole, with those that are in its own."""
    shapes = [_shape(parts[p.sail, p.part_id], p) for p in placed]
    holes = [(i, shapely.Polygon(ring)) for i, shape in enumerate(shapes) for ring in shape.interiors]
    inside = {j: i for i, hole in holes for j, shape in enumerate(shapes) if j != i and hole.contains(shape.representative_point())}
    return [(p, tuple(placed[j] for j, host in inside.items() if host == i)) for i, p in enumerate(placed) if i not in inside]


def _shape(part: Part, placed: Placement) -> shapely.Polygon:
    return translate(rotate(shapely.Polygon(part.outer, part.holes), placed.angle, origin=(0, 0)), placed.x, placed.y)


def _group(
    host: Placement, riders: tuple[Placement, ...], parts: Mapping[tuple[str, str], Part], usable_width_mm: float, table: Table
) -> _Group:
    """A part may only turn as far as what lies in its holes may turn too."""
    part = parts[host.sail, host.part_id]
    angles = tuple(
        angle
        for angle in part.angles
        if all((rider.angle + angle - host.angle) % 360 in parts[rider.sail, rider.part_id].angles for rider in riders)
    )
    (piece,) = pieces([(host.sail, replace(part, angles=angles))], usable_width_mm, table, keep_holes=False)
    return _Group(host, piece, riders)


def _turn(piece: Piece, angle: int) -> Turned:
    return next(t for t in piece.turns if t.angle == angle % 360)


def _item(group: _Group, height_mm: float) -> Item:
    """The outline at the first turn that fits, turned back to 0 degrees about the part's own origin."""
    turn = group.piece.turns[0]
    ring = shapely.Polygon(turn.rings[0] + (turn.dx * -1, turn.dy * -1))
    if turn.height > height_mm - 2 * _PLAY_MM:
        x0, y0, x1, y1 = ring.bounds
        cut = shapely.box(x0 - 1, y0 + _PLAY_MM, x1 + 1, y1 - _PLAY_MM).intersection(ring)
        ring = max(shapely.get_parts(cut), key=lambda piece: piece.area)
    outline = shapely.get_coordinates(rotate(ring, -turn.angle, origin=(0, 0)).exterior)[:-1]
    return Item(tuple((float(x), float(y)) for x, y in outline), tuple(t.angle for t in group.piece.turns))


def _moved(group: _Group, section: int, x: float, y: float, angle: int) -> list[Placement]:
    """The placements of a group whose host's origin comes to lie at x, y."""
    host = group.host
    turn = turning(angle - host.angle)
    moved = [Placement(host.sail, host.part_id, section, round(x, 3), round(y, 3), angle)]
    for rider in group.riders:
        dx, dy = np.array((rider.x - host.x, rider.y - host.y)) @ turn
        at = round(x + float(dx), 3), round(y + float(dy), 3)
        moved.append(Placement(rider.sail, rider.part_id, section, *at, (rider.angle + angle - host.angle) % 360))
    return moved
