"""The Skerling 13 main, its making and its cloth, for the tests of panels, parts and lays."""

from __future__ import annotations

from dataclasses import dataclass

from costing import cloth, sail
from costing.cloth import Cloth, Edge, EdgeMethod, EdgePatch, Make, Orientation, Panel, Part, Patch, Pocket, Seam, TakeUp, Window
from costing.measurements import Corner, SailKind
from costing.sail import LuffCurve, Outline, SailShape

BODY = Cloth("DW170", "woven polyester", "woven", "firm", 1370, 1355, 170, Orientation.FILL, True, ("white",))
FILM = Cloth("FILM-05", "window film", "film", "clear", 1370, 1355, 650, Orientation.BALANCED, True, ("clear",), role="film")

FINISHED = SailShape(
    kind=SailKind.MAINSAIL,
    luff_length=5210,
    leech_length=5560,
    foot_length=2440,
    widths=(("quarter_width", 1985), ("half_width", 1455), ("three_quarter_width", 855), ("upper_width", 495)),
    top_width=130,
    foot_round=50,
    luff_curve=LuffCurve(((0.25, 30), (0.5, 45), (0.75, 35))),
)

MAKE = Make(
    cut="cross-cut",
    roll_width_mm=1370,
    seams=(Seam(1270, 10, 0.45), Seam(2610, 8, 0.45), Seam(3950, 5, 0.40), Seam(5290, 3, 0.40)),
    seam_overlap_mm=15,
    take_up=TakeUp(1.5, 0.002, 0.001, 0.001),
    luff=Edge(EdgeMethod.TAPED, 45, 5),
    leech=Edge(EdgeMethod.CUT, 25, 5),
    foot=Edge(EdgeMethod.CUT, 25, 5),
    patches=tuple(Patch(corner, 0.09, None, 25, "") for corner in (Corner.HEAD, Corner.TACK, Corner.CLEW)),
    edge_patches=(EdgePatch("cunningham", "luff", 280, 120, 2, "", ""),),
    pockets=(
        Pocket("lower", 0.25, 600, 25, False, ""),
        Pocket("middle", 0.50, 640, 25, False, ""),
        Pocket("top", 0.75, 800, 25, True, ""),
    ),
    windows=(Window("window", 0.48, 480, 560, 360, FILM.code, ""),),
)


@dataclass(frozen=True)
class Main:
    """A main from its sizes to its parts."""

    make: Make
    cut: Outline
    panels: tuple[Panel, ...]
    parts: tuple[Part, ...]


def built(make: Make = MAKE, finished: SailShape = FINISHED, body: Cloth = BODY) -> Main:
    """The main made in this way."""
    cut = sail.outline(cloth.cut_shape(finished, make))
    panels = cloth.panels(cut, make, body)
    return Main(make, cut, panels, cloth.parts(cut, panels, make, body, patch_caps={}))
