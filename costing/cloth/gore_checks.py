"""Whether a pattern's gores and centre seams go with a spinnaker of these sizes."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from costing.cloth.gores import Layout, apex, centreline, edges_along, gores_of, joint
from costing.cloth.grid import Floats
from costing.cloth.make import Centre, Gores, Make
from costing.errors import Collector
from costing.measurements import Corner, SailKind
from costing.sail.shape import Outline

#: What a shaped seam may be longer than the straight one, mm: as much as is eased in without a pucker (common practice, no source).
_LONGER_MM = 0.5
#: Narrower than this at the edge of the sail or in the middle of the foot, a panel is not worth its seams (common practice, no source).
LEAST_MM = 60.0
_MOST_GORES = 24


def check(outline: Outline, make: Make, corners: tuple[Corner, ...]) -> None:
    """Raise InputError with everything that does not go together; `corners` are those that the cut fans out from."""
    found = Collector()
    _check_rows(outline.kind, make, corners, found)
    found.raise_if_any()
    frame = centreline(outline)
    edges = edges_along(outline, frame)
    gores = {g.corner: g for g in gores_of(outline.kind, make)}
    _check_reach(edges, gores, found)
    found.raise_if_any()
    _check_seams(edges, gores, make, found)
    found.raise_if_any()


def _check_rows(kind: SailKind, make: Make, corners: tuple[Corner, ...], found: Collector) -> None:
    symmetric = kind is SailKind.SYMMETRIC_SPINNAKER
    wanted = [c for c in corners if not (symmetric and c is Corner.TACK)]
    given = [g.corner for g in make.gores]
    for corner in (c for c in wanted if c not in given):
        found.add("make.gores", "gores_missing", f"a {make.cut} sail has gores at the {corner}; add a row that says how many")
    for i, gores in enumerate(make.gores):
        path = f"make.gores[{i}]"
        if gores.corner not in wanted:
            why = "has those of its clew" if symmetric and gores.corner in corners else "has none in this cut"
            found.add(f"{path}.corner", "gores_of_no_corner", f"the {gores.corner} of a {make.cut} sail {why}; leave this row out")
        if given.index(gores.corner) != i:
            found.add(f"{path}.corner", "gores_twice", f"the {gores.corner} has a row already")
        if not 2 <= gores.count <= _MOST_GORES:
            found.add(f"{path}.count", "gore_count", f"{gores.count} gores; it must be from 2 to {_MOST_GORES}")
        if not 0 < gores.fullest < 1:
            found.add(f"{path}.fullest", "not_inside", f"a seam is fullest between its ends, 0 and 1, not at {gores.fullest:g}")
    if symmetric:
        _check_halves(make, found)
    if make.centre is Centre.VERTICAL and Corner.CLEW not in corners:
        found.add("make.centre", "vertical_centre", f"the centre of a {make.cut} sail is cross-cut; a tri-radial one may be vertical")


def _check_halves(make: Make, found: Collector) -> None:
    """What would make the halves of a symmetric sail differ."""
    patches = {p.corner: p for p in make.patches}
    tack, clew = patches.get(Corner.TACK), patches.get(Corner.CLEW)
    alike = tack is not None and clew is not None and replace(tack, corner=Corner.CLEW) == clew and clew.layers is not None
    unlike = {
        "make.leech": make.luff != make.leech and "luff and leech are not finished",
        "make.take_up.leech": make.take_up.luff_fraction != make.take_up.leech_fraction and "luff and leech do not take up",
        "make.patches": (tack is not None or clew is not None) and not alike and "the patches of tack and clew, layers given, are not",
    }
    for path, what in unlike.items():
        if what:
            found.add(path, "not_symmetric", f"{what} alike, and the halves of a symmetric sail are mirrors: give both the same")


def _check_reach(edges: dict[str, Floats], gores: dict[Corner, Gores], found: Collector) -> None:
    """The head's joint lies above the other corners' joints, and these leave some foot between them."""
    head, chord = gores[Corner.HEAD], float(np.hypot(*(edges["foot"][-1] - edges["foot"][0])))
    top, corner = float(edges["luff"][-1, 1]), max(float(edges["luff"][0, 1]), float(edges["leech"][-1, 1]))
    most = top - corner - LEAST_MM
    if not LEAST_MM <= head.reach_mm <= most:
        told = f"the head's gores end {head.reach_mm:,.0f} mm below the head point; it must be from {LEAST_MM:.0f} to {most:,.0f} mm"
        found.add("make.gores[head].reach_mm", "reach", told)
        return
    for name, edge in ((Corner.TACK, "luff"), (Corner.CLEW, "leech")):
        if name in gores:
            at = apex(edges, name)
            end = joint(edges, head, None)[0 if edge == "luff" else 1]
            room = math.dist(at, end) - LEAST_MM
            if gores[name].reach_mm and not LEAST_MM <= gores[name].reach_mm <= room:
                told = f"the {name}'s gores end {gores[name].reach_mm:,.0f} mm up the {edge}"
                told = f"{told}; it must be from {LEAST_MM:.0f} to {room:,.0f} mm"
                found.add(f"make.gores[{name}].reach_mm", "reach", f"{told}, or 0 for where the head's gores end")
    used = [gores[c].foot_mm for c in (Corner.TACK, Corner.CLEW) if c in gores]
    if used and (min(used) < LEAST_MM or sum(used) > chord - LEAST_MM):
        told = f"along a foot of {chord:,.0f} mm the gores of tack and clew take {' and '.join(f'{mm:,.0f}' for mm in used)} mm"
        right = f"each must be {LEAST_MM:.0f} mm or more, and {LEAST_MM:.0f} mm be left between them"
        found.add("make.gores[clew].foot_mm", "foot_taken", f"{told}; {right}")


def _check_seams(edges: dict[str, Floats], gores: dict[Corner, Gores], make: Make, found: Collector) -> None:
    """The centre's seams rise, and lie between the head's joint and the foot, or between the other corners' joints."""
    low, high = _room(edges, gores, make)
    at = [seam.height_mm for seam in make.seams]
    least = max(make.seam_overlap_mm, 1.0)
    for i, height in enumerate(at):
        if not low + least < height < high - least:
            told = f"seam {i + 1} at {height:,.0f} mm lies outside the centre, which reaches from {low:,.0f} to {high:,.0f} mm"
            found.add(f"make.seams[{i}].height_mm", "seam_outside", told)
        elif i and height - at[i - 1] <= least:
            told = f"seam {i + 1} at {height:,.0f} mm must lie more than the overlap, {make.seam_overlap_mm:g} mm, beyond seam {i}"
            found.add(f"make.seams[{i}].height_mm", "seam_order", told)


