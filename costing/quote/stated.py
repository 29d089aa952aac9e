"""What a design rests on and nobody gave: each value in a sentence, with what it does to the area of the sail."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal

from costing import sail
from costing.cloth.make import Make
from costing.errors import InputError
from costing.measurements import MEASUREMENTS, SPINNAKERS, WIDTH_STATIONS
from costing.rules.targets import Target
from costing.sail.shape import SailShape

#: What is said wherever a spinnaker's outline or area stands.
FLAT_CONVENTION = "Outline: a flat convention, as a spinnaker has none; its sizes hold as measured, its area is not that of its cloth"
_ONE_PERCENT = 1.01
_THOUSANDTH = Decimal("0.001")


def sizes(targets: Iterable[Target], shape: SailShape, area: Decimal) -> Iterator[str]:
    """One sentence for each size that neither a rule nor the customer gave; area: of the sail as designed, m2."""
    for target in targets:
        if target.decided_by in ("pattern", "assumed"):
            yield f"{MEASUREMENTS[target.measurement].label}: {target.reason}{_effect(target, shape, area)}"


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
        larger = sail.polygon_area(sail.outline(_with(shape, target.measurement)))
    except InputError:
        return " (no fair sail has it 1 % larger)"
    more = (larger - area).quantize(_THOUSANDTH)
    return f" (1 % more would {'add' if more >= 0 else 'take away'} {abs(more)} m2)"


def _with(shape: SailShape, name: str) -> SailShape:
    """The shape with one of its sizes 1 % larger."""
    if name in dict(WIDTH_STATIONS):
        return replace(shape, widths=tuple((n, mm * _ONE_PERCENT if n == name else mm) for n, mm in shape.widths))
    return replace(shape, **{name: getattr(shape, name) * _ONE_PERCENT})
