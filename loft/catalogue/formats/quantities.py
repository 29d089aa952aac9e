"""Sizes as text with their unit: what a rule or a pattern prints, as exact numbers."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from loft.common import measures

_AREA = re.compile(r"([0-9]{1,6}(?:\.[0-9]{1,6})?)\s*(?:m2|m²)")


def shown(value: Any) -> str:
    """A value of the file as the file writes it, for a message."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return repr(value)
    if isinstance(value, dict):
        return "{ ... }"
    return f"[{', '.join(map(shown, value))}]" if isinstance(value, list) else str(value)


def length_mm(value: Any) -> Decimal:
    """A length with its unit as exact mm: "5230 mm", "5.23 m", or feet and inches; ValueError says what is taken."""
    if not isinstance(value, str):
        raise ValueError(f'{shown(value)} should be text with its unit, for example "{value} mm"')
    return measures.parse_length(value).mm


def area_m2(value: Any) -> Decimal:
    """An area with its unit as exact m2: "0.35 m2"."""
    found = _AREA.fullmatch(value.strip()) if isinstance(value, str) else None
    if found is None:
        comma = "; a decimal point, not a comma" if isinstance(value, str) and "," in value else ""
        raise ValueError(f'{shown(value)} should be an area such as "0.35 m2"{comma}')
    return Decimal(found.group(1))


def weight_gsm(value: Any) -> Decimal:
    """A cloth weight as g/m2: "160 g/m2" or "7 oz" (sailmaker's ounce); not rounded."""
    if not isinstance(value, str):
        raise ValueError(f'{shown(value)} should be text with its unit, for example "{value} g/m2"')
    return measures.parse_cloth_weight(value).gsm


def count(value: Any) -> Decimal:
    """A whole number."""
    if not isinstance(value, int) or isinstance(value, bool) or value < 0:
        raise ValueError(f"{shown(value)} should be a whole number without quotes")
    return Decimal(value)


def ratio(value: Any) -> Decimal:
    """A plain number that is not negative, such as 0.65."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal) or not Decimal(value).is_finite() or value < 0:
        raise ValueError(f"{shown(value)} should be a number without quotes, such as 0.65")
    return Decimal(value)


#: How a value is read, by the unit of its measurement.
READERS: dict[str, Callable[[Any], Decimal]] = {"mm": length_mm, "m2": area_m2, "g/m2": weight_gsm, "count": count, "ratio": ratio}
