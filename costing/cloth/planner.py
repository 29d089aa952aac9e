"""A constructive lay: full-width panels in a chain, then the smaller parts into what is left, section by section."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import accumulate

import numpy as np
import shapely

from costing.cloth.bound import least_length_mm
from costing.cloth.chain import Chain, Link
from costing.cloth.front import Heap
from costing.cloth.grid import GRAZE, Footprint
from costing.cloth.holes import filled, opened
from costing.cloth.improve import Improve, improved, shortest_sound
from costing.cloth.lay import Lay, Table
from costing.cloth.part import Cloth, Part, net_area_mm2
from costing.cloth.push import Jammed
from costing.cloth.search import Progress, search
from costing.cloth.sections import Ground, Laid, Sections, by_section, exact, ground, pushed, section_of
from costing.cloth.shapes import Copy, Piece, pieces, reach_mm
from costing.errors import Collector

_Small = tuple[Piece, tuple[Footprint, ...]]
_Wanted = tuple[str, Part]
_Rank = Callable[[Piece], float]

#: A part that is higher than this share of the roll at every turn lies in the chain: little of use passes beside it. In a batch what is
#: not quite as high finds a better place later, among so many.
_CHAIN_SHARE, _BATCH_CHAIN_SHARE = 0.6, 0.9
_CELL_MM = 10.0
#: Cells for a batch are finer: it has many parts of which one fits exactly. They may overlap by a part of a cell, or all that rounding
#: adds to every part would be lost.
_BATCH_CELLS_MM, _BATCH_EASE = (7.0, 8.0), 0.45
#: More sails than half as many again are laid in groups of about this size: time then grows with their number.
_GROUP = 40
#: How many parts are placed in all, over the orders that are tried: a few orders for one sail, one for a batch.
_PLACINGS = 100
_HOLE_PLACINGS = 1000  # parts tried for the holes of one sail, over all orders
_MOST_CHANGE = 0.4  # of a piece's rank, in the orders tried after the first


def plan_lay(
    sails: Mapping[str, Sequence[Part]],
    cloth: Cloth,
    table: Table,
    *,
    placings: int = _PLACINGS,
    neighbours: bool = False,
    steps: int = 0,
    seed: int = 0,
    should_stop: Callable[[], bool] = lambda: False,
    improve: Improve | None = None,
    progress: Progress = lambda share, length_mm: None,
) -> Lay:
    """Place every part of every sail that is cut from `cloth`; the same input, steps and seed always give the same lay.

    sails: sail label -> its parts (parts of another material are left out); they may lie in each other's holes where the table has it so.
    placings: a budget of parts placed over all orders tried, at least one order; more make a shorter lay, in proportionally more time.
    neighbours: no sail lies in more than two sections, and these follow each other, unless it alone is longer than two tables.
    steps: parts moved on trial after that, to shorten each section; should_stop ends this early with the shortest lay found;
    progress is told the share done and the length. improve: see `Improve`. A lay from steps or `improve` was audited.
    Raises InputError for a part wider than the usable width or longer than the table (which, by how much), a self-crossing part,
    no parts, or a gap that is not positive.
    """
    wanted = [(sail, part) for sail, parts in sails.items() for part in parts if part.material == cloth.code]
    _refuse(wanted, cloth, table)
    cell, ease = (_even_cell(wanted, cloth, table), _BATCH_EASE) if _many(wanted) else (_CELL_MM, 0.0)
    on = ground(cloth.usable_width_mm, table, cell, ease=ease)
    construct = partial(_constructed, on, cloth, table, placings)
    first = _in_neighbours(on, construct, wanted) if neighbours else _in_groups(construct, wanted)
    own = [part for _, part in wanted]
    lay = _lay(first, cloth, table, own)
    if steps > 0:
        found = search(on, first, steps=steps, seed=seed, should_stop=should_stop, progress=progress)
        lay = shortest_sound((_lay(found, cloth, table, own), lay), sails, cloth, table)
    return improved(lay, sails, cloth, table, improve, should_stop) if improve else lay


def _even_cell(wanted: Sequence[_Wanted], cloth: Cloth, table: Table) -> float:
    """The side of a batch's cells whose rows the small parts fill most evenly: what a part leaves of its last row is lost."""
    width = cloth.usable_width_mm + 2 * reach_mm(table.gap_mm)
    sizes = np.array([_size(part, part.angles[0]) for _, part in wanted]) + 2 * reach_mm(table.gap_mm)
    along, across = sizes[sizes[:, 1] < _BATCH_CHAIN_SHARE * width].T

    def lost(rows: int) -> float:
        cell = width / rows
        return float((along * (np.ceil(across / cell - GRAZE) * cell - across)).sum())

    least, most = _BATCH_CELLS_MM
    return width / min(range(math.ceil(width / most), max(math.floor(width / least), math.ceil(width / most)) + 1), key=lost)


