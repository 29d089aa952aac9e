"""Landed cost worked out by hand, line by line; what must be bought; the row that a material is bought by."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from costing.prices import Break, SupplierList, SupplierRow, unit_costs
from costing.prices.lookup import row_in_force, to_buy
from costing.prices.rates import DayRates

DAY = date(2026, 3, 2)


def row(unit: str = "m", *, minimum: str = "0", pack: str = "0", cost: str = "13.95") -> SupplierRow:
    breaks = (Break(Decimal(0), Decimal(cost)),)
    return SupplierRow(12, "DW170", "TS 170 F", unit, breaks, Decimal(minimum), Decimal(pack))


def listed(one: SupplierRow, *, currency: str = "GBP", carriage: str = "0", duty: str = "0") -> SupplierList:
    return SupplierList("Mill", "1", date(2026, 1, 1), None, currency, (one,), Decimal(carriage), Decimal(duty))


def test_a_roll_in_dollars_with_carriage_and_duty_is_worked_out_by_hand() -> None:
    """A roll of 54.5 yd at 820.00 USD; 1.0800 USD and 0.8640 GBP a EUR; carriage 4 %, duty 8 % on the price with it.

    54.5 yd x 0.9144 = 49.8348 m (1 yd = 0.9144 m exactly).
    820.00 USD x 0.8640 / 1.0800 = 656.00 GBP a roll.
    656.00 x 1.04 = 682.24; x 1.08 = 736.8192 a roll; / 49.8348 = 14.78523... a metre.
    """
    lists = (listed(row("roll of 54.5 yd", cost="820"), currency="USD", carriage="0.04", duty="0.08"),)
    rates = (DayRates(DAY, {"USD": Decimal("1.0800"), "GBP": Decimal("0.8640")}),)
    cost = unit_costs(lists, {"DW170": (Decimal("100"), "m")}, on=DAY, currency="GBP", rates=rates)["DW170"]
    assert cost.amount == Decimal("14.7852")
    assert cost.source == (
        "Mill 1, row 12 (TS 170 F), single price, 820 a roll of 54.5 yd of 49.8348 m, "
        "820 USD, 1 USD = 0.800000 GBP on 2 Mar 2026 (1.0800 USD and 0.8640 GBP a EUR), "
        "+ 4 % carriage = 682.24 GBP, + 8 % duty on that = 736.8192 GBP"
    )


def test_without_carriage_and_duty_nothing_is_said_of_them() -> None:
    cost = unit_costs((listed(row()),), {"DW170": (Decimal("7.5"), "m")}, on=DAY, currency="GBP")["DW170"]
    assert (cost.amount, cost.source) == (Decimal("13.9500"), "Mill 1, row 12 (TS 170 F), single price")


@pytest.mark.parametrize(("label", "one", "needed", "bought"), [
    ("any length is sold", row(), "7.48", "7.480"),
    ("the minimum is more than is needed", row(minimum="25"), "7.48", "25.000"),
    ("whole packs of five", row(pack="5"), "7.48", "10.000"),
    ("a minimum that is no whole number of packs", row(minimum="12", pack="5"), "7.48", "15.000"),
    ("more than the minimum", row(minimum="5", pack="5"), "10", "10.000"),
    # 1 yd = 0.9144 m: 7.48 m = 8.18 yd, so 10 yd, which are 9.144 m
    ("packs of ten yards", row("yd", pack="10"), "7.48", "9.144"),
    ("one whole roll", row("roll of 50 m", minimum="1", pack="1"), "7.48", "50.000"),
    ("two whole rolls", row("roll of 50 m", minimum="1", pack="1"), "50.001", "100.000"),
])  # fmt: skip
def test_what_must_be_bought(label: str, one: SupplierRow, needed: str, bought: str) -> None:
    assert to_buy(one, Decimal(needed)) == Decimal(bought), label


def test_the_row_that_a_material_is_bought_by_is_that_of_the_cheaper_list_in_force() -> None:
    dear, cheap = listed(row(cost="14.10")), listed(row(cost="13.10"))
    assert row_in_force((dear, cheap), "DW170", DAY) == (cheap, cheap.rows[0])
    assert row_in_force((dear, cheap), "DW170", date(2025, 12, 31)) is None
    assert row_in_force((dear, cheap), "DW150", DAY) is None
