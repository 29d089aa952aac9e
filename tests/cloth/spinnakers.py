"""Spinnakers of both kinds and both radial cuts, for the tests of their panels; sizes and makings are invented."""

from __future__ import annotations

from dataclasses import dataclass, replace

from costing import cloth, sail
from costing.cloth import Centre, Cloth, Edge, EdgeMethod, Gores, Make, Orientation, Panel, Part, Patch, Seam, Stitch, TakeUp
from costing.measurements import Corner, SailKind
from costing.sail import LuffCurve, Outline, SailShape

NYLON = Cloth("NY40", "nylon 40 g/m2", "ripstop nylon", "soft", 1500, 1485, 40, Orientation.WARP, False, ("white", "red", "blue"))
SYMMETRIC, ASYMMETRIC = SailKind.SYMMETRIC_SPINNAKER, SailKind.ASYMMETRIC_SPINNAKER

_EDGE = Edge(EdgeMethod.TAPED, 12, 2)
_PATCHES = tuple(Patch(corner, 0.06, 3, 25, "") for corner in (Corner.HEAD, Corner.TACK, Corner.CLEW))


def _shape(kind: SailKind, luff: float, leech: float, foot: float, widths: dict[str, float], foot_median: float | None) -> SailShape:
    round_ = 0.0 if foot_median else 0.05 * foot
    return SailShape(kind, luff, leech, foot, tuple(widths.items()), 0, round_, LuffCurve(()), foot_median)


def _make(cut: str, seams: tuple[Seam, ...], *gores: Gores, centre: Centre = Centre.CROSS_CUT) -> Make:
    take_up = TakeUp(1.0, 0.001, 0.001, 0.0015)
    return Make(
        cut, 1500, seams, 11, take_up, _EDGE, _EDGE, _EDGE, _PATCHES, (), (), (), gores=gores, centre=centre, stitch=Stitch.THREE_STEP
    )  # fmt: skip


HEAD, TACK, CLEW = Corner.HEAD, Corner.TACK, Corner.CLEW

#: label -> finished shape and making
SAILS: dict[str, tuple[SailShape, Make]] = {
    "symmetric tri-radial": (
        _shape(SYMMETRIC, 4300, 4300, 2500, {"half_width": 2600}, 4700),
        _make("tri-radial", (Seam(850, 12),), Gores(HEAD, 5, 2000, 0, 8), Gores(CLEW, 4, 0, 1000, 6)),
    ),
    "symmetric tri-radial, corners that end below the head's joint": (
        _shape(SYMMETRIC, 6500, 6500, 3800, {"half_width": 3900}, None),
        _make(
            "tri-radial", (Seam(1100, 10), Seam(2400, 10)), Gores(HEAD, 6, 2700, 0, 10, 0.6), Gores(CLEW, 5, 2600, 1500, 8, 0.4)
        ),
    ),
    "symmetric radial head": (
        _shape(SYMMETRIC, 3100, 3100, 1900, {"half_width": 1950}, 3300),
        _make("radial-head", (Seam(120, 6), Seam(900, 8)), Gores(HEAD, 4, 1500, 0, 5)),
    ),
    "asymmetric tri-radial, vertical centre": (
        _shape(ASYMMETRIC, 7200, 6500, 4000, {"half_width": 3800}, None),
        _make(
            "tri-radial", (Seam(950, 5), Seam(1880, 6), Seam(2800, 5)),
            Gores(HEAD, 6, 3000, 0, 9), Gores(TACK, 5, 3000, 1500, 8), Gores(CLEW, 4, 0, 1400, 7), centre=Centre.VERTICAL,
        ),
    ),
    "asymmetric radial head": (
        _shape(ASYMMETRIC, 5200, 4700, 2800, {"half_width": 2700, "three_quarter_width": 1750}, None),
        _make("radial-head", (Seam(-50, 5), Seam(1200, 7), Seam(2400, 7)), Gores(HEAD, 5, 1900, 0, 6)),
    ),
}  # fmt: skip


@dataclass(frozen=True)
class Spinnaker:
    """A spinnaker from its sizes to its parts."""

    finished: SailShape
    make: Make
    cut: Outline
    panels: tuple[Panel, ...]
    parts: tuple[Part, ...]

    def panel(self, mark: str) -> Panel:
        return next(p for p in self.panels if p.mark == mark)


def built(label: str, body: Cloth = NYLON, **changed: object) -> Spinnaker:
    """The spinnaker of that label, its making changed where asked."""
    finished, make = SAILS[label]
    return made(finished, replace(make, **changed), body)  # type: ignore[arg-type]  # fields of Make, by name


def made(finished: SailShape, make: Make, body: Cloth = NYLON) -> Spinnaker:
    cut = sail.outline(cloth.cut_shape(finished, make))
    panels = cloth.panels(cut, make, body)
    return Spinnaker(finished, make, cut, panels, cloth.parts(cut, panels, make, body, patch_caps={}))


def bare(label: str) -> Spinnaker:
    """The same sail with nothing drawn in, taken out or added: its panels are its outline."""
    finished, make = SAILS[label]
    edge = Edge(EdgeMethod.TAPED, 12, 0)
    return made(
        finished,
        replace(
            make, take_up=TakeUp(0, 0, 0, 0), luff=edge, leech=edge, foot=edge, seam_overlap_mm=0.0,
            seams=tuple(Seam(s.height_mm) for s in make.seams), gores=tuple(replace(g, broadseam_mm=0.0) for g in make.gores),
        ),
    )  # fmt: skip
