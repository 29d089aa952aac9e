"""Units: the exact factors that the calculation uses, and the types that name a unit.

Sources: the inch is 25.4 mm exactly (international yard and pound agreement, 1959); the avoirdupois ounce is
28.349523125 g exactly (the same agreement). The sailmaker's ounce is one ounce on a piece of 28.5 x 36 inches (trade usage; a published
class rule prints 7 oz = 300 g/m2 and 6 oz = 257 g/m2, which agrees).
"""

from __future__ import annotations

from decimal import Decimal
from typing import NewType

Millimetres = NewType("Millimetres", Decimal)
SquareMetres = NewType("SquareMetres", Decimal)
Minutes = NewType("Minutes", Decimal)

INCH_MM = Decimal("25.4")
FOOT_MM = 12 * INCH_MM
YARD_MM = 36 * INCH_MM
OUNCE_G = Decimal("28.349523125")

_MM2_PER_M2 = Decimal(1_000_000)
SAILMAKERS_OUNCE_GSM = OUNCE_G / (Decimal("28.5") * INCH_MM * 36 * INCH_MM / _MM2_PER_M2)
OUNCE_PER_SQUARE_YARD_GSM = OUNCE_G / (YARD_MM * YARD_MM / _MM2_PER_M2)


def metres(mm: Decimal | float | int, places: int = 3) -> Decimal:
    """Millimetres as metres, rounded half up to `places`; floats enter exact arithmetic here."""
    quantum = Decimal(1).scaleb(-places)
    return (Decimal(str(mm)) / 1000).quantize(quantum, rounding="ROUND_HALF_UP")


def square_metres(mm2: float, places: int = 4) -> Decimal:
    """Square millimetres (a geometry float) as Decimal square metres, rounded half up to `places`."""
    quantum = Decimal(1).scaleb(-places)
    return (Decimal(repr(float(mm2))) / _MM2_PER_M2).quantize(quantum, rounding="ROUND_HALF_UP")
