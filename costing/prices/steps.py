"""What a material costs on a day at every quantity: the breaks of all suppliers folded into one staircase."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_CEILING, Decimal

from costing.errors import InputError
from costing.prices.lists import SupplierList
from costing.prices.lookup import supplier_unit, unit_costs
from costing.prices.rates import DayRates

_THREE_PLACES = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Step:
    """From this quantity on (in the unit that we count in, to three places), this unit cost."""

    from_quantity: Decimal
    unit_cost: Decimal


def cost_steps(
    lists: tuple[SupplierList, ...], materials: Collection[str], *, on: date, currency: str, rates: tuple[DayRates, ...] = ()
) -> Mapping[str, tuple[Step, ...]]:
    """The steps of each material, rising in quantity; a material that no list prices on the day is left out.

    At every quantity of three places it agrees with `unit_costs`. Below the first step the material cannot be bought.
    """
    wanted = frozenset(materials)
    narrow = tuple(replace(listed, rows=tuple(r for r in listed.rows if r.material in wanted)) for listed in lists)
    found = {material: tuple(_steps(narrow, material, on, currency, rates)) for material in sorted(wanted)}
    return {material: steps for material, steps in found.items() if steps}


def _steps(lists: tuple[SupplierList, ...], material: str, on: date, currency: str, rates: tuple[DayRates, ...]) -> Iterator[Step]:
    rows = [row for listed in lists for row in listed.rows if row.material == material]
    starts = {
        (b.from_quantity * each).quantize(_THREE_PLACES, rounding=ROUND_CEILING): ours
        for row in rows
        for ours, each in (supplier_unit(row.unit),)
        for b in row.breaks
    }
    for start in sorted(starts):
        try:
            yield Step(start, unit_costs(lists, {material: (start, starts[start])}, on=on, currency=currency, rates=rates)[material].amount)
        except InputError:
            continue  # not sold by this quantity, on this day or in this currency: the next step may be
