"""Make one section shorter: take a little off its end, then move overlapping parts until none overlaps, and again.

Overlaps that stay are weighted up after every round, so that a knot of parts gives way somewhere (guided local search).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from costing.cloth.crowd import Crowd

_PATIENCE = 50  # rounds without less overlap
_FIRST_CUT, _MOST_CUT, _LEAST_CUT = 0.004, 0.01, 0.0005  # of the section's length
_NO_GAIN_MM = 0.1
_LARGE = 8  # two of the largest so many change places after a failure


class Purse:
    """Steps left to try, each a part moved; empty as soon as someone asks to stop."""

    def __init__(self, steps: int, should_stop: Callable[[], bool]) -> None:
        self.steps, self._should_stop = steps, should_stop

    def __bool__(self) -> bool:
        return self.steps > 0

    def spend(self) -> None:
        self.steps = 0 if self._should_stop() else self.steps - 1

    def part(self, steps: int) -> Purse:
        return Purse(steps, self._should_stop)


def squeeze(crowd: Crowd, purse: Purse, chance: np.random.Generator) -> Crowd:
    """The shortest crowd without overlap that was found; the one given, when no other was."""
    best = _started(crowd, purse, chance)
    cut, failed = _FIRST_CUT, False
    while purse:
        length = max(best.length_mm * (1 - cut), best.longest_mm)
        if length >= best.length_mm - _NO_GAIN_MM:
            break
        trial = best.copy()
        _bring_inside(trial, length, chance)
        if failed:
            _swap_large(trial, length, chance)
        failed = not separate(trial, length, purse, chance)
        if not failed:
            trial.push_left()
            best = trial
        cut = max(_LEAST_CUT, cut * 0.6) if failed else min(_MOST_CUT, cut * 1.5)
    return best


def _started(crowd: Crowd, purse: Purse, chance: np.random.Generator) -> Crowd:
    """What lay in place exactly may overlap by a hair in rows: a little more room lets it come apart."""
    for slack in (1.0, 1.003, 1.01, 1.03):
        trial = crowd.copy()
        if separate(trial, crowd.length_mm * slack, purse, chance):
            trial.push_left()
            return trial
    return crowd


def separate(crowd: Crowd, length: float, purse: Purse, chance: np.random.Generator) -> bool:
    """Move overlapping items until none overlaps; False when it did not come to that."""
    weights = np.ones((len(crowd.items), len(crowd.items)), dtype=np.float32)
    least, rounds = np.inf, 0
    while rounds <= _PATIENCE:
        depths = crowd.overlaps()
        total = float(depths.sum())
        if total <= 0:
            return True
        least, rounds = (total, 0) if total < 0.98 * least else (least, rounds + 1)
        grown = weights * (1.2 + 0.8 * depths / depths.max())
        weights = np.where(depths > 0, grown, np.maximum(weights * 0.95, 1)).astype(np.float32)
        for i in chance.permutation(np.flatnonzero(depths.any(axis=1))).tolist():
            if not purse:
                return False
            if crowd.overlap(i).any():
                purse.spend()
                crowd.put(i, *crowd.best_spot(i, length, weights[i], chance)[1:])
    return False


def _bring_inside(crowd: Crowd, length: float, chance: np.random.Generator) -> None:
    for i, (shape, x, row) in enumerate(zip(crowd.shape, crowd.x, crowd.row, strict=True)):
        if x + crowd.wide(shape) > length:
            if crowd.wide(shape) > length:
                shape = min(crowd.meetings.turns[crowd.items[i]], key=crowd.wide)
            row = min(row, crowd.meetings.rows - crowd.meetings.tall[shape])
            crowd.put(i, shape, float(chance.uniform(0, max(0.0, length - crowd.wide(shape)))), row)


def _swap_large(crowd: Crowd, length: float, chance: np.random.Generator) -> None:
    """Two of the largest parts change places: the others then follow."""
    tall = crowd.meetings.tall
    size = [crowd.wide(shape) * tall[shape] for shape in crowd.shape]
    large = sorted(range(len(size)), key=lambda i: -size[i])[:_LARGE]
    if len(large) < 2:
        return
    i, j = (large[n] for n in chance.choice(len(large), 2, replace=False))
    spots = [(crowd.x[n], crowd.row[n]) for n in (j, i)]
    for n, (x, row) in zip((i, j), spots, strict=True):
        shape = crowd.shape[n]
        crowd.put(n, shape, min(x, max(0.0, length - crowd.wide(shape))), min(row, crowd.meetings.rows - tall[shape]))
