"""How the loft makes a sail: the pattern's instructions for panels, edges, patches, pockets and window.

All lengths mm. A feature with an `option` is made only when that option is chosen; an empty option is always made.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from costing.measurements import Corner


class EdgeMethod(StrEnum):
    FOLDED = "folded"  # straight edges only: a folded hem will not lie flat on a roach
    CUT = "cut"  # a strip of its own
    TAPED = "taped"


@dataclass(frozen=True, slots=True)
class Edge:
    """How an edge is finished: the finished tabling width and what is added outside the finished line when cutting."""

    method: EdgeMethod
    finished_width_mm: float
    allowance_mm: float
    left_full_mm: float = 0.0  # left outside the line and faired after seaming


@dataclass(frozen=True, slots=True)
class Seam:
    """A straight seam: its distance from the clew point square to itself (in a cross-cut, along the line head-clew), and its broadseam.

    In the centre of a gored sail: its height above the line tack-clew along the centreline or, where it runs along the centreline, its
    distance aft of the luff end of the head's joint; the broadseam lies in its middle (see Gores).
    """

    height_mm: float
    broadseam_mm: float = 0.0  # taken out of the panel above, at the end where its lower edge starts: luff, in a vertical cut foot
    run_out: float = 0.45  # fraction of the seam's length from that end at which it has run out to nothing


class Centre(StrEnum):
    """How the middle of a gored sail is made, between the gores of its corners."""

    CROSS_CUT = "cross-cut"  # seams square to the centreline
    VERTICAL = "vertical"  # seams along the centreline


class Stitch(StrEnum):
    """What the seams between panels are sewn with."""

    ZIGZAG = "two rows of zig-zag"
    THREE_STEP = "one row of three-step"


@dataclass(frozen=True, slots=True)
class Gores:
    """The gores of a corner: how many, where they end, and how their seams are shaped.

    At the head they end on a joint square to the centreline, `reach_mm` below the head point. At tack and clew they end on a straight
    joint from the luff or leech, `reach_mm` from the corner (0: where the head's joint ends), to the foot, `foot_mm` from the corner.
    broadseam_mm: what the two gores at a seam have together beyond the flat sail where it is fullest, at the part `fullest` of the way from
    the corner; nothing at both ends, so that measured from there it is what is taken out at the ends.
    """

    corner: Corner
    count: int
    reach_mm: float
    foot_mm: float = 0.0
    broadseam_mm: float = 0.0
    fullest: float = 0.5


@dataclass(frozen=True, slots=True)
class ColourSlot:
    """Panels that may have a colour of their own: what it is called ("accent") and their marks; which colour is the sail's to say."""

    name: str
    panels: tuple[str, ...]
    option: str = ""


@dataclass(frozen=True, slots=True)
class TakeUp:
    """What sewing draws in: mm a seam crossed along the leech, and fractions of the edge for tablings."""

    per_seam_mm: float
    luff_fraction: float
    leech_fraction: float
    foot_fraction: float


@dataclass(frozen=True, slots=True)
class Patch:
    """A corner patch: radius as a fraction of the edge it is taken from, layers (None: by sail area), step between layers."""

    corner: Corner
    size_fraction: float
    layers: int | None
    step_mm: float
    material: str  # cloth code, empty: the body cloth
    option: str = ""


@dataclass(frozen=True, slots=True)
class EdgePatch:
    """A patch on an edge away from a corner (cunningham, reef): distance from the tack point along the luff or leech."""

    name: str
    edge: str  # "luff" or "leech"
    from_corner_mm: float
    radius_mm: float
    layers: int
    material: str
    option: str


@dataclass(frozen=True, slots=True)
class Pocket:
    """A batten pocket: leech fraction from the clew of its centreline (by straight-line distance along head-clew), batten size.

    batten_length_mm: 0 for a full-length pocket, whose batten follows from the sail.
    """

    name: str
    leech_fraction: float
    batten_length_mm: float
    batten_width_mm: float
    full_length: bool
    material: str
    option: str = ""


@dataclass(frozen=True, slots=True)
class Window:
    """A window pane: centre (fraction of the foot aft of the tack, mm above the foot line), size, and its film."""

    name: str
    centre_foot_fraction: float
    centre_height_mm: float
    width_mm: float
    height_mm: float
    film: str
    option: str = "window"


@dataclass(frozen=True, slots=True)
class Hanks:
    """Hanks along the luff: one near each end, the others between them at equal parts no longer than this."""

    spacing_mm: float
    option: str = ""


@dataclass(frozen=True, slots=True)
class Shelf:
    """A shelf along the foot: how deep it is in its middle, what its edge at the boom is folded in by, its cloth (empty: the body's)."""

    depth_mm: float
    allowance_mm: float
    material: str = ""
    option: str = ""


@dataclass(frozen=True, slots=True)
class Make:
    """The pattern's cloth instructions for one sail kind on one roll width."""

    cut: str  # a name of costing.cloth.cuts
    roll_width_mm: float
    seams: tuple[Seam, ...]
    seam_overlap_mm: float
    take_up: TakeUp
    luff: Edge
    leech: Edge
    foot: Edge
    patches: tuple[Patch, ...]
    edge_patches: tuple[EdgePatch, ...]
    pockets: tuple[Pocket, ...]
    windows: tuple[Window, ...]
    foot_leg_fraction: float = 0.15  # a clew or tack patch is at most this fraction of the foot along the foot
    gores: tuple[Gores, ...] = ()  # of a radial cut, one row a corner; a symmetric sail's tack has its clew's
    centre: Centre = Centre.CROSS_CUT  # of a radial cut
    stitch: Stitch = Stitch.ZIGZAG
    colours: tuple[ColourSlot, ...] = ()  # a panel belongs to one slot at most, the others have the body's colour
    hanks: Hanks | None = None
    shelf: Shelf | None = None
    foot_seams: tuple[Seam, ...] = ()  # of a mitre cut's lower half, square to the foot: distances from the clew along it
    mitre_broadseam_mm: float = 0.0  # taken out of the upper half at the luff end of the mitre
    mitre_run_out: float = 0.45  # fraction of the mitre from the luff at which that has run out to nothing


def chosen(make: Make, options: frozenset[str]) -> Make:
    """The same instructions with only the features whose option is chosen (or that have none)."""

    def wanted(option: str) -> bool:
        return option == "" or option in options

    return replace(
        make,
        patches=tuple(p for p in make.patches if wanted(p.option)),
        edge_patches=tuple(p for p in make.edge_patches if wanted(p.option)),
        pockets=tuple(p for p in make.pockets if wanted(p.option)),
        windows=tuple(w for w in make.windows if wanted(w.option)),
        colours=tuple(c for c in make.colours if wanted(c.option)),
        hanks=make.hanks if make.hanks and wanted(make.hanks.option) else None,
        shelf=make.shelf if make.shelf and wanted(make.shelf.option) else None,
    )


def coloured(make: Make, slots: frozenset[str]) -> Make:
    """The same instructions with only these colour slots: the others have the body's colour and are laid with it."""
    return replace(make, colours=tuple(c for c in make.colours if c.name in slots))
