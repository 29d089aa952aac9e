"""Parts laid along a front: what is chosen next, worked out on a few cells, and what it saves on many sails."""

from __future__ import annotations

import numpy as np

from costing.cloth.front import Fronts, Heap
from costing.cloth.grid import Strip, edges_of, footprints
from costing.cloth.sections import Sections, ground
from costing.cloth.shapes import Piece, Turned, pieces
from tests.cloth.skerling_main import BODY, Main
from tests.cloth.test_lay import TABLE

ROWS = 6


def block(name: str, columns: int, rows: int, count: int = 1) -> Heap:
    # a little smaller than its cells: an edge on a line of the grid counts for both sides of it
    right, top = columns - 0.1, rows - 0.1
    ring = np.array(((0.0, 0.0), (right, 0.0), (right, top), (0.0, top)))
    piece = Piece((Turned(0, (ring,), columns, rows, 0.0, 0.0),), float(columns * rows), tuple((name, str(n)) for n in range(count)))
    return Heap.of(piece, footprints([edges_of((ring,))], 1.0, ROWS))


def laid(strip: Strip, *heaps: Heap) -> list[tuple[str, int, int]]:
    """Which block comes next, and its column and row."""
    found = []
    for heap, _, place in Fronts(ROWS, max(heap.piece.area for heap in heaps)).lay(strip, heaps):
        name, _ = heap.copies.pop()
        found.append((name, *divmod(place, ROWS)))
    return found


def test_of_two_that_begin_about_as_far_left_the_one_that_touches_more_comes_first() -> None:
    strip = Strip(20, ROWS)
    strip.put(block("", 3, 4).prints[0].bits)  # two rows are free above it
    # of the rim of 14 cells of the smaller one 8 touch there, of the 18 of the larger one beside it 7
    assert laid(strip, block("large", 3, 4), block("small", 3, 2)) == [("small", 0, 4), ("large", 3, 0)]


def test_of_two_that_touch_alike_the_larger_one_comes_first() -> None:
    assert laid(Strip(20, ROWS), block("small", 2, 2), block("large", 3, 3))[0] == ("large", 0, 0)


def test_what_has_no_room_waits_for_the_next_strip() -> None:
    long, short = block("long", 8, 6), block("short", 2, 6, count=2)
    fronts = Fronts(ROWS, 48.0)
    first, second = Strip(5, ROWS), Strip(8, ROWS)
    for heap, _, _ in fronts.lay(first, (long, short)):
        heap.copies.pop()
    assert (len(long.copies), len(short.copies)) == (1, 0)
    for heap, _, _ in fronts.lay(second, (long, short)):
        heap.copies.pop()
    assert (len(long.copies), len(short.copies)) == (0, 0)


def test_six_mains_need_less_cloth_than_with_their_parts_laid_one_kind_after_another(skerling: Main) -> None:
    on = ground(BODY.usable_width_mm, TABLE, 8.0)
    wanted = [(str(n), part) for n in range(6) for part in skerling.parts if part.material == BODY.code and part.kind != "panel"]
    kinds = sorted(pieces(wanted, BODY.usable_width_mm, TABLE, keep_holes=False), key=lambda piece: -piece.area)
    one_kind_after_another, together = Sections(on), Sections(on)
    for piece in kinds:
        one_kind_after_another.lay_piece(Heap.of(piece, on.footprints(piece)))
    together.lay_closely([Heap.of(piece, on.footprints(piece)) for piece in kinds])
    assert len(together.laid) == len(one_kind_after_another.laid) == len(wanted)
    assert together.length_mm < 0.97 * one_kind_after_another.length_mm
