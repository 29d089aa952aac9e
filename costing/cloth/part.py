"""Cloth on the roll, and the pieces that are cut from it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from costing.sail.shape import Line, Point


class Orientation(StrEnum):
    WARP = "warp"
    BALANCED = "balanced"
    FILL = "fill"


@dataclass(frozen=True, slots=True)
class Cloth:
    """A sailcloth or film on the roll; mm and g/m2. Usable width is what may be cut from."""

    code: str
    name: str
    construction: str
    finish: str
    width_mm: float
    usable_width_mm: float
    gsm: float
    orientation: Orientation
    same_faced: bool
    colours: tuple[str, ...]
    role: str = "body"  # "body" or "film"


@dataclass(frozen=True, slots=True)
class Mark:
    """Something drawn on a panel with the pen, not cut.

    kind: "sew", "strike-up", "fold" or "edge" (a finished edge to fold or to fair to), "pocket" (its centreline), "window" (the pane),
    "hole" (cut after sewing), "ring", "hank", "number" (a sail number's base line), or "mark": a text at one point.
    """

    kind: str
    line: Line
    text: str = ""


@dataclass(frozen=True, slots=True)
class Sew:
    """A panel's piece of a seam beside those to the panel below and above: the seam's name ("mitre"), the piece in roll coordinates from
    the seam's start on, and whether this panel carries the overlap there. Where both panels carry half of it (gores): the mark of the
    panel on the other side, and the piece on the sail, sail coordinates."""

    seam: str
    line: Line
    overlap: bool
    to: str = ""
    on_sail: Line = ()


@dataclass(frozen=True, slots=True)
class Panel:
    """One body panel, numbered in the order of its `place` ("from the foot").

    finished: its edge in the sewn sail, sail coordinates (see costing.sail.shape); cut: the edge to cut in ROLL coordinates
    (x along the roll = warp, y across, lowest point at y = 0, leftmost at x = 0), face up; marks in roll coordinates;
    lower_sew / upper_sew: the two sew lines in roll coordinates, left to right as the panel was drafted (luff to leech in a cross-cut),
    empty where the edge of the sail is; lower_ends / upper_ends: the edges of the sail, or the seam, that they start and end on;
    free_edges: the edge that is below a panel without lower sew line, and above one without upper; more_sews: its pieces of other seams;
    full_width: it touches both usable edges of the roll.
    """

    mark: str
    finished: Line
    cut: Line
    lower_sew: Line
    upper_sew: Line
    marks: tuple[Mark, ...]
    full_width: bool
    lower_ends: tuple[str, str] = ("luff", "leech")
    upper_ends: tuple[str, str] = ("luff", "leech")
    free_edges: tuple[str, str] = ("foot", "head")
    more_sews: tuple[Sew, ...] = ()
    place: str = "from the foot"
    colour: str = ""  # its colour slot; empty: the body's


@dataclass(frozen=True, slots=True)
class Part:
    """One piece to cut: what it is, from which material, and its cut edge in roll coordinates, mm.

    id is unique within a sail ("P3", "CLEW-2"); kind: panel, patch, pocket, tabling or window; angles: allowed turns in
    degrees; holes: openings in which other parts may lie only where the owner says so; full_width parts touch both usable edges.
    """

    id: str
    kind: str
    label: str
    material: str
    outer: Line
    holes: tuple[Line, ...] = ()
    angles: tuple[int, ...] = (0, 180)
    full_width: bool = False
    marks: tuple[Mark, ...] = ()
    anchor: Point | None = None  # the middle of the part where it belongs on the sail, sail coordinates, for the drawing
    on_sail: Line = ()  # its edge where it belongs on the sail, sail coordinates: inner patch layers lie turned on the roll
    colour: str = ""  # its colour slot; empty: the body's


def net_area_mm2(part: Part) -> float:
    """The area of a part's cut edge less its holes, mm2."""
    return _ring_area(part.outer) - sum(_ring_area(h) for h in part.holes)


def _ring_area(ring: Line) -> float:
    total = 0.0
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        total += x0 * y1 - x1 * y0
    return abs(total) / 2