def _room(edges: dict[str, Floats], gores: dict[Corner, Gores], make: Make) -> tuple[float, float]:
    """Between which heights, or distances aft of the centreline, a seam of the centre may lie, mm."""
    head_joint = joint(edges, gores[Corner.HEAD], None)
    if make.centre is Centre.VERTICAL:
        return 0.0, float(head_joint[1][0] - head_joint[0][0])
    return float(edges["foot"][:, 1].min()), float(head_joint[0][1])


def check_curves(layout: Layout) -> None:
    """Raise InputError with every seam that is shaped too sharply to be sewn.

    A half parabola of depth b over a run r is longer than the run by 2 b^2 / (3 r), for b much less than r; b is half of the fullness.
    """
    found = Collector()
    for seam in layout.seams.values():
        depth = abs(seam.full) / 2
        longer = sum(2 * depth**2 / (3 * run) for run in (seam.fullest * seam.length, (1 - seam.fullest) * seam.length))
        if longer > _LONGER_MM:
            told = f"{seam.full:g} mm in {seam.name}, {seam.length:,.0f} mm long, make its sew lines {longer:.2f} mm longer than it"
            of = f"gores[{seam.name.split()[0]}]" if not seam.name.startswith("seam ") else f"seams[{int(seam.name.split()[1]) - 1}]"
            found.add(f"make.{of}.broadseam_mm", "broadseam_too_sharp", f"{told}; at most {_LONGER_MM} mm is sewn without a pucker")
    found.raise_if_any()
