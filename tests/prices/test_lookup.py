"""Which list, which row, which break."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.prices import Break, SupplierList, SupplierRow, UnitCost, unit_costs


def _row(material: str, *breaks: tuple[str, str], unit: str = "m", row: int = 1) -> SupplierRow:
    return SupplierRow(row, material, f"their-{material}", unit, tuple(Break(Decimal(q), Decimal(c)) for q, c in breaks))


def _list(*rows: SupplierRow, supplier: str = "Tarnside", version: str = "2026", start: str = "2026-01-05", end: str | None = None,
          currency: str = "GBP") -> SupplierList:  # fmt: skip
    return SupplierList(supplier, version, date.fromisoformat(start), date.fromisoformat(end) if end else None, currency, rows)


def _cost(lists: tuple[SupplierList, ...], amount: str = "1", unit: str = "m", on: str = "2026-03-02", material: str = "DW170") -> UnitCost:
    return unit_costs(lists, {material: (Decimal(amount), unit)}, on=date.fromisoformat(on), currency="GBP")[material]


BREAKS = _list(_row("DW170", ("0", "14.85"), ("50", "13.70"), ("100", "12.60"), row=12))


@pytest.mark.parametrize(
    ("label", "amount", "cost", "words"),
    [
        ("below the first step", "49.999", "14.85", "from 0 m"),
        ("exactly on a step", "50", "13.70", "from 50 m"),
        ("between steps", "99.999", "13.70", "from 50 m"),
        ("above the last", "1000", "12.60", "from 100 m"),
    ],
)
def test_break_is_the_one_that_the_quantity_reaches(label: str, amount: str, cost: str, words: str) -> None:
    found = _cost((BREAKS,), amount)
    assert found == UnitCost("DW170", "m", Decimal(cost), f"Tarnside 2026, row 12 (their-DW170), {words}"), label


@pytest.mark.parametrize(("label", "on"), [("first day", "2026-01-05"), ("last day", "2026-05-11")])
def test_both_days_of_a_list_are_inclusive(label: str, on: str) -> None:
    assert _cost((_list(_row("DW170", ("0", "9")), end="2026-05-11"),), on=on).amount == 9, label


@pytest.mark.parametrize(
    ("label", "on", "told"),
    [
        ("a day late", "2026-05-12", "no price for DW170 on 12 May 2026; the nearest list is Tarnside 2026, 5 Jan 2026 to 11 May 2026"),
        ("a day early", "2026-01-04", "no price for DW170 on 4 Jan 2026; the nearest list is Tarnside 2026, 5 Jan 2026 to 11 May 2026"),
    ],
)
def test_no_list_on_the_day_names_the_nearest(label: str, on: str, told: str) -> None:
    with pytest.raises(InputError) as refused:
        _cost((_list(_row("DW170", ("0", "9")), end="2026-05-11"),), on=on)
    assert [(p.path, p.code, p.message) for p in refused.value.problems] == [("prices.DW170", "no_price", told)], label


def test_the_nearest_list_is_the_nearest_in_days_before_or_after() -> None:
    old = _list(_row("DW170", ("0", "9")), version="old", start="2025-01-01", end="2025-12-31")
    new = _list(_row("DW170", ("0", "10")), version="new", start="2026-02-01")
    with pytest.raises(InputError, match="the nearest list is Tarnside new, 1 Feb 2026 without end"):
        _cost((old, new), on="2026-01-20")
    with pytest.raises(InputError, match="the nearest list is Tarnside old"):
        _cost((old, new), on="2026-01-10")


def test_a_newer_list_of_one_supplier_replaces_the_older_even_if_dearer() -> None:
    old, new = _list(_row("DW170", ("0", "9"))), _list(_row("DW170", ("0", "11")), version="2026-2", start="2026-02-01")
    assert _cost((new, old)).amount == 11
    assert _cost((new, old), on="2026-01-31").amount == 9


def test_between_suppliers_the_cheaper_at_the_quantity() -> None:
    other = _list(_row("DW170", ("0", "14.00")), supplier="Fellside")
    assert _cost((BREAKS, other), "10").source.startswith("Fellside")
    assert _cost((BREAKS, other), "60").source.startswith("Tarnside")


@pytest.mark.parametrize(
    ("label", "theirs", "ours", "amount", "cost", "words"),
    [
        # a yard is 0.9144 m: 13.50 / 0.9144 = 14.7637...
        ("yards", "yd", "m", "10", "14.7638", "13.5 a yd of 0.9144 m"),
        ("hundreds", "100 pieces", "piece", "10", "0.1350", "13.5 a 100 pieces of 100 piece"),
        ("pairs", "pair", "piece", "10", "6.7500", "13.5 a pair of 2 piece"),
    ],
)
def test_exact_conversion_of_units(label: str, theirs: str, ours: str, amount: str, cost: str, words: str) -> None:
    found = _cost((_list(_row("DW170", ("0", "13.50"), unit=theirs)),), amount, ours)
    assert (str(found.amount), found.unit) == (cost, ours), label
    assert words in found.source


def test_breaks_are_reached_in_the_suppliers_own_unit() -> None:
    by_yard = _list(_row("DW170", ("0", "13.50"), ("50", "12"), unit="yd"))
    assert _cost((by_yard,), "45.719").source.endswith("13.5 a yd of 0.9144 m")  # 49.999 yd
    assert str(_cost((by_yard,), "45.72").amount) == "13.1234"  # 50 yd exactly; 12 / 0.9144 = 13.12335...


def test_everything_wrong_is_named_at_once() -> None:
    lists = (_list(_row("A", ("0", "1")), _row("B", ("0", "1"), unit="piece"), _row("D", ("10", "1"), row=4)),
             _list(_row("C", ("0", "1")), currency="EUR"))  # fmt: skip
    wanted = {m: (Decimal(1), "m") for m in ("A", "B", "C", "D", "E")}
    with pytest.raises(InputError) as refused:
        unit_costs(lists, wanted, on=date(2026, 3, 2), currency="GBP")
    assert [(p.path, p.code) for p in refused.value.problems] == [
        ("prices.B", "unit"), ("prices.C", "currency"), ("prices.D", "no_break"), ("prices.E", "no_price"),
    ]  # fmt: skip
    messages = [p.message for p in refused.value.problems]
    assert messages[0] == "Tarnside 2026, row 1 sells B by the piece; it is needed in m"
    assert messages[1] == "Tarnside 2026 is in EUR, the quote is in GBP, and no exchange rate is loaded for 2 Mar 2026"
    assert messages[2] == "row 4 sells D only from 10 m; 1 is needed"
    assert messages[3] == "no price for E on 2 Mar 2026; no list names it"
