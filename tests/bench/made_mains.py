"""Batches of mains of varied size from seeds, cut by costing's own sail and cloth code: to tune a lay on some and measure it on others."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

from costing import cloth, sail
from costing.cloth import Cloth, Orientation, Part, Seam
from costing.errors import InputError
from costing.sail import SailShape
from tests.cloth.skerling_main import FINISHED, MAKE

WIDE = Cloth("ROLL", "woven polyester", "woven", "firm", 1370, 1370, 170, Orientation.FILL, True, ("white",))
NARROW = replace(WIDE, width_mm=914, usable_width_mm=914)
#: Broadseam width and fullness of any seam: lays hardly feel them.
_BROADSEAM = (8.0, 0.45)

Sails = dict[str, tuple[Part, ...]]


def batch(seed: int, count: int, roll: Cloth = WIDE, *, window_holes: bool = False) -> Sails:
    """`count` mains of unlike sizes, the same each time for a seed, holes of windows cut on the table or after sewing."""
    chance = random.Random(seed)
    return {f"S{n}": parts for n, parts in zip(range(count), _mains(chance, roll, window_holes), strict=False)}


def _mains(chance: random.Random, roll: Cloth, window_holes: bool) -> Iterator[tuple[Part, ...]]:
    while True:
        try:
            yield _main(_sizes(chance), roll, window_holes)
        except InputError:
            continue  # sizes that make no fair leech, or a window on a seam: the next main is another


def _sizes(chance: random.Random) -> SailShape:
    scale = chance.uniform(0.75, 1.2)

    def near(size: float, share: float) -> float:
        return size * scale * chance.uniform(1 - share, 1 + share)

    return replace(
        FINISHED,
        luff_length=near(FINISHED.luff_length, 0.01),
        leech_length=near(FINISHED.leech_length, 0.005),
        foot_length=near(FINISHED.foot_length, 0.01),
        widths=tuple((name, near(width, 0.008)) for name, width in FINISHED.widths),
        foot_round=near(FINISHED.foot_round, 0.3),
    )


def _main(sizes: SailShape, roll: Cloth, window_holes: bool) -> tuple[Part, ...]:
    bare = replace(MAKE, roll_width_mm=round(roll.width_mm), seams=())
    cut = sail.outline(cloth.cut_shape(sizes, bare))
    seams = tuple(Seam(height, *_BROADSEAM) for height in cloth.propose_seams(cut, bare, roll))
    make = replace(bare, seams=seams)
    cut = sail.outline(cloth.cut_shape(sizes, make))
    panels = cloth.panels(cut, make, roll)
    return tuple(p for p in cloth.parts(cut, panels, make, roll, patch_caps={}, window_holes=window_holes) if p.material == roll.code)
