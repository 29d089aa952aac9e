"""Areas: the polygon's own, and those that rating rules compute from a few sizes."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import numpy as np

from costing.errors import Collector, problem
from costing.measurements import SailKind
from costing.rules import plausible
from costing.sail.shape import Outline
from costing.units import square_metres

#: Length of the sail, its factor, and the weight of each width in the ORC formula (as printed on a certificate).
_WEIGHTS: dict[SailKind, tuple[str, float, dict[str, float]]] = {
    SailKind.MAINSAIL: (
        "luff_length",
        1 / 8,
        {"foot_length": 1, "quarter_width": 2, "half_width": 2, "three_quarter_width": 1.5, "upper_width": 1, "top_width": 0.5},
    ),
    SailKind.HEADSAIL: (
        "luff_length",
        0.1125,
        {"luff_perpendicular": 1.445, "quarter_width": 2, "half_width": 2, "three_quarter_width": 1.5, "upper_width": 1, "top_width": 0.5},
    ),
}
_SPINNAKERS = (SailKind.SYMMETRIC_SPINNAKER, SailKind.ASYMMETRIC_SPINNAKER)


def polygon_area(sail: Outline) -> Decimal:
    """The area inside the outline, m2, 4 places."""
    x, y = np.array(sail.ring).T
    return square_metres(abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2)


def published_area(kind: SailKind, sizes: Mapping[str, float]) -> Decimal:
    """The ORC formula's area for a mainsail, headsail or spinnaker, m2, 4 places; sizes in mm by measurement name.

    A mainsail's P and E are its luff and foot, a spinnaker's two edges its luff and leech; InputError with every size that the
    formula needs and that is not given, and for a kind without a formula.
    """
    if kind in _SPINNAKERS:
        luff, leech, foot, half = _needed(kind, sizes, ("luff_length", "leech_length", "foot_length", "half_width"))
        return square_metres((luff + leech) / 2 * (foot + 4 * half) / 6)
    if kind not in _WEIGHTS:
        raise problem("sail_kind", "no_formula", f"there is no published area formula for a {kind.value.replace('_', ' ')} here")
    along, factor, weights = _WEIGHTS[kind]
    length, *widths = _needed(kind, sizes, (along, *weights))
    return square_metres(length * factor * sum(w * width for w, width in zip(weights.values(), widths, strict=True)))


def _needed(kind: SailKind, sizes: Mapping[str, float], names: tuple[str, ...]) -> list[float]:
    problems = Collector()
    for name in names:
        if name not in sizes:
            problems.add(name, "missing", f"the area of a {kind.value.replace('_', ' ')} needs the {plausible.label(name)}")
    problems.raise_if_any()
    return [float(sizes[name]) for name in names]
