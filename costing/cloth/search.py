"""Spend steps on a lay that stands: each of its sections is squeezed, and kept where it comes out shorter."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from costing.cloth.crowd import Crowd
from costing.cloth.meetings import Meetings
from costing.cloth.sections import Ground, Laid, by_section, exact
from costing.cloth.shapes import Piece
from costing.cloth.squeeze import Purse, squeeze

#: Shares of the steps; about how high rows are for them, mm, a whole number a cell of the grid; rows for measuring edges in each.
_STAGES = ((0.8, 5.0, 2), (0.2, 2.5, 1))
#: Two sections that are together shorter than so many tables are tried as one.
_JOIN = 1.08

#: The share done, from 0 to 1, and the length so far, mm.
Progress = Callable[[float, float], None]


def search(on: Ground, laid: Sequence[Laid], *, steps: int, seed: int, should_stop: Callable[[], bool], progress: Progress) -> list[Laid]:
    """The same parts in sections of which none is longer, or one fewer; steps: parts moved on trial, most where most cloth is wasted."""
    sections = by_section(laid)
    whole = sum(_waste(on, own) for own in sections)
    seen, found = 0.0, list[list[Laid]]()
    while sections and not should_stop():
        own = sections.pop(0)
        waste = _waste(on, own)
        if sections and _length(own) + _length(sections[0]) < _JOIN * on.table.length_mm:
            waste += _waste(on, sections[0])
            own, sections = _joined(own, sections)
        purse = Purse(round(steps * waste / whole), should_stop)
        found += _fitting(on, own, purse, np.random.default_rng((seed, len(found))))
        seen += waste
        progress(min(1.0, seen / whole) if sections else 1.0, sum(map(_length, (*found, *sections))))
    return [replace(one, section=number) for number, own in enumerate((*found, *sections)) for one in own]


def _waste(on: Ground, own: Sequence[Laid]) -> float:
    """Cloth between the parts, mm2."""
    return max(1.0, _length(own) * on.width - sum(one.piece.area for one in own))


def _joined(own: list[Laid], rest: list[list[Laid]]) -> tuple[list[Laid], list[list[Laid]]]:
    start = _length(own)
    return [*own, *(replace(one, x=one.x + start) for one in rest[0])], rest[1:]


def _fitting(on: Ground, own: list[Laid], purse: Purse, chance: np.random.Generator) -> list[list[Laid]]:
    """The section shorter; what was joined of two and still does not fit on the table is taken apart again."""
    best = exact(_shorter(on, own, purse, chance))
    if _length(best) <= on.table.length_mm:
        return [best]
    return [_moved_to_start(part) for part in by_section(own)]


def _length(laid: Sequence[Laid]) -> float:
    return max(one.end for one in laid)


def _shorter(on: Ground, laid: list[Laid], purse: Purse, chance: np.random.Generator) -> list[Laid]:
    """Coarse rows first, then fine ones: what lies on the planner's grid lies on a row of either."""
    steps, best = purse.steps, laid
    for share, row_mm, fine in _STAGES:
        rows_a_cell = max(1, round(on.cell / row_mm))
        stage = purse.part(round(steps * share))
        best = min((best, _squeezed(on, best, rows_a_cell, fine, stage, chance)), key=_length)
    return best


def _squeezed(on: Ground, laid: list[Laid], rows_a_cell: int, fine: int, purse: Purse, chance: np.random.Generator) -> list[Laid]:
    kinds: dict[int, Piece] = {id(one.piece): one.piece for one in laid}
    index = {key: i for i, key in enumerate(kinds)}
    meetings = Meetings(list(kinds.values()), on.rows * rows_a_cell, on.cell / rows_a_cell, fine)
    items = [index[id(one.piece)] for one in laid]
    spots = [(meetings.turns[i][one.turn], one.x, round(one.y / meetings.row_mm)) for i, one in zip(items, laid, strict=True)]
    best = squeeze(Crowd(meetings, items, spots), purse, chance)
    return [
        Laid(one.piece, shape - meetings.turns[item][0], one.copy, one.section, x, row * meetings.row_mm)
        for one, item, shape, x, row in zip(laid, items, best.shape, best.x, best.row, strict=True)
    ]


def _moved_to_start(own: list[Laid]) -> list[Laid]:
    start = min(one.x for one in own)
    return [replace(one, x=one.x - start) for one in own]
