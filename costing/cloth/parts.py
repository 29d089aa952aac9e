"""Every piece to cut for one sail: panels, patches, pockets, tablings, a shelf foot, window panes."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping

import numpy as np
import shapely

from costing.cloth import shelf
from costing.cloth.cuts import cut_of
from costing.cloth.features import POCKET_LONGER_MM, POCKET_WIDER_MM, pane, pocket_line
from costing.cloth.frame import Edges, as_line, edges_in_frame, ring_of
from costing.cloth.grid import Floats
from costing.cloth.make import EdgeMethod, Make
from costing.cloth.part import Cloth, Mark, Panel, Part
from costing.cloth.patches import Layer, corner_layers, edge_layers
from costing.cloth.strips import strips
from costing.errors import Collector
from costing.measurements import Corner
from costing.sail.shape import Outline

#: Turned in all round a pocket (common practice, no source).
_TURN_IN_MM = 10.0
#: Film has no threads: it may lie along or across its roll.
_FILM_ANGLES = (0, 90, 180, 270)
#: Of which rows of the pattern parts of a kind are made.
_TABLES = {"patch": "make.edge_patches", "pocket": "make.pockets", "window": "make.windows"}


def parts(
    cut: Outline, body: tuple[Panel, ...], make: Make, cloth: Cloth, *, patch_caps: Mapping[Corner, float], window_holes: bool = False
) -> tuple[Part, ...]:
    """Every part of one sail, each naming its material and allowed turns.

    patch_caps: mm, the largest patch that the class allows at a corner, already less the loft's margin. Layers where the pattern
    leaves them open: 3 / 4 / 5 below 5 / 9 / 12 m2, one more at the clew; above 12 m2 InputError asks for the number
    (common practice, no source). Patches reach to the finished edge. window_holes: see Table; without it a window's hole is cut after
    sewing, and its panel has none.
    """
    edges = edges_in_frame(cut, make)
    found = Collector()
    made: list[Part] = list(_panels(edges, body, cloth, window_holes))
    for patch in make.patches:
        with found.under(""):
            layers = corner_layers(edges, patch, make, cloth, patch_caps)
            made += _patch(edges, make, layers, patch.corner.value, patch.material or cloth.code)
    for edge_patch in make.edge_patches:
        with found.under(""):
            made += _patch(edges, make, edge_layers(edges, edge_patch), edge_patch.name, edge_patch.material or cloth.code)
    with found.under(""):
        made += _pockets(edges, make, cloth)
    made += _tablings(edges, make, cloth)
    made += _shelf(edges, make, cloth)
    made += _panes(edges, make)
    _refuse_twice(found, made)
    found.raise_if_any()
    return tuple(made)


def _panels(edges: Edges, body: tuple[Panel, ...], cloth: Cloth, window_holes: bool) -> Iterator[Part]:
    for panel in body:
        cut_out = [mark for mark in panel.marks if mark.kind == "hole"] if window_holes else []
        middle = edges.frame.to_sail(_middle(edges.frame.to_roll(panel.finished))[None, :])[0]
        yield Part(
            id=panel.mark,
            kind="panel",
            label=f"Panel {panel.mark} of {len(body)}, {panel.place}",
            material=cloth.code,
            outer=panel.cut,
            holes=tuple(mark.line[:-1] for mark in cut_out),
            full_width=panel.full_width,
            marks=tuple(mark for mark in panel.marks if mark not in cut_out),
            anchor=middle,
            on_sail=panel.finished,
            colour=panel.colour,
        )


def _patch(edges: Edges, make: Make, layers: Iterator[Layer], name: str, material: str) -> Iterator[Part]:
    for layer in layers:
        label = f"{name.capitalize()} patch, layer {layer.number} of {layer.of}"
        turn = _with_body(edges, make, layer.ring) if layer.turn is None else layer.turn
        yield _part(edges, f"{_code(name)}-{layer.number}", "patch", label, material, layer.ring, turn=turn)


def _with_body(edges: Edges, make: Make, ring: Floats) -> float:
    """How far a piece is turned so that its threads on the roll run like the body's where it is sewn on."""
    return cut_of(make).threads(edges, _middle(ring))


