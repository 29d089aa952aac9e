"""Mitre-cut panels: square to the leech above and square to the foot below the mitre, which halves the angle at the clew.

Panels count from the clew up the leech, then from the clew along the foot. The upper half carries the mitre's overlap and its broadseam,
which is taken out at the luff; a seam that ends on the mitre has no broadseam of its own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely

from costing import sail
from costing.cloth import drafting
from costing.cloth.bank import Bank, HalfSeam, proposed, without_seams
from costing.cloth.features import CLEAR_OF_SEAM_MM, features
from costing.cloth.frame import Edges, edges_in_frame, frame_towards
from costing.cloth.grid import Floats
from costing.cloth.make import Make, Seam
from costing.cloth.part import Cloth, Orientation, Panel
from costing.cloth.sewn import with_widths_held
from costing.cloth.take_up import Segment, all_drawn_in
from costing.errors import Collector
from costing.measurements import SailKind
from costing.sail.shape import Outline, Point, SailShape

KINDS = frozenset({SailKind.HEADSAIL, SailKind.STORM_JIB})
ORIENTATIONS = frozenset({Orientation.FILL, Orientation.BALANCED})
SUITS = "there the fill threads run along the leech and the foot and carry them; take a fill-oriented or balanced cloth"

_FAR = 1e5
#: What the curve of the mitre may be longer than the straight edge that it is sewn to, mm.
_LONGER_MM = 0.5


@dataclass(frozen=True, slots=True)
class Mitre:
    """The seam between the halves in the sail: from the luff to the clew, and the direction square to it into the upper half."""

    luff: Point
    clew: Point
    up: Point

    @property
    def length(self) -> float:
        return math.dist(self.luff, self.clew)


def cut_shape(finished: SailShape, make: Make) -> SailShape:
    """The sizes to cut to; mm. Each seam draws in what it crosses; luff and foot get back what broadseams take out of them."""
    outline = sail.outline(finished)
    mitre, (upper, lower) = mitre_of(outline), banks(outline, make)
    lines = [line for bank in (upper, lower) for line in _seam_lines(bank)] + [(mitre.luff, mitre.clew)]
    drawn = all_drawn_in(outline, lines, make.take_up.per_seam_mm)
    sized = replace(
        finished,
        luff_length=finished.luff_length * (1 + make.take_up.luff_fraction) + drawn["luff_length"] + _luff_back(mitre, upper, make),
        leech_length=finished.leech_length * (1 + make.take_up.leech_fraction) + drawn["leech_length"],
        foot_length=finished.foot_length * (1 + make.take_up.foot_fraction)
        + drawn["foot_length"]
        + sum(seam.broadseam_mm for seam in _inside(lower)),
        widths=tuple((name, width + drawn[name]) for name, width in finished.widths),
    )
    return with_widths_held(sized, finished, make, drawn, banks)


def _inside(bank: Bank) -> list[Seam]:
    return [seam for seam in bank.seams if 0 < seam.height_mm < bank.top]


def _seam_lines(bank: Bank) -> list[Segment]:
    return [bank.seam_on_sail(seam) for seam in _inside(bank)]


def _luff_back(mitre: Mitre, upper: Bank, make: Make) -> float:
    """What the broadseams of the upper half and of the mitre shorten the luff by: each is taken out across the luff's slant."""
    up = upper.edges.frame.uy  # of h along the luff, which is the sail's y
    return up * sum(seam.broadseam_mm for seam in _inside(upper)) + make.mitre_broadseam_mm * mitre.up[1]


def panels(cut: Outline, make: Make, cloth: Cloth) -> tuple[Panel, ...]:
    """The body panels of the cut outline, the upper half's from the clew up, then the lower half's from the clew forward."""
    halves, found = banks(cut, make), Collector()
    _check_mitre(cut, make, halves[0].home, found)
    return drafting.checked_panels(halves, make, cloth, found)


