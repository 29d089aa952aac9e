"""Headsails, a storm jib and a trysail of several sizes, and how each cut makes them; invented sizes."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from costing import cloth, sail
from costing.cloth import Cloth, Edge, EdgeMethod, Make, Orientation, Patch, Seam, TakeUp
from costing.measurements import Corner, SailKind
from costing.sail import LuffCurve, SailShape
from tests.cloth.skerling_main import BODY, Main

WARP = replace(BODY, code="WP175", orientation=Orientation.WARP)
ROLLS: dict[str, Cloth] = {"cross-cut": BODY, "mitre": BODY, "vertical": WARP}
#: What a stay sags by: the luff of a headsail is cut hollow.
SAG = LuffCurve(((0.25, -9.0), (0.5, -12.0), (0.75, -9.0)))


def jib(luff: int, leech: int, foot: int, kind: SailKind = SailKind.HEADSAIL, curve: LuffCurve = SAG, foot_round: int = 40) -> SailShape:
    """A sail of three edges, its widths those of a leech as usual for its kind."""
    sizes = {"luff_length": luff, "leech_length": leech, "foot_length": foot, "foot_round": foot_round}
    return sail.shape_from_sizes(kind, {name: Decimal(mm) for name, mm in sizes.items()}, curve)


SAILS: dict[str, SailShape] = {
    "dinghy jib": jib(3700, 3350, 1650),
    "high-clewed jib": jib(5200, 4300, 2400),
    "keelboat genoa": jib(9800, 9300, 4900, foot_round=120),
    "storm jib": jib(4600, 3500, 2100, SailKind.STORM_JIB, LuffCurve(()), 0),
    "trysail": jib(4200, 5000, 2900, SailKind.TRYSAIL, LuffCurve(()), 0),
}

_BARE = Edge(EdgeMethod.TAPED, 25, 0)
_MAKE = Make(
    cut="cross-cut",
    roll_width_mm=1370,
    seams=(),
    seam_overlap_mm=15,
    take_up=TakeUp(1.5, 0.002, 0.001, 0.001),
    luff=Edge(EdgeMethod.TAPED, 40, 5),
    leech=Edge(EdgeMethod.CUT, 25, 5),
    foot=Edge(EdgeMethod.CUT, 25, 5),
    patches=tuple(Patch(corner, 0.09, 4, 25, "") for corner in Corner),
    edge_patches=(),
    pockets=(),
    windows=(),
)


def make_of(cut: str, shape: SailShape, *, plain: bool = False) -> Make:
    """How this sail is made in this cut: seams as proposed for its cut sizes; plain: nothing drawn in, taken out or added."""
    bare = replace(_MAKE, cut=cut)
    if plain:
        bare = replace(bare, take_up=TakeUp(0, 0, 0, 0), luff=_BARE, leech=_BARE, foot=_BARE, seam_overlap_mm=0.0)
        return _with_seams(bare, sail.outline(shape), 0.0)
    if cut == "mitre":
        bare = replace(bare, mitre_broadseam_mm=7.0)
    first = _with_seams(bare, sail.outline(shape), 6.0)
    return _with_seams(bare, sail.outline(cloth.cut_shape(shape, first)), 6.0)


def _with_seams(make: Make, outline: sail.Outline, broadseam: float) -> Make:
    roll = ROLLS[make.cut]
    heights = cloth.propose_seams(outline, make, roll)
    foot = cloth.propose_foot_seams(outline, make, roll)
    seams = tuple(Seam(height, broadseam * _may_be_shaped(make, outline, height)) for height in heights)
    return replace(make, seams=seams, foot_seams=tuple(map(Seam, foot)))


def _may_be_shaped(make: Make, outline: sail.Outline, height: float) -> bool:
    """Whether a seam may have a broadseam: not where it ends on the mitre."""
    tried = replace(make, seams=(Seam(height),), foot_seams=())
    return cloth.panels(outline, tried, replace(ROLLS[make.cut], usable_width_mm=1e5))[1].lower_ends[0] != "mitre"


def built(cut: str, shape: SailShape, *, plain: bool = False, make: Make | None = None) -> Main:
    """The sail made in this cut."""
    make = make or make_of(cut, shape, plain=plain)
    outline = sail.outline(cloth.cut_shape(shape, make))
    panels = cloth.panels(outline, make, ROLLS[cut])
    return Main(make, outline, panels, cloth.parts(outline, panels, make, ROLLS[cut], patch_caps={}))
