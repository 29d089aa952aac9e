"""Every piece to cut for one sail: panels, patches, pockets, tablings, window panes."""

from __future__ import annotations

from collections.abc import Mapping

from costing.cloth.make import Make
from costing.cloth.part import Cloth, Panel, Part
from costing.measurements import Corner
from costing.sail.shape import Outline


def parts(cut: Outline, body: tuple[Panel, ...], make: Make, cloth: Cloth, *, patch_caps: Mapping[Corner, float]) -> tuple[Part, ...]:
    """Every part of one sail, each naming its material and allowed turns.

    patch_caps: mm, the largest patch that the class allows at a corner, already less the loft's margin. Layers where the pattern
    leaves them open: 3 / 4 / 5 below 5 / 9 / 12 m2, one more at the clew; above 12 m2 InputError asks for the number
    (common practice, no source).
    """
    raise NotImplementedError
