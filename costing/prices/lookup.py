"""The price of things on a day."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from costing.prices.lists import SupplierList, UnitCost


def unit_costs(
    lists: tuple[SupplierList, ...], quantities: Mapping[str, tuple[Decimal, str]], *, on: date, currency: str
) -> dict[str, UnitCost]:
    """The unit cost of each material on a day, at the break that its quantity reaches.

    quantities: material -> (amount, unit). Raises InputError with every material that has no price on the day, another unit or another currency.
    """
    raise NotImplementedError
