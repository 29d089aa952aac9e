"""Supplier lists: what things cost us on a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Break:
    """From this quantity on (in the row's unit), this unit cost."""

    from_quantity: Decimal
    unit_cost: Decimal


@dataclass(frozen=True, slots=True)
class SupplierRow:
    """One material on a supplier's list; breaks rise in quantity and the first starts at 0."""

    row: int
    material: str
    their_code: str
    unit: str  # "m", "piece", "roll" ...
    breaks: tuple[Break, ...]


@dataclass(frozen=True, slots=True)
class SupplierList:
    """A version of a supplier's price list; both dates inclusive."""

    supplier: str
    version: str
    valid_from: date
    valid_to: date | None
    currency: str
    rows: tuple[SupplierRow, ...]


@dataclass(frozen=True, slots=True)
class UnitCost:
    """What a unit of a material costs us on a day, and where that stands: list, version, row and break."""

    material: str
    unit: str
    amount: Decimal
    source: str
