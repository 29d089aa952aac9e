"""High panels in a chain: they cannot pass each other on the roll, so only their order and turns are open.

The interlock of two facing ends does not change when both panels turn 180 degrees. So the order is a symmetric travelling
salesman's path over panel ends: a nearest-neighbour start improved by reversing stretches until none helps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from costing.cloth.grid import Floats, edges_of
from costing.cloth.shapes import Piece, Turned

_SAMPLES = 48
_MOST_ROUNDS = 20

#: A panel of the chain: which one, and which of its turns.
Link = tuple[int, int]


def right_profile(shape: Turned, heights: Floats) -> Floats:
    """The rightmost x of the shape at each height across the roll; minus infinity where it is not."""
    return _extreme(shape, heights, 1.0)


def left_profile(shape: Turned, heights: Floats) -> Floats:
    """The leftmost x of the shape at each height across the roll; infinity where it is not."""
    return -_extreme(shape, heights, -1.0)


def _extreme(shape: Turned, heights: Floats, side: float) -> Floats:
    x0, y0, x1, y1 = edges_of([shape.rings[0]]).T[:, :, None]
    run = y1 - y0
    flat = np.abs(run) < 1e-9
    t = np.clip((heights - y0) / np.where(flat, 1.0, run), 0.0, 1.0)
    x = np.where(flat, np.maximum(x0 * side, x1 * side), side * (x0 + t * (x1 - x0)))
    here = (heights >= np.minimum(y0, y1) - 1e-9) & (heights <= np.maximum(y0, y1) + 1e-9)
    return np.asarray(np.where(here, x, -np.inf).max(axis=0))


def advance(left: Turned, right: Turned) -> float:
    """How far right of the left shape's corner the right one's must lie so that they just touch; exact, both on the lower edge."""
    heights = np.unique(np.concatenate((left.rings[0][:, 1], right.rings[0][:, 1])))
    return float((right_profile(left, heights) - left_profile(right, heights)).max())


class Chain:
    """The high panels of a lay, and how far each reaches into each."""

    def __init__(self, panels: Sequence[Piece]) -> None:
        self.panels = panels
        self._steps: dict[tuple[Link, Link], float] = {}

    def shape(self, link: Link) -> Turned:
        return self.panels[link[0]].turns[link[1]]

    def step(self, left: Link, right: Link) -> float:
        """How far right of the left panel's corner the right one's must lie."""
        if (left, right) not in self._steps:
            self._steps[left, right] = advance(self.shape(left), self.shape(right))
        return self._steps[left, right]

    def orders(self, count: int) -> Iterator[list[Link]]:
        """Orders and turns that make short chains, the same each time; a panel's index stands once for each of its copies."""
        which = [i for i, piece in enumerate(self.panels) for _ in piece.copies]
        turns = [len(p.turns) for p in self.panels]
        saved = _savings(self.panels) if which else np.empty(0)
        for attempt in range(count):
            yield _improved(_nearest(which, which[attempt % len(which)], turns, saved), turns, saved) if which else []


def _savings(panels: Sequence[Piece]) -> Floats:
    """saved[i, a, j, b]: how much panel j at turn b, right of panel i at turn a, moves into the end of it; NaN: no such turn."""
    turns = max(len(p.turns) for p in panels)
    height = max(p.height for p in panels)
    heights = np.linspace(0.0, height, _SAMPLES)
    right = np.full((len(panels), turns, _SAMPLES), np.nan)
    left = np.full((len(panels), turns, _SAMPLES), np.nan)
    for i, piece in enumerate(panels):
        for a, shape in enumerate(piece.turns):
            right[i, a] = shape.width - right_profile(shape, heights)
            left[i, a] = left_profile(shape, heights)
    return np.asarray((right[:, :, None, None, :] + left[None, None, :, :, :]).min(axis=-1))


def _nearest(which: list[int], start: int, turns: list[int], saved: Floats) -> list[Link]:
    """From the panel `start`, always the panel and turn that moves in furthest."""
    rest = list(which)
    rest.remove(start)
    chain: list[Link] = [(start, 0)]
    while rest:
        last, a = chain[-1]
        options = {(j, b) for j in rest for b in range(turns[j])}
        j, b = max(sorted(options), key=lambda link: float(saved[last, a, link[0], link[1]]))
        chain.append((j, b))
        rest.remove(j)
    return chain


def _improved(chain: list[Link], turns: list[int], saved: Floats) -> list[Link]:
    """Turn whole stretches of the chain by 180 degrees, end for end, as long as one makes the chain shorter."""
    if any(n != 2 for n in turns):
        return chain
    order = np.asarray(chain)
    # full-width panels always get shorter; those that do not reach across interlock a little differently once turned, so there is an end
    for _ in range(_MOST_ROUNDS):
        better = False
        for i in range(len(order)):
            gains = _gains(order, i, saved)
            j = i + int(gains.argmax())
            if gains[j - i] > 1e-6:
                order[i : j + 1] = order[i : j + 1][::-1] * (1, -1) + (0, 1)
                better = True
        if not better:
            break
    return [(int(panel), int(turn)) for panel, turn in order]


def _gains(chain: npt.NDArray[np.intp], i: int, saved: Floats) -> Floats:
    """What is gained by turning the stretch from i to j, for each j from i on."""
    panel, turn = chain.T
    last, flipped = panel[i:], 1 - turn[i:]
    gains = np.zeros(len(last))
    if i > 0:
        before = panel[i - 1], turn[i - 1]
        gains += saved[before[0], before[1], last, flipped] - saved[before[0], before[1], panel[i], turn[i]]
    after = panel[i + 1 :], turn[i + 1 :]
    gains[:-1] += saved[panel[i], 1 - turn[i], after[0], after[1]] - saved[panel[i:-1], turn[i:-1], after[0], after[1]]
    return gains
