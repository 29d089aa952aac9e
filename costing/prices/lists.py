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
    """One material on a supplier's list; breaks rise in quantity and the first starts at 0.

    minimum, pack: the least that is sold and the steps above it, in the row's unit, 0 for any; expected: when it is back, where it is on
    back order; special: it is got in for one job, so that the rest of what must be bought is of no other use.
    """

    row: int
    material: str
    their_code: str
    unit: str  # "m", "piece", "roll" ...
    breaks: tuple[Break, ...]
    minimum: Decimal = Decimal(0)
    pack: Decimal = Decimal(0)
    expected: date | None = None
    special: bool = False


@dataclass(frozen=True, slots=True)
class SupplierList:
    """A version of a supplier's price list; both dates inclusive.

    carriage: a fraction of the price in our currency; duty: a fraction of the price with its carriage.
    """

    supplier: str
    version: str
    valid_from: date
    valid_to: date | None
    currency: str
    rows: tuple[SupplierRow, ...]
    carriage: Decimal = Decimal(0)
    duty: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Gone:
    """A material, or one colour of it, that a supplier's list of that day no longer has; colour empty: all of it."""

    material: str
    colour: str
    supplier: str
    version: str
    on: date

    @property
    def words(self) -> str:
        """What happened, for whoever asks for it: "DW170 in red is discontinued: not on ... since 9 Mar 2026"."""
        what = f"{self.material} in {self.colour}" if self.colour else self.material
        return f"{what} is discontinued: not on {self.supplier} {self.version}, in force since {self.on.day} {self.on:%b %Y}"


@dataclass(frozen=True, slots=True)
class UnitCost:
    """What a unit of a material costs us on a day, and where that stands: list, version, row and break."""

    material: str
    unit: str
    amount: Decimal
    source: str
