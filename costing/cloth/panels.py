"""Cross-cut panels: the cut outline divided by the pattern's seams, each panel laid along the roll."""

from __future__ import annotations

from costing.cloth.make import Make
from costing.cloth.part import Cloth, Panel
from costing.sail.shape import Outline, SailShape


def cut_shape(finished: SailShape, make: Make) -> SailShape:
    """The sizes to cut to: finished sizes plus take-up across the seams and along the tablings; mm."""
    raise NotImplementedError


def panels(cut: Outline, make: Make, cloth: Cloth) -> tuple[Panel, ...]:
    """The body panels of the cut outline, from the foot up.

    Raises InputError when a panel would be wider than the usable width (which, by how much), a seam lies outside the sail, or the cloth's
    orientation does not suit the cut (warp along the panel in a cross-cut: the fill runs along the leech).
    """
    raise NotImplementedError


def propose_seams(cut: Outline, make: Make, cloth: Cloth) -> tuple[float, ...]:
    """Seam heights that use the full usable width from the top of the clew panel up, for a pattern to keep; mm from the clew."""
    raise NotImplementedError
