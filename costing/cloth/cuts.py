"""The cuts: how each divides a sail into panels. A cut is a module, or an object, with these functions and a row in the table."""

from __future__ import annotations

from typing import Protocol

from costing.cloth import cross_cut, mitre, radial, vertical
from costing.cloth.frame import Edges
from costing.cloth.grid import Floats
from costing.cloth.make import Make
from costing.cloth.part import Cloth, Orientation, Panel
from costing.errors import Collector, problem
from costing.measurements import SailKind
from costing.sail.shape import Outline, SailShape


class Cut(Protocol):
    """What a cut's module has."""

    KINDS: frozenset[SailKind]  # the sails that are made so
    ORIENTATIONS: frozenset[Orientation]  # of the cloths that suit it
    SUITS: str  # why only these, and what to take, in words

    def cut_shape(self, finished: SailShape, make: Make) -> SailShape:
        """The sizes to cut to: finished sizes plus what sewing takes; mm."""

    def panels(self, cut: Outline, make: Make, cloth: Cloth) -> tuple[Panel, ...]:
        """The body panels of the cut outline."""

    def propose_seams(self, cut: Outline, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> tuple[float, ...]:
        """Seam heights for a pattern to keep; mm."""

    def threads(self, home: Edges, at: Floats) -> float:
        """How far (radians, anticlockwise) the body's cloth at a point is turned from the leech's frame to lie on the roll."""


CUTS: dict[str, Cut] = {
    "cross-cut": cross_cut,
    "mitre": mitre,
    "vertical": vertical,
    "radial-head": radial.RADIAL_HEAD,
    "tri-radial": radial.TRI_RADIAL,
}


def cut_of(make: Make) -> Cut:
    """The cut that these instructions name; InputError when there is no such cut."""
    if make.cut not in CUTS:
        raise problem("make.cut", "unknown_cut", f"panels of a {make.cut!r} sail are not known; known: {', '.join(CUTS)}")
    return CUTS[make.cut]


def check_kind(kind: SailKind, make: Make, found: Collector) -> None:
    """Add a problem when no sail of this kind is made in this cut."""
    if kind not in cut_of(make).KINDS:
        named = kind.value.replace("_", " ")
        others = [name for name, cut in CUTS.items() if kind in cut.KINDS]
        right = f"a {named} is made {' or '.join(others)}" if others else f"no cut for a {named} can be computed yet"
        found.add("make.cut", "cut_of_another_kind", f"a {named} is not made {make.cut}; {right}")


def unsuitable(cloth: Cloth, make: Make) -> str:
    """Why the cloth's strong direction does not suit the cut, in words; empty when it does."""
    cut = cut_of(make)
    if cloth.orientation in cut.ORIENTATIONS:
        return ""
    return f"{cloth.code} is {cloth.orientation}-oriented and does not suit a {make.cut} sail: {cut.SUITS}"
