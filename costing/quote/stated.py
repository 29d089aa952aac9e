"""What a design rests on and nobody gave: each value in a sentence, with what it does to the area of the sail."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

from costing import sail
from costing.cloth.make import Make
from costing.errors import InputError
from costing.measurements import MEASUREMENTS, SPINNAKERS, WIDTH_STATIONS, SailKind
from costing.rules.plausible import in_words
from costing.rules.targets import Target
from costing.sail.shape import SailShape

#: What is said wherever a spinnaker's outline or area stands.
FLAT_CONVENTION = "Outline: a flat convention, as a spinnaker has none; its sizes hold as measured, its area is not that of its cloth"
_ONE_PERCENT = 1.01
_TENTH, _THOUSANDTH = Decimal("0.1"), Decimal("0.001")
_WIDTHS = tuple(name for name, _ in WIDTH_STATIONS)
_EDGES = ("luff_length", "leech_length")  # a symmetric spinnaker's, which are one size


def sizes(targets: Iterable[Target], shape: SailShape, area: Decimal) -> Iterator[str]:
    """One sentence for each size that neither a rule nor the customer gave; area: of the sail as designed, m2."""
    for target in targets:
        if target.decided_by in ("pattern", "assumed"):
            of_pattern = target.decided_by == "pattern"
            value = "" if of_pattern else f" assumed {in_words(target.value.quantize(_TENTH, ROUND_HALF_UP))},"
            yield f"{MEASUREMENTS[target.measurement].label}:{value} {target.reason}{_effect(target, shape, area)}"


def making(make: Make, shape: SailShape, *, own_curve: bool) -> Iterator[str]:
    """The same of the luff curve, the take-up and the patches; of a spinnaker what its flat outline is."""
    if shape.kind in SPINNAKERS:
        yield FLAT_CONVENTION
    elif not own_curve:
        at, forward = max(shape.luff_curve.stations, key=lambda s: abs(s[1]), default=(0.0, 0.0))
        how = f"{abs(forward):g} mm {'hollow' if forward < 0 else 'forward'} at {at:g} of the luff" if forward else "straight"
        yield f"Luff curve: the pattern's, {how}"
    up = make.take_up
    yield (
        f"Take-up: {up.per_seam_mm:g} mm a seam, {up.luff_fraction * 100:g} % of the luff, {up.leech_fraction * 100:g} % of the leech, "
        f"{up.foot_fraction * 100:g} % of the foot"
    )
    if any(p.layers is None for p in make.patches):
        yield "Patch layers by the sail's area (common practice, no source)"


def _effect(target: Target, shape: SailShape, area: Decimal) -> str:
    """How much area 1 % more of the size would add; said too where no fair sail has it so."""
    if not target.value:
        return ""
    try:
        before = area if target.measurement not in _WIDTHS or target.measurement in dict(shape.widths) else _area(shape, target, 1.0)
        more = (_area(shape, target, _ONE_PERCENT) - before).quantize(_THOUSANDTH)
    except InputError:
        return " (no fair sail has it 1 % larger)"
    if not more:
        return " (1 % more would change the area by less than 0.001 m2)"
    return f" (1 % more would {'add' if more >= 0 else 'take away'} {abs(more)} m2 of area)"


def _area(shape: SailShape, target: Target, times: float) -> Decimal:
    """The area with one of the sizes so many times as large."""
    name = target.measurement
    if name in _WIDTHS:
        widths = dict(shape.widths) | {name: float(target.value) * times}
        changed = replace(shape, widths=tuple((n, widths[n]) for n in _WIDTHS if n in widths))
    else:
        both = shape.kind is SailKind.SYMMETRIC_SPINNAKER and name in _EDGES
        changed = replace(shape, **{n: getattr(shape, n) * times for n in (_EDGES if both else (name,))})
    return sail.polygon_area(sail.outline(changed))
