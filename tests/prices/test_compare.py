"""A supplier's new list beside the one before."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from costing.prices import Break, SupplierList, SupplierRow
from costing.prices.compare import Change, compare_lists


def row(material: str, *breaks: tuple[str, str], unit: str = "m") -> SupplierRow:
    return SupplierRow(1, material, material, unit, tuple(Break(Decimal(q), Decimal(c)) for q, c in breaks))


def listed(*rows: SupplierRow) -> SupplierList:
    return SupplierList("S", "1", date(2026, 1, 1), None, "GBP", rows)


# label, before, now, change, old, new, at, per cent, what strikes
CASES = [
    ("the same", row("A", ("0", "10")), row("A", ("0", "10")), Change.UNCHANGED, "10", "10", "0", "+0.0 %", ()),
    ("dearer", row("A", ("0", "10")), row("A", ("0", "11")), Change.CHANGED, "10", "11", "0", "+10.0 %", ()),
    ("25 % exactly", row("A", ("0", "10")), row("A", ("0", "12.50")), Change.CHANGED, "10", "12.50", "0", "+25.0 %", ()),
    ("a cent above", row("A", ("0", "10")), row("A", ("0", "12.51")), Change.CHANGED, "10", "12.51", "0", "+25.1 %",
     ("moves by more than 25%",)),
    ("ten times", row("A", ("0", "1.5")), row("A", ("0", "15")), Change.CHANGED, "1.5", "15", "0", "+900.0 %", ("exactly ten times",)),
    ("a tenth", row("A", ("0", "15")), row("A", ("0", "1.5")), Change.CHANGED, "15", "1.5", "0", "-90.0 %", ("exactly a tenth",)),
    ("zero", row("A", ("0", "15")), row("A", ("0", "0")), Change.CHANGED, "15", "0", "0", "-100.0 %", ("a price of zero",)),
    ("only a break moves", row("A", ("0", "10"), ("50", "8")), row("A", ("0", "10"), ("50", "9")), Change.CHANGED, "8", "9", "50",
     "+12.5 %", ()),
    ("more costs more", row("A", ("0", "10"), ("50", "8")), row("A", ("0", "8"), ("50", "10")), Change.CHANGED, "8", "10", "50", "+25.0 %",
     ("costs 10 from 50 on and 8 from 0",)),
    ("a break is gone", row("A", ("0", "10"), ("50", "8")), row("A", ("0", "10")), Change.CHANGED, "8", "10", "50", "+25.0 %", ()),
]  # fmt: skip


@pytest.mark.parametrize(
    ("before", "now", "change", "old", "new", "at", "percent", "strikes"), [c[1:] for c in CASES], ids=[c[0] for c in CASES]
)
def test_a_row_beside_the_one_before(
    before: SupplierRow, now: SupplierRow, change: Change, old: str, new: str, at: str, percent: str, strikes: tuple[str, ...]
) -> None:
    (found,) = compare_lists(listed(before), listed(now))
    assert (found.change, found.old, found.new, found.at) == (change, Decimal(old), Decimal(new), Decimal(at))
    assert (found.percent, found.suspicious) == (percent, strikes)


def test_another_unit_strikes_whatever_the_price() -> None:
    (found,) = compare_lists(listed(row("A", ("0", "10"))), listed(row("A", ("0", "10"), unit="yd")))
    assert (found.change, found.suspicious) == (Change.CHANGED, ("the unit was m and is yd",))


def test_another_currency_strikes_on_every_row() -> None:
    now = replace(listed(row("A", ("0", "10")), row("B", ("0", "3"))), currency="EUR")
    found = compare_lists(listed(row("A", ("0", "10"))), now)
    assert [c.suspicious for c in found] == [("the currency was GBP and is EUR",)] * 2


def test_new_and_vanished_materials_are_told_apart() -> None:
    found = compare_lists(listed(row("OLD", ("0", "3"))), listed(row("NEW", ("0", "4"))))
    assert [(c.material, c.change, c.old, c.new) for c in found] == [
        ("NEW", Change.NEW, None, Decimal(4)), ("OLD", Change.VANISHED, Decimal(3), None),
    ]  # fmt: skip
    assert [c.change for c in compare_lists(None, listed(row("NEW", ("0", "4"))))] == [Change.NEW]
