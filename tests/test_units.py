"""Exact factors of units."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest

from costing import units


@pytest.mark.parametrize(("ounces", "printed"), [(7, 300), (6, 257)])
def test_sailmakers_ounce_gives_the_weights_that_a_class_prints(ounces: int, printed: int) -> None:
    """J/105 class rules, February 2000, sail declaration form: 7 oz = 300 g/m2, 6 oz = 257 g/m2."""
    weight = ounces * units.SAILMAKERS_OUNCE_GSM
    assert weight.quantize(Decimal(1), rounding=ROUND_HALF_UP) == printed


def test_sailmakers_ounce_to_three_places() -> None:
    """28.349523125 g on 28.5 in x 36 in = 0.7239 m x 0.9144 m = 0.66193416 m2, worked with a pencil: 42.828 g/m2."""
    assert units.SAILMAKERS_OUNCE_GSM.quantize(Decimal("0.001")) == Decimal("42.828")


def test_ounce_a_square_yard() -> None:
    """One avoirdupois ounce on 0.9144 m x 0.9144 m = 0.83612736 m2: 33.906 g/m2 (conversion tables, e.g. NIST SP 811: 33.90575)."""
    assert units.OUNCE_PER_SQUARE_YARD_GSM.quantize(Decimal("0.00001")) == Decimal("33.90575")


def test_lengths_are_exact() -> None:
    """International yard and pound agreement, 1959."""
    inch, foot, yard = units.INCH_MM, units.FOOT_MM, units.YARD_MM
    assert (str(inch), str(foot), str(yard)) == ("25.4", "304.8", "914.4")
    assert str(16 * foot) == "4876.8"  # a limit that class rules print


@pytest.mark.parametrize(
    ("label", "mm", "metres"),
    [("half up", 6734.5, "6.735"), ("a float that binary cannot hold", 1000.0005, "1.000"), ("exact decimal", Decimal("5345.5"), "5.346")],
)
def test_metres(label: str, mm: float | Decimal, metres: str) -> None:
    assert str(units.metres(mm)) == metres, label


def test_square_metres() -> None:
    assert str(units.square_metres(7_547_449.9999)) == "7.5474"
    assert str(units.square_metres(7_547_450.0)) == "7.5475"