def propose_seams(cut: Outline, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> tuple[float, ...]:
    """Heights of the upper half's seams along the line clew point - head point, for a pattern to keep; mm from the clew."""
    return proposed(banks(cut, without_seams(make))[0], make, cloth, spare_mm)


def propose_foot_seams(cut: Outline, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> tuple[float, ...]:
    """Distances of the lower half's seams along the line clew point - tack point, for a pattern to keep; mm from the clew."""
    return proposed(banks(cut, without_seams(make))[1], make, cloth, spare_mm)


def plain_at_mitre(cut: Outline, make: Make) -> Make:
    """The same instructions, a seam that ends on the mitre without a broadseam."""
    upper, lower = (
        tuple(replace(seam, broadseam_mm=0.0) if bank.on_mitre(seam) else seam for seam in bank.seams) for bank in banks(cut, make)
    )
    return replace(make, seams=upper, foot_seams=lower)


def threads(home: Edges, at: Floats) -> float:
    """How far (radians, anticlockwise) the body's cloth at a point is turned from the leech's frame to lie on the roll."""
    foot = home.lines["foot"][-1] - home.lines["foot"][0]
    towards_tack = math.atan2(foot[1], foot[0])
    middle = (towards_tack + math.pi / 2) / 2
    below = math.remainder(math.atan2(at[1], at[0]) - middle, math.tau) > 0
    return math.pi / 2 - towards_tack if below else 0.0


def mitre_of(outline: Outline) -> Mitre:
    """The mitre of an outline: from the clew point it halves the angle between leech and foot and runs to the luff."""
    clew = np.asarray(outline.clew_point)
    to_head, to_tack = (_unit(np.asarray(p) - clew) for p in (outline.head_point, outline.tack_point))
    along = _unit(to_head + to_tack)
    ray = shapely.LineString((clew, clew + along * _FAR))
    x, y = (float(v) for v in shapely.get_coordinates(ray.intersection(shapely.LineString(outline.luff)))[0])
    return Mitre((x, y), outline.clew_point, (float(along[1]), float(-along[0])))


def banks(cut: Outline, make: Make) -> tuple[Bank, ...]:
    """The upper half and the lower half."""
    mitre = mitre_of(cut)
    home, below = edges_in_frame(cut, make), edges_in_frame(cut, make, frame_towards(cut, cut.tack_point))
    first = len(make.seams) + 2
    return (
        Bank(
            _half(home, mitre, 1.0, make.seam_overlap_mm), home, make.seams, "leech", float(home.lines["leech"][0, 1]),
            place="upper half, from the clew", free_edges=("clew", "head"), between=_half_seam(mitre, home, make, upper=True),
        ),
        Bank(
            _half(below, mitre, -1.0, 0.0), home, make.foot_seams, "foot", float(below.lines["foot"][-1, 1]), "make.foot_seams", first,
            place="lower half, from the clew", free_edges=("clew", "tack"), between=_half_seam(mitre, below, make, upper=False),
        ),
    )  # fmt: skip


def _half(edges: Edges, mitre: Mitre, side: float, overlap_mm: float) -> Edges:
    """One half of the sail; its allowances reach over the mitre by the overlap."""

    def beyond(by: float) -> shapely.Polygon:
        luff, clew, up = (np.asarray(p) for p in (mitre.luff, mitre.clew, mitre.up))
        along = _unit(clew - luff)
        low = np.array((luff - along * _FAR, clew + along * _FAR)) - side * by * up
        return shapely.Polygon(edges.frame.to_roll(tuple(map(tuple, np.vstack((low, (low + side * _FAR * up)[::-1]))))))

    half = beyond(0.0)
    finished, allowed = _largest(edges.finished.intersection(half)), _largest(edges.with_allowances.intersection(beyond(overlap_mm)))
    return replace(edges, finished=finished, with_allowances=allowed, half=half)


def _half_seam(mitre: Mitre, edges: Edges, make: Make, *, upper: bool) -> HalfSeam:
    line = edges.frame.to_roll((mitre.luff, mitre.clew))
    up = edges.frame.to_roll((mitre.clew, (mitre.clew[0] + mitre.up[0], mitre.clew[1] + mitre.up[1])))
    inward = (up[1] - up[0]) * (1.0 if upper else -1.0)
    if not upper or not make.mitre_broadseam_mm:
        return HalfSeam(line, inward, overlap=upper)
    run = make.mitre_run_out * mitre.length
    reach = min(make.roll_width_mm, float((edges.lines["luff"][-1] - line[0]) @ inward))
    return HalfSeam(line, inward, upper, make.mitre_broadseam_mm, run, reach)


def _check_mitre(cut: Outline, make: Make, home: Edges, found: Collector) -> None:
    """Add a problem where the mitre's curve is too sharp to sew, or a pocket, window or ring lies in its way."""
    mitre = mitre_of(cut)
    longer = 2 * make.mitre_broadseam_mm**2 / (3 * make.mitre_run_out * mitre.length)
    if longer > _LONGER_MM:
        told = f"a broadseam of {make.mitre_broadseam_mm:g} mm makes the two sides of the mitre {longer:.1f} mm unequal"
        most = f"at most {_LONGER_MM} mm is sewn without a pucker: take less out, or run it out further"
        found.add("make.mitre_broadseam_mm", "broadseam_too_sharp", f"{told}; {most}")
    line = shapely.LineString(home.frame.to_roll((mitre.luff, mitre.clew)))
    for feature in features(home, make):
        away = line.distance(feature.shape) - make.seam_overlap_mm
        if away < CLEAR_OF_SEAM_MM:
            how = "lies in the way of" if away <= 0 else f"lies {away:,.0f} mm from"
            told = f"{feature.name} {how} the mitre; {CLEAR_OF_SEAM_MM:g} mm are needed: move {feature.name}"
            found.add(feature.path, "mitre_too_near", told)


def _largest(shape: shapely.Geometry) -> shapely.Polygon:
    largest: shapely.Polygon = max(shapely.get_parts(shape), key=lambda piece: piece.area)
    return largest


def _unit(way: Floats) -> Floats:
    return np.asarray(way / np.hypot(*way))