def _pockets(edges: Edges, make: Make, cloth: Cloth) -> Iterator[Part]:
    for pocket in make.pockets:
        leech, inner = pocket_line(edges, pocket)
        half = (pocket.batten_width_mm + POCKET_WIDER_MM) / 2 + _TURN_IN_MM
        box = shapely.box(inner[0] - _TURN_IN_MM, leech[1] - half, leech[0] + _TURN_IN_MM, leech[1] + half)
        batten = math.floor(float(leech[0] - inner[0]) - POCKET_LONGER_MM + 1e-6)
        label = f"Batten pocket {pocket.name}, for a {'full-length ' if pocket.full_length else ''}batten of {batten:,} mm"
        yield _part(edges, f"POCKET-{_code(pocket.name)}", "pocket", label, pocket.material or cloth.code, ring_of(box))


def _tablings(edges: Edges, make: Make, cloth: Cloth) -> Iterator[Part]:
    for name, edge in (("luff", make.luff), ("leech", make.leech), ("foot", make.foot)):
        if edge.method is EdgeMethod.CUT:
            rings = tuple(strips(edges.lines[name], edge, make.seam_overlap_mm, cloth.usable_width_mm))
            for number, ring in enumerate(rings, start=1):
                label = f"{name.capitalize()} tabling, piece {number} of {len(rings)}"
                turn = _with_body(edges, make, ring)
                yield _part(edges, f"{_code(name)}-TABLING-{number}", "tabling", label, cloth.code, ring, turn=turn)


def _shelf(edges: Edges, make: Make, cloth: Cloth) -> Iterator[Part]:
    """The shelf foot in one piece, the warp along the boom; it has no place on the flat sail, so it is drawn at the middle of the foot."""
    if make.shelf is None:
        return
    sewn = shelf.curve(edges.lines["foot"], make.shelf)
    half = sewn[len(sewn) // 2] * (1.0, 0.5)
    outer = shelf.ring(sewn, make.seam_overlap_mm, make.shelf.allowance_mm)
    corner = outer.min(axis=0)
    middle = np.asarray(shapely.LineString(edges.lines["foot"]).interpolate(0.5, normalized=True).coords)
    length = shapely.LineString(sewn).length
    yield Part(
        id="SHELF",
        kind="shelf",
        label=f"Shelf foot, {length:,.0f} mm to sew to the foot, {make.shelf.depth_mm:,.0f} mm deep",
        material=make.shelf.material or cloth.code,
        outer=as_line(outer - corner),
        angles=(0, 180),
        marks=(Mark("sew", as_line(sewn - corner), "foot"), Mark("mark", as_line((half - corner)[None, :]), "SHELF")),
        anchor=edges.frame.to_sail(middle)[0],
    )


def _panes(edges: Edges, make: Make) -> Iterator[Part]:
    for window in make.windows:
        name = window.name if window.name.lower().startswith("window") else f"window {window.name}"
        label = f"Window pane {window.width_mm:,.0f} x {window.height_mm:,.0f} mm"
        yield _part(edges, _code(name), "window", label, window.film, ring_of(pane(edges, window)), angles=_FILM_ANGLES)


def _part(
    edges: Edges, code: str, kind: str, label: str, material: str, ring: Floats, *, turn: float = 0.0, angles: tuple[int, ...] = (0, 180)
) -> Part:
    """A part from its edge in the cutter's frame, turned onto the roll with its lowest x and y at 0."""
    c, s = math.cos(turn), math.sin(turn)
    turned = ring @ np.array(((c, s), (-s, c)))
    outer = as_line(turned - turned.min(axis=0))
    at = shapely.Polygon(outer).representative_point()
    return Part(
        id=code,
        kind=kind,
        label=label,
        material=material,
        outer=outer,
        angles=angles,
        marks=(Mark("mark", ((at.x, at.y),), code),),
        anchor=edges.frame.to_sail(_middle(ring)[None, :])[0],
        on_sail=edges.frame.to_sail(ring),
    )


def _middle(ring: Floats) -> Floats:
    return np.asarray((ring.min(axis=0) + ring.max(axis=0)) / 2)


def _code(name: str) -> str:
    return "-".join(name.upper().split())


def _refuse_twice(found: Collector, made: list[Part]) -> None:
    for code, times in Counter(part.id for part in made).items():
        if times > 1:
            kind = next(part.kind for part in made if part.id == code)
            table = _TABLES.get(kind, f"parts[{code}]")
            found.add(table, "name_twice", f"{times} parts would be marked {code}; give the pattern's features different names")
