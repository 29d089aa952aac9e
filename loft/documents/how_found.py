"""How the sizes and areas that nobody typed are found, in words that a reader can redo on the drawing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from costing import sail
from costing.measurements import MEASUREMENTS, SPINNAKERS, WIDTH_STATIONS, SailKind
from costing.quote import Design
from loft.documents import wording

TITLE = "How the computed and assumed sizes are found"
_WIDTHS = {name for name, _ in WIDTH_STATIONS}
_LEECH_POINTS = (
    "Leech points: fold the sail in thought, and where the leech crosses the crease is the point. The half one with head point on clew "
    "point, the quarter one with half point on clew point, the three-quarter one with head point on half point, the upper (7/8) one with "
    "head point on three-quarter point."
)
_TO_THE_LUFF = "Widths: the shortest distance from the leech point to the luff, with the luff's curve."
_FOLD_TO_FOLD = "Widths of a spinnaker: straight from the leech point to the luff point, which the same folds give with the tack point."
_FAIR = (
    "{Edge} through the widths that are given: the smooth line from {start} through their points whose bend changes least, as a batten's."
)
_INSIDE = "Area inside the edge: that of the polygon of the outline's points, with the round of its edges."
_ROUNDED = (
    "Rounding: a size to 0.1 mm, under a maximum downwards, over a minimum upwards; beside its limit towards the limit, so that limit less "
    "size is the headroom."
)


def sentences(designs: Iterable[Design]) -> Iterator[str]:
    """Every construction that these designs use, each once."""
    every = tuple(designs)
    kinds = tuple(dict.fromkeys(design.outline.kind for design in every))
    computed = {name for design in every for name, _ in design.sizes if name not in {t.measurement for t in design.targets}}
    yield from (f"{wording.label(name)}: {known.construction}." for name, known in MEASUREMENTS.items() if name in computed - _WIDTHS)
    yield _LEECH_POINTS
    if not SPINNAKERS.issuperset(kinds):
        yield _TO_THE_LUFF
    if not SPINNAKERS.isdisjoint(kinds):
        yield _FOLD_TO_FOLD
    yield from dict.fromkeys(_fair(design.outline.kind) for design in every if _left_to_the_edge(design))
    yield _INSIDE
    yield from (f"Area by the formula, {kind.value.replace('_', ' ')}: {wording.spelled(sail.formula_in_words(kind))}." for kind in kinds)
    yield _ROUNDED


def _left_to_the_edge(design: Design) -> bool:
    return any(t.decided_by == "assumed" and t.measurement in _WIDTHS for t in design.targets)


def _fair(kind: SailKind) -> str:
    if kind in SPINNAKERS:
        return _FAIR.format(Edge="Fair edges", start="the head point to clew or tack point")
    return _FAIR.format(Edge="Fair leech", start="the aft head point to the clew point")
