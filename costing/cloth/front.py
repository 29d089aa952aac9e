"""Where no panel divides the roll, parts are laid along a front: of the next few, the one that lies closest against what is there.

Fans and strips of many sails do not stack: laid largest first, equal ones leave the same corner open each time.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from costing.cloth.grid import Footprint, Strip, first, meeting, shifted
from costing.cloth.shapes import Copy, Piece

# These were chosen on the forty measured mains, made mains of seeds 301 and 302, and forty equal mains.
#: So many kinds of parts are looked at for each place.
_CHOICE = 4
#: A part may begin so much further right than the leftmost could, in cells.
_BEHIND = 10
#: What size counts beside contact: small parts find a place later, large ones do not.
_SIZE = 0.5


@dataclass(slots=True, eq=False)
class Heap:
    """Copies of a piece that are not laid yet, and its footprints, one for each turn."""

    piece: Piece
    prints: tuple[Footprint, ...]
    copies: list[Copy]

    @classmethod
    def of(cls, piece: Piece, prints: tuple[Footprint, ...]) -> Heap:
        """All copies of the piece; they are taken from the end."""
        return cls(piece, prints, list(reversed(piece.copies)))


class Fronts:
    """Lays heaps on one strip after another; what is known of two shapes is kept between strips."""

    def __init__(self, rows: int, largest: float) -> None:
        self._rows, self._largest = rows, largest
        self._rims: dict[Footprint, tuple[int, int]] = {}
        self._meetings: dict[tuple[Footprint, Footprint], tuple[int, int]] = {}

    def lay(self, strip: Strip, heaps: Sequence[Heap]) -> Iterator[tuple[Heap, int, int]]:
        """What comes next, its turn and its place on the strip, until nothing of any heap has room; whoever is told takes the copy."""
        waiting = iter(heaps)
        free: dict[Heap, list[int]] = {}
        while True:
            while len(free) < _CHOICE and (heap := next(waiting, None)):
                places = [strip.free(shape) for shape in heap.prints]
                if any(places):
                    free[heap] = places
            if not free:
                return
            heap, turn, place = self._closest(strip, free)
            yield heap, turn, place
            laid = heap.prints[turn]
            strip.put(laid.bits, place)
            for other in [heap, *(one for one in free if one is not heap)]:
                free[other] = [self._still(free[other][n], laid, place, shape) for n, shape in enumerate(other.prints)]
                if not other.copies or not any(free[other]):
                    del free[other]

    def _closest(self, strip: Strip, free: dict[Heap, list[int]]) -> tuple[Heap, int, int]:
        """Of the leftmost place of each turn, and of those about as far left as any, the one with most contact for its size."""
        leftmost = [
            (heap, n, place) for heap, places in free.items() for n, bits in enumerate(places) if (place := first(bits)) is not None
        ]
        begin = min(place // self._rows for _, _, place in leftmost)
        near = [one for one in leftmost if one[2] // self._rows <= begin + _BEHIND]

        def worth(one: tuple[Heap, int, int]) -> float:
            heap, turn, place = one
            return self._contact(strip, heap.prints[turn], place) + _SIZE * math.sqrt(heap.piece.area / self._largest)

        return max(near, key=worth)

    def _contact(self, strip: Strip, shape: Footprint, place: int) -> float:
        """The share of the shape's rim that touches something: what lies there, the edges of the cloth, the start of the strip."""
        if shape not in self._rims:
            rim = _rim(shape.bits, self._rows)
            self._rims[shape] = rim, rim.bit_count()
        rim, cells = self._rims[shape]
        column, row = divmod(place, self._rows)
        touches = (shifted(rim, place - self._rows - 1) & strip.occupied).bit_count()
        touches += shape.columns * ((row == 0) + (row + shape.height >= self._rows - 1)) + shape.height * (column == 0)
        return touches / cells

    def _still(self, free: int, laid: Footprint, place: int, shape: Footprint) -> int:
        """Of these places of a shape, those that are left once another lies at its place."""
        if not free:
            return 0
        if (laid, shape) not in self._meetings:
            self._meetings[laid, shape] = meeting(laid, shape, self._rows)
        at, hit = self._meetings[laid, shape]
        return free & ~shifted(hit, place - at)


def _rim(bits: int, rows: int) -> int:
    """The cells around a shape, in a frame that begins a column and a row before it."""
    inside = bits << (rows + 1)
    around = inside | inside << 1 | inside >> 1
    return (around | around << rows | around >> rows) & ~inside
