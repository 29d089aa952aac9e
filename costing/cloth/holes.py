"""Holes filled before anything else is laid: of what fits into a hole, what would waste most cloth elsewhere.

Few parts fit into a hole at all, and a hole that is left empty costs its whole area. What lies in it then goes with the part around it.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from costing.cloth.grid import Floats, Footprint, Strip, bits_of, edges_of, first, footprints
from costing.cloth.sections import Laid
from costing.cloth.shapes import Copy, Piece, Rider, Turned, turning

_CELL_MM = 4.0
#: So many pieces are tried for a hole in one order, after those that do not fit its extent.
_TRIED = 30
_CHANGE = 0.5  # of a piece's worth, in the orders after the first two


@dataclass(slots=True)
class _Pool:
    """Copies of a small piece that are not laid yet, and its footprints in cells of a hole."""

    piece: Piece
    left: list[Copy]
    prints: tuple[Footprint, ...]
    worth: float


@dataclass(frozen=True, slots=True)
class _Hole:
    """A hole of a turned part as a strip: its corner, and what of the strip around it is cloth of the part."""

    x: float
    y: float
    columns: int
    rows: int
    around: int


#: Which of the pool, which of its turns, and the place on the hole's strip.
_Filling = list[tuple[_Pool, int, int]]


def filled(kinds: Sequence[Piece], orders: int) -> tuple[Piece, ...]:
    """The pieces with their holes filled by the smaller ones, in the best of so many orders for each hole; holes are then closed."""
    hosts = [piece for piece in kinds if any(len(turn.rings) > 1 for turn in piece.turns)]
    if not hosts:
        return tuple(kinds)
    most = max(np.ptp(ring, axis=0).min() for host in hosts for ring in host.turns[0].rings[1:])
    pools = [_pool(piece) for piece in kinds if len(piece.turns[0].rings) == 1 and min(piece.turns[0].height, piece.turns[0].width) <= most]
    chance = random.Random(0)
    done = {id(host): _closed(host, pools, orders, chance) for host in hosts}
    left = {id(pool.piece): tuple(pool.left) for pool in pools}
    kept = (done.get(id(piece)) or replace(piece, copies=left.get(id(piece), piece.copies)) for piece in kinds)
    return tuple(piece for piece in kept if piece.copies)


def opened(laid: Sequence[Laid], kinds: Sequence[Piece]) -> list[Laid]:
    """What `filled` put together, each by itself again, as the pieces that it came from."""
    whole = {copy: piece for piece in kinds for copy in piece.copies}
    return [each for one in laid for each in (replace(one, piece=whole[one.copy], turn=_turn(one, whole)), *_apart(one, whole))]


def _turn(one: Laid, whole: Mapping[Copy, Piece]) -> int:
    return _at_angle(whole[one.copy], one.piece.turns[one.turn].angle)


def _at_angle(piece: Piece, angle: int) -> int:
    return next(n for n, turn in enumerate(piece.turns) if turn.angle == angle % 360)


def _apart(one: Laid, whole: Mapping[Copy, Piece]) -> Iterator[Laid]:
    host = one.piece.turns[one.turn]
    for rider in one.piece.riders.get(one.copy, ()):
        by = host.angle - rider.host_angle
        dx, dy = (float(v) for v in np.array((rider.x, rider.y)) @ turning(by))
        piece = whole[rider.copy]
        turn = _at_angle(piece, rider.angle + by)
        own = piece.turns[turn]
        yield Laid(piece, turn, rider.copy, one.section, one.x + host.dx + dx - own.dx, one.y + host.dy + dy - own.dy)


def _pool(piece: Piece) -> _Pool:
    rows = math.ceil(piece.height / _CELL_MM) + 1
    prints = footprints([edges_of(turn.rings) for turn in piece.turns], _CELL_MM, rows)
    # elsewhere a piece takes about the mean of its own area and that of its extent: strips lie well beside others, fans do not
    extent = piece.turns[0].width * piece.turns[0].height
    return _Pool(piece, list(piece.copies), prints, (piece.area + extent) / 2)


def _closed(host: Piece, pools: Sequence[_Pool], orders: int, chance: random.Random) -> Piece:
    """The host with riders for each of its copies."""
    riders = {
        copy: tuple(rider for ring in host.turns[0].rings[1:] for rider in _fill(host, ring, pools, orders, chance)) for copy in host.copies
    }
    area = float(shapely.Polygon(host.turns[0].rings[0]).area)
    return replace(host, turns=tuple(replace(turn, rings=turn.rings[:1]) for turn in host.turns), area=area, riders=riders)


def _fill(host: Piece, ring: Floats, pools: Sequence[_Pool], orders: int, chance: random.Random) -> list[Rider]:
    """The most worth that was found to fit; what is used is no longer in the pools."""
    hole = _hole(ring)
    fitting = [pool for pool in pools if pool.left and _turns_along(host, pool.piece) and _fits(hole, pool)]
    best, most = _Filling(), 0.0
    for attempt in range(orders):
        filling = _tried(hole, sorted(fitting, key=lambda pool: -_rank(pool, attempt, chance))[:_TRIED])
        worth = sum(pool.worth for pool, _, _ in filling)
        if worth > most:
            best, most = filling, worth
    return [_rider(host.turns[0], hole, pool, turn, place) for pool, turn, place in best]


def _rank(pool: _Pool, attempt: int, chance: random.Random) -> float:
    if attempt == 1:
        return pool.piece.width
    return pool.worth * (1 + (chance.uniform(-_CHANGE, _CHANGE) if attempt else 0.0))


def _fits(hole: _Hole, pool: _Pool) -> bool:
    return any(shape.columns <= hole.columns and shape.height <= hole.rows for shape in pool.prints)


def _turns_along(host: Piece, small: Piece) -> bool:
    """Whether the small piece may lie as the host turns, however both lie now."""
    own = {turn.angle for turn in small.turns}
    by = [turn.angle - host.turns[0].angle for turn in host.turns]
    return all((angle + turned) % 360 in own for angle in own for turned in by)


def _hole(ring: Floats) -> _Hole:
    (x, y), (right, top) = ring.min(axis=0), ring.max(axis=0)
    columns, rows = max(1, int((right - x) / _CELL_MM)), max(1, int((top - y) / _CELL_MM))
    # a frame one cell wide around the cells, and the hole in it
    frame = np.array(((0, 0), (columns + 2, 0), (columns + 2, rows + 2), (0, rows + 2))) * _CELL_MM
    moved = ring - (x - _CELL_MM, y - _CELL_MM)
    whole = bits_of(edges_of((frame, moved)), _CELL_MM, rows + 2)
    return _Hole(float(x) - _CELL_MM, float(y) - _CELL_MM, columns + 2, rows + 2, whole)


def _tried(hole: _Hole, order: Sequence[_Pool]) -> _Filling:
    strip = Strip(hole.columns, hole.rows)
    strip.put(hole.around)
    filling = _Filling()
    for pool in order:
        for _ in pool.left:
            found = _leftmost(strip, pool)
            if found is None:
                break
            filling.append((pool, *found))
            strip.put(_bits(pool.prints[found[0]], hole.rows), found[1])
    return filling


def _leftmost(strip: Strip, pool: _Pool) -> tuple[int, int] | None:
    best: tuple[int, int, int] | None = None
    for turn, shape in enumerate(pool.prints):
        place = first(strip.free(shape))
        if place is not None and (best is None or place + shape.columns * strip.rows < best[0]):
            best = (place + shape.columns * strip.rows, turn, place)
    return best[1:] if best else None


def _bits(shape: Footprint, rows: int) -> int:
    """The runs of a shape as bits of a strip with so many rows."""
    bits = 0
    for column, columns, row, length in shape.runs:
        run = ((1 << length) - 1) << row
        for c in range(column, column + columns):
            bits |= run << c * rows
    return bits


def _rider(host: Turned, hole: _Hole, pool: _Pool, turn: int, place: int) -> Rider:
    """Where the copy's origin lies from that of the host, both as they are turned here."""
    column, row = divmod(place, hole.rows)
    shape = pool.piece.turns[turn]
    x, y = hole.x + column * _CELL_MM + shape.dx - host.dx, hole.y + row * _CELL_MM + shape.dy - host.dy
    return Rider(pool.left.pop(), x, y, shape.angle, host.angle)
