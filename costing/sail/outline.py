"""A fair outline with exactly the asked sizes."""

from __future__ import annotations

from costing.sail.shape import Outline, SailShape


def outline(shape: SailShape) -> Outline:
    """The finished sail's edge for these sizes; mm.

    Raises InputError (paths are measurement names) when luff, leech and foot make no triangle, a width is larger than the
    one at the station below, or no fair sail has these sizes; the message says which pair conflicts and what range would work.
    """
    raise NotImplementedError
