"""The parts of one section while it is being squeezed: they may overlap for a time, and each knows how deep."""

from __future__ import annotations

import numpy as np

from costing.cloth.meetings import Ints, Meetings, Singles

#: An overlap along the roll that counts as none, mm; the audit's tolerance is 0.05.
_TOUCH = np.float32(0.004)
_ROWS_TRIED = 32
_PLACES_TRIED = 40
_NEAR = 3
#: Of two places without overlap the left one is taken: so much a millimetre.
_LEAN = np.float32(1e-5)

#: The overlap there (weighted), the shape, its x and its row.
Spot = tuple[float, int, float, int]


class Crowd:
    """Items of a section, each a piece of the meetings at one of its turns, at x and row."""

    def __init__(self, meetings: Meetings, items: list[int], spots: list[tuple[int, float, int]]) -> None:
        self.meetings, self.items = meetings, items
        self.shape, self.x, self.row = [0] * len(items), [0.0] * len(items), [0] * len(items)
        most = [max(len(meetings.tracks[s]) for s in meetings.turns[item]) for item in items]
        self._slots = np.cumsum([0, *most]).tolist()
        self._owner = np.repeat(np.arange(len(items)), most)
        self._base: Ints = np.zeros(self._slots[-1], dtype=np.intp)
        self._x: Singles = np.zeros((self._slots[-1], 1), dtype=np.float32)
        for i, (shape, x, row) in enumerate(spots):
            self.put(i, shape, x, row)

    def copy(self) -> Crowd:
        return Crowd(self.meetings, self.items, list(zip(self.shape, self.x, self.row, strict=True)))

    @property
    def length_mm(self) -> float:
        return max(x + self.wide(s) for x, s in zip(self.x, self.shape, strict=True))

    @property
    def longest_mm(self) -> float:
        """No section of these items is shorter."""
        return max(min(self.wide(s) for s in self.meetings.turns[item]) for item in self.items)

    def wide(self, shape: int) -> float:
        return self.meetings.shapes[shape].width

    def put(self, i: int, shape: int, x: float, row: int) -> None:
        self.shape[i], self.x[i], self.row[i] = shape, x, row
        start, end = self._slots[i], self._slots[i + 1]
        own = list(self.meetings.tracks[shape])
        own += [self.meetings.nothing] * (end - start - len(own))
        self._base[start:end] = [self.meetings.base(track, row) for track in own]
        self._x[start:end] = x

    def _met(self, shape: int, rows: Ints) -> tuple[Singles, Singles, Singles, Ints]:
        """What lies in the way of a shape at these rows: from, to, depth across (one row each), and whose it is."""
        m, at = self.meetings, self._base[:, None] + rows
        tables = [tuple(table[t].take(at) for table in (m.low, m.high, m.deep)) for t in m.tracks[shape]]
        if len(tables) == 1:
            low, high, deep = tables[0]
            return low + self._x, high + self._x, deep, self._owner
        low, high, deep = (np.concatenate(same) for same in zip(*tables, strict=True))
        shift = np.tile(self._x, (len(tables), 1))
        return low + shift, high + shift, deep, np.tile(self._owner, len(tables))

    def overlap(self, i: int) -> Singles:
        """How deep item i overlaps each of the others, mm."""
        low, high, deep, owner = self._met(self.shape[i], np.array([self.row[i]]))
        x = np.float32(self.x[i])
        depth = np.minimum(np.minimum(x - low, high - x), deep)[:, 0] - _TOUCH
        each = np.zeros(len(self.items), dtype=np.float32)
        np.maximum.at(each, owner, depth)
        each[i] = 0
        return each

    def overlaps(self) -> Singles:
        """How deep any two overlap, mm."""
        one_way = np.array([self.overlap(i) for i in range(len(self.items))])
        return np.asarray(np.maximum(one_way, one_way.T))

    def best_spot(self, i: int, length: float, weights: Singles, chance: np.random.Generator) -> Spot:
        """The place inside this length where item i overlaps least, among a sample of rows and of places that touch others."""
        found: list[Spot] = []
        weights = weights.copy()
        weights[i] = 0
        for shape in self.meetings.turns[self.items[i]]:
            free = self.meetings.rows - self.meetings.tall[shape] + 1
            rows = np.arange(free) if free <= _ROWS_TRIED else chance.integers(0, free, _ROWS_TRIED)
            # both edges of the roll, and where it is
            rows[:3] = (0, free - 1, self.row[i] if shape == self.shape[i] else 0)[: len(rows)]
            if length >= self.wide(shape):
                spot = self._least(shape, rows, length, weights, chance)
                near = np.arange(max(0, spot[3] - _NEAR), min(free, spot[3] + _NEAR + 1))
                found += [spot, self._least(shape, near, length, weights, chance)] if spot[0] > 1 else [spot]
        return min(found)

    def _least(self, shape: int, rows: Ints, length: float, weights: Singles, chance: np.random.Generator) -> Spot:
        low, high, deep, owner = self._met(shape, rows)
        top = np.float32(length - self.wide(shape))
        ends = np.zeros((2, len(rows)), dtype=np.float32)
        ends[1] = top
        places = np.concatenate((high, low, ends)).clip(0, top)
        if len(places) > _PLACES_TRIED:
            places = places[chance.integers(0, len(places), _PLACES_TRIED)]
        depth = np.minimum(places - low[:, None, :], high[:, None, :] - places)
        np.minimum(depth, deep[:, None, :], out=depth)
        depth -= _TOUCH
        np.maximum(depth, 0, out=depth)
        cost = (weights[owner] @ depth.reshape(len(owner), -1)).reshape(places.shape) + _LEAN * places
        place, row = divmod(int(cost.argmin()), len(rows))
        return float(cost[place, row]), shape, float(places[place, row]), int(rows[row])

    def push_left(self) -> None:
        """Move every item left until it touches another; nothing may overlap before, nothing does after."""
        moved = 1.0
        while moved >= 1.0:
            moved = 0.0
            for i in sorted(range(len(self.items)), key=lambda i: self.x[i]):
                low, high, _, owner = self._met(self.shape[i], np.array([self.row[i]]))
                before = (owner != i)[:, None] & (low + _TOUCH < self.x[i])
                x = max(0.0, float(high[before].max(initial=0.0)))
                if x < self.x[i]:
                    moved += self.x[i] - x
                    self.put(i, self.shape[i], x, self.row[i])
