"""Money: the only place that rounds it.

Amounts are Decimal in one currency; `Currency.digits` is the number of minor-unit digits (ISO 4217).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal

from costing.errors import problem


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency: its ISO 4217 letters and how many digits its minor unit has."""

    code: str
    digits: int = 2

    @property
    def quantum(self) -> Decimal:
        return Decimal(1).scaleb(-self.digits)


# ISO 4217 minor units: the currencies whose digits differ from two that a loft may meet, and the usual ones.
_DIGITS = {"EUR": 2, "GBP": 2, "USD": 2, "CHF": 2, "SEK": 2, "NOK": 2, "DKK": 2, "PLN": 2, "AUD": 2, "NZD": 2,
           "CAD": 2, "JPY": 0, "KRW": 0, "ISK": 0, "BHD": 3, "KWD": 3, "TND": 3}  # fmt: skip


def currency(code: str) -> Currency:
    """The currency with these ISO 4217 letters; InputError names an unknown one."""
    if code not in _DIGITS:
        raise problem("currency", "unknown_currency", f"{code!r} is not one of {', '.join(sorted(_DIGITS))}")
    return Currency(code, _DIGITS[code])


def to_cents(amount: Decimal, cur: Currency) -> Decimal:
    """Round to the currency's minor unit, half up."""
    return amount.quantize(cur.quantum, rounding=ROUND_HALF_UP)


def unit_cost_4(amount: Decimal) -> Decimal:
    """A unit cost rounded half up to the four places in which it is stored."""
    return amount.quantize(Decimal("0.0001"), rounding=ROUND_HALF_UP)


def quantity_3(amount: Decimal) -> Decimal:
    """A quantity rounded half up to the three places in which it is stored."""
    return amount.quantize(Decimal("0.001"), rounding=ROUND_HALF_UP)


def minor_units(amount: Decimal, cur: Currency) -> int:
    """An amount that is already rounded, as an integer of minor units; ValueError if it is not rounded."""
    scaled = amount.scaleb(cur.digits)
    if scaled != scaled.to_integral_value():
        raise ValueError(f"{amount} has more than {cur.digits} decimals")
    return int(scaled)


def share(total: Decimal, weights: Sequence[Decimal], cur: Currency) -> tuple[Decimal, ...]:
    """Split a rounded `total` in proportion to `weights` so that the shares add up exactly (largest remainder, the first of equals)."""
    minor_units(total, cur)  # an unrounded total cannot be split into whole cents
    return shares(total, weights, cur.quantum)


def shares(total: Decimal, weights: Sequence[Decimal], quantum: Decimal) -> tuple[Decimal, ...]:
    """Split `total`, a multiple of `quantum`, in proportion to `weights` into multiples that add up exactly (largest remainder)."""
    if not weights or sum(weights) <= 0 or min(weights) < 0:
        raise ValueError("weights must be non-negative and add up to more than zero")
    whole = sum(weights)
    exact = [total * w / whole for w in weights]
    floors = [e.quantize(quantum, rounding=ROUND_DOWN) for e in exact]
    missing = int((total - sum(floors)) / quantum)
    step = quantum if missing >= 0 else -quantum
    by_remainder = sorted(range(len(exact)), key=lambda i: (-abs(exact[i] - floors[i]), i))
    shares = list(floors)
    for i in by_remainder[: abs(missing)]:
        shares[i] += step
    return tuple(shares)