def _constructed(on: Ground, cloth: Cloth, table: Table, placings: int, wanted: Sequence[_Wanted]) -> list[Laid]:
    many = _many(wanted)
    whole = pieces(wanted, cloth.usable_width_mm, table, keep_holes=table.window_holes)
    # a batch has enough that fits into holes when their turn comes
    kinds = filled(whole, max(1, _HOLE_PLACINGS // len(wanted))) if table.window_holes and not many else whole
    if not many or max(piece.width for piece in kinds) > on.length:  # nothing is pushed, or a part needs all of the table
        on = replace(on, ease=0.0)
    high = (_BATCH_CHAIN_SHARE if many else _CHAIN_SHARE) * cloth.usable_width_mm
    chain = Chain([piece for piece in kinds if piece.least_height >= high])
    small = [(piece, on.footprints(piece)) for piece in kinds if piece.least_height < high]
    laid = _shortest(on, chain, small, many, max(1, placings // len(wanted))).laid
    if many:
        return _come_apart(on, high, laid)
    return opened(laid, whole) if table.window_holes else laid


def _come_apart(on: Ground, high: float, laid: Sequence[Laid]) -> list[Laid]:
    """Every section pushed exactly; small parts of one that do not come apart, or not on the table, are laid again without ease."""
    found, again = list[Laid](), dict[Piece, list[Copy]]()
    for own in by_section(laid):
        apart = _pushed_on_table(on, own)
        found += apart or [one for one in own if one.piece.least_height >= high]
        for one in own if not apart else ():
            if one.piece.least_height < high:
                again.setdefault(one.piece, []).append(one.copy)
    if not again:
        return found
    strict = replace(on, ease=0.0)
    sections = Sections(strict, found)
    for piece, copies in sorted(again.items(), key=lambda each: -_largest_first(each[0])):
        sections.lay_piece(Heap(piece, strict.footprints(piece), copies))
    return [replace(one, section=number) for number, own in enumerate(by_section(sections.laid)) for one in exact(own)]


def _pushed_on_table(on: Ground, own: Sequence[Laid]) -> list[Laid]:
    """The section pushed exactly; nothing where that does not end, or not on the table."""
    try:
        apart = pushed(own)
    except Jammed:
        return []
    return apart if max(one.end for one in apart) <= on.table.length_mm else []


def _many(wanted: Sequence[_Wanted]) -> bool:
    return any(sail != wanted[0][0] for sail, _ in wanted)


def _in_groups(construct: Callable[[Sequence[_Wanted]], list[Laid]], wanted: Sequence[_Wanted]) -> list[Laid]:
    """Every so many sails for themselves, in their order, in sections that follow those of the group before."""
    sails = list(dict.fromkeys(sail for sail, _ in wanted))
    count = max(1, round(len(sails) / _GROUP))
    group = {sail: number * count // len(sails) for number, sail in enumerate(sails)}
    laid, sections = list[Laid](), 0
    for number in range(count):
        own = construct([one for one in wanted if group[one[0]] == number])
        laid += [replace(one, section=one.section + sections) for one in own]
        sections += max(one.section for one in own) + 1
    return laid


def _in_neighbours(on: Ground, construct: Callable[[Sequence[_Wanted]], list[Laid]], wanted: Sequence[_Wanted]) -> list[Laid]:
    """Sails in groups, in their order, each group as large as fits two sections."""
    sails: dict[str, list[_Wanted]] = {}
    for one in wanted:
        sails.setdefault(one[0], []).append(one)
    rest, laid, sections = list(sails.values()), list[Laid](), 0
    while rest:
        areas = accumulate(sum(net_area_mm2(part) for _, part in own) for own in rest)
        count = max(1, sum(area < 2 * on.table.length_mm * on.width for area in areas))
        group = construct([one for own in rest[:count] for one in own])
        while count > 1 and max(one.section for one in group) > 1:
            count -= 1
            group = construct([one for own in rest[:count] for one in own])
        laid += [replace(one, section=one.section + sections) for one in group]
        sections += max(one.section for one in group) + 1
        rest = rest[count:]
    return laid


def _lay(laid: Sequence[Laid], cloth: Cloth, table: Table, parts: Sequence[Part]) -> Lay:
    ends: dict[int, float] = {}
    for one in laid:
        ends[one.section] = max(ends.get(one.section, 0.0), one.end)
    return Lay(
        material=cloth.code,
        usable_width_mm=cloth.usable_width_mm,
        sections=tuple(section_of(number, end) for number, end in sorted(ends.items())),
        placements=tuple(one.placement(table) for one in laid),
        net_area_mm2=sum(map(net_area_mm2, parts)),
        bound_mm=least_length_mm(parts, cloth, table, len(ends)),
    )


def _shortest(on: Ground, chain: Chain, small: list[_Small], many: bool, attempts: int) -> Sections:
    first, *others = chain.orders(attempts)
    rank = _largest_first if many else _longest_first
    best = _laid(on, chain, first, _ranked(small, rank, 0), many, math.inf)
    for attempt, order in enumerate(others, start=1):
        tried = _laid(on, chain, order, _ranked(small, rank, attempt), many, best.length_mm)
        best = min(best, tried, key=lambda sections: sections.length_mm)
    return best


def _longest_first(piece: Piece) -> float:
    """In one sail long pieces find no place in what others leave."""
    return max(piece.width, piece.height) * math.sqrt(piece.area)


def _largest_first(piece: Piece) -> float:
    """In a batch strips lie well beside one another, patches do not: patches take the places beside panels."""
    return piece.area


def _ranked(small: list[_Small], rank: _Rank, attempt: int) -> list[Heap]:
    """The order in which pieces are placed: by rank at first, then orders near it; the same for the same attempt."""
    chance = random.Random(attempt)
    change = _MOST_CHANGE if attempt else 0.0
    ranks = [rank(piece) * (1 + chance.uniform(-change, change)) for piece, _ in small]
    return [Heap.of(*small[i]) for i in sorted(range(len(small)), key=lambda i: -ranks[i])]


def _laid(on: Ground, chain: Chain, order: list[Link], heaps: list[Heap], many: bool, shorter_than: float) -> Sections:
    """All pieces placed, of one sail in this order; given up, and then too long, as soon as it is not shorter than asked."""
    sections = Sections(on)
    sections.lay_chain(chain, order)
    if many:
        sections.lay_closely(heaps)
        return sections
    for heap in heaps:
        sections.lay_piece(heap)
        if sections.length_mm >= shorter_than:
            break
    return sections


def _refuse(wanted: Sequence[tuple[str, Part]], cloth: Cloth, table: Table) -> None:
    found = Collector()
    if table.gap_mm <= 0:
        found.add("table.gap_mm", "gap", f"the tool's gap is {table.gap_mm:g} mm; it must be more than 0, a drag knife needs 3 to 5")
    if not wanted:
        found.add("sails", "no_parts", f"no part is cut from {cloth.code}; check the parts' material")
    seen: set[object] = set()
    for sail, part in wanted:
        alike = (part.outer, part.holes, part.angles)
        if alike in seen:
            continue
        seen.add(alike)
        where = f"sails[{sail}].{part.id}"
        if _sound_edge(found, where, part):
            _refuse_size(found, where, part, cloth, table)
    found.raise_if_any()


def _sound_edge(found: Collector, where: str, part: Part) -> bool:
    shape = shapely.Polygon(part.outer, part.holes) if len(part.outer) >= 3 else None
    if shape is None or shape.area <= 0:
        found.add(where, "no_area", f"{part.id} has no area; it needs at least three points that are not on one line")
    elif not shape.is_valid:
        why = shapely.is_valid_reason(shape)
        found.add(where, "self_crossing", f"the edge of {part.id} crosses itself ({why}); its points must run once around the part")
    return shape is not None and shape.is_valid and shape.area > 0


def _refuse_size(found: Collector, where: str, part: Part, cloth: Cloth, table: Table) -> None:
    """A part that no allowed turn brings inside the usable width and the table."""
    sizes = [_size(part, angle) for angle in part.angles]
    over_width = min(height for _, height in sizes) - cloth.usable_width_mm
    if over_width > 1e-6:
        most = f"{cloth.usable_width_mm:,.0f} mm of {cloth.code}"
        found.add(where, "too_wide", f"{part.id} is {over_width:,.1f} mm wider than the usable width, {most}")
    lengths = [width for width, height in sizes if height <= cloth.usable_width_mm + 1e-6] or [width for width, _ in sizes]
    over_length = min(lengths) + 2 * reach_mm(table.gap_mm) - table.length_mm
    if over_length > 1e-6:
        most = f"the table, {table.length_mm:,.0f} mm, less the tool's gap"
        found.add(where, "too_long", f"{part.id} is {over_length:,.1f} mm longer than {most}")


def _size(part: Part, angle: int) -> tuple[float, float]:
    """Extent along and across the roll."""
    if angle % 90 == 0:  # nearly all parts lie so, and need no polygon for it
        xs, ys = zip(*part.outer, strict=True)
        along, across = max(xs) - min(xs), max(ys) - min(ys)
        return (across, along) if angle % 180 else (along, across)
    turned = shapely.affinity.rotate(shapely.Polygon(part.outer), angle, origin=(0, 0))
    x0, y0, x1, y1 = turned.bounds
    return x1 - x0, y1 - y0
