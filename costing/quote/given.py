"""What the customer gave for a sail: each value, where it was read or how it was measured, and what it decides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from costing.measurements import MEASUREMENTS, SailKind
from costing.quote.priced import Design, PricedSail
from costing.quote.request import SailRequest
from costing.rules.misread import BANDS
from costing.rules.plausible import in_words, label
from costing.rules.targets import Target

_STORM = frozenset({SailKind.TRYSAIL, SailKind.STORM_JIB})


def told(sails: Sequence[PricedSail], requests: Sequence[SailRequest], designs: Sequence[Design]) -> tuple[PricedSail, ...]:
    """The sails, each with what was given for it."""
    rows = zip(sails, requests, designs, strict=True)
    return tuple(replace(one, given=found) if (found := tuple(_given(request, design))) else one for one, request, design in rows)


def _given(request: SailRequest, design: Design) -> Iterator[str]:
    targets = {t.measurement: t for t in design.targets}
    by_effect: dict[str, list[str]] = {}
    for name, value in request.sizes.items():
        how = f", {request.measured[name]}" if name in request.measured else ""
        known = MEASUREMENTS.get(name)
        called = name if known is None else label(name)
        by_effect.setdefault(_decides(name, value, targets, design.outline.kind), []).append(f"{called} {in_words(value)}{how}")
    yield from (f"{', '.join(sizes)}: {effect}" for effect, sizes in by_effect.items())
    if request.luff_curve is not None:
        stations = ", ".join(f"{mm:g} mm at {at:g}" for at, mm in request.luff_curve.stations if mm)
        yield f"luff curve {stations or 'straight'} of the luff: the sail's own"


def _decides(name: str, value: Decimal, targets: dict[str, Target], kind: SailKind) -> str:
    made = targets.get(BANDS.get(name, name))
    if made is not None and made.decided_by == "spar" and name in BANDS:
        return f"it decides the {label(made.measurement)}, {in_words(made.value)}: {made.reason}"
    if made is None or (name in BANDS and kind in _STORM):  # what a storm sail's area is limited by; its edges stay far below the bands
        return "for the limits on this boat's rig" if name in MEASUREMENTS and MEASUREMENTS[name].of_rig else "compared with its limit"
    if made.measurement == name:
        return "the sail is made so" if made.value == value else f"it is made {in_words(made.value)} by the {made.reason}"
    return f"the {label(made.measurement)} is {in_words(made.value)} by the {made.reason.removeprefix('the ')}"
