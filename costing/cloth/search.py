"""Spend steps on a lay that stands: each of its sections is squeezed, and kept where it comes out shorter."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from costing.cloth.crowd import Crowd
from costing.cloth.meetings import Meetings
from costing.cloth.sections import Ground, Laid
from costing.cloth.shapes import Piece
from costing.cloth.squeeze import Purse, squeeze

_ROWS_A_CELL = 2  # so that what lies on the planner's grid lies on a row
#: Two sections that are together shorter than so many tables are tried as one.
_JOIN = 1.08
_FINE = 2  # shares of a row in which the parts' edges are measured

#: The share done, from 0 to 1, and the length so far, mm.
Progress = Callable[[float, float], None]


def search(on: Ground, laid: Sequence[Laid], *, steps: int, seed: int, should_stop: Callable[[], bool], progress: Progress) -> list[Laid]:
    """The same parts in sections of which none is longer, or one fewer; steps: parts moved on trial, shared out by the parts in each."""
    sections = _by_section(laid)
    done, found = 0, list[list[Laid]]()
    while sections and not should_stop():
        own = sections.pop(0)
        number, length = len(found), on.table.length_mm
        if sections and _length(own) + _length(sections[0]) < _JOIN * length:
            own, sections = _joined(own, sections)
        purse = Purse(steps * (done + len(own)) // len(laid) - steps * done // len(laid), should_stop)
        found += _fitting(on, own, purse, np.random.default_rng((seed, number)))
        done += len(own)
        progress(done / len(laid), sum(map(_length, (*found, *sections))))
    return [replace(one, section=number) for number, own in enumerate((*found, *sections)) for one in own]


def _by_section(laid: Sequence[Laid]) -> list[list[Laid]]:
    sections: dict[int, list[Laid]] = {}
    for one in laid:
        sections.setdefault(one.section, []).append(one)
    return [own for _, own in sorted(sections.items())]


def _joined(own: list[Laid], rest: list[list[Laid]]) -> tuple[list[Laid], list[list[Laid]]]:
    start = _length(own)
    return [*own, *(replace(one, x=one.x + start) for one in rest[0])], rest[1:]


def _fitting(on: Ground, own: list[Laid], purse: Purse, chance: np.random.Generator) -> list[list[Laid]]:
    """The section shorter; what was joined of two and still does not fit on the table is taken apart again."""
    best = _shorter(on, own, purse, chance)
    if _length(best) <= on.table.length_mm:
        return [best]
    return [_moved_to_start(part) for part in _by_section(own)]


def _length(laid: Sequence[Laid]) -> float:
    return max(one.end for one in laid)


def _shorter(on: Ground, laid: list[Laid], purse: Purse, chance: np.random.Generator) -> list[Laid]:
    kinds: dict[int, Piece] = {id(one.piece): one.piece for one in laid}
    index = {key: i for i, key in enumerate(kinds)}
    meetings = Meetings(list(kinds.values()), on.rows * _ROWS_A_CELL, on.cell / _ROWS_A_CELL, _FINE)
    items = [index[id(one.piece)] for one in laid]
    spots = [(meetings.turns[i][one.turn], one.x, round(one.y / meetings.row_mm)) for i, one in zip(items, laid, strict=True)]
    best = squeeze(Crowd(meetings, items, spots), purse, chance)
    if best.length_mm >= _length(laid):
        return laid
    return [
        Laid(one.piece, shape - meetings.turns[item][0], one.copy, one.section, x, row * meetings.row_mm)
        for one, item, shape, x, row in zip(laid, items, best.shape, best.x, best.row, strict=True)
    ]


def _moved_to_start(own: list[Laid]) -> list[Laid]:
    start = min(one.x for one in own)
    return [replace(one, x=one.x - start) for one in own]
