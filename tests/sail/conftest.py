"""The sails that several of these tests use."""

from collections.abc import Callable

import pytest

from costing.measurements import SailKind
from costing.sail import LuffCurve, SailShape

ShapeOf = Callable[..., SailShape]


@pytest.fixture
def shape_of() -> ShapeOf:
    """A mainsail of the invented Skerling 13; sizes given by name replace its own, None leaves a width out."""

    def make(kind: SailKind = SailKind.MAINSAIL, luff_curve: tuple[tuple[float, float], ...] = _BEND, **sizes: float | None) -> SailShape:
        all_sizes = _SKERLING | sizes
        widths = tuple((n, float(w)) for n, w in all_sizes.items() if n in _WIDTHS and w is not None)
        edges = {n: float(w or 0) for n, w in all_sizes.items() if n not in _WIDTHS}
        return SailShape(kind=kind, widths=widths, luff_curve=LuffCurve(luff_curve), **edges)

    return make


@pytest.fixture
def penguin_shape(shape_of: ShapeOf) -> SailShape:
    """The Penguin's published maxima; top width and luff curve, which its rules leave open, are ours.

    Source: penguinclass.com/sailspec.htm, rules 23.4 (lengths, girths) and 23.5 (folding); read there.
    """
    return shape_of(
        luff_length=4876.8,
        leech_length=5029.2,
        foot_length=2641.6,
        foot_round=152.4,
        quarter_width=2197.1,
        half_width=1625.6,
        three_quarter_width=914.4,
        upper_width=None,
        top_width=100,
    )


_BEND = ((0.25, 30.0), (0.5, 45.0), (0.75, 35.0))
_WIDTHS = ("quarter_width", "half_width", "three_quarter_width", "upper_width")
_SKERLING: dict[str, float | None] = {
    "luff_length": 5210,
    "leech_length": 5560,
    "foot_length": 2440,
    "foot_round": 50,
    "quarter_width": 1985,
    "half_width": 1455,
    "three_quarter_width": 855,
    "upper_width": 495,
    "top_width": 130,
}
