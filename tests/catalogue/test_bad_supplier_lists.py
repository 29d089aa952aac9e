"""Supplier lists that must not be taken: each refused whole, every problem at once, with its path; nothing is stored."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from costing.errors import InputError
from loft.catalogue import importing, services
from loft.catalogue.list_import import ListHead
from loft.catalogue.models import Discontinued, Material, SupplierList, SupplierPrice
from tests import desk, skerling
from tests.catalogue.test_list_import import workbook

TARNSIDE = skerling.text("tarnside_2026.toml")
HEAD = ListHead("Tarnside Sailcloth", "2026-B", date(2026, 4, 1), None, "GBP")
B = "{ from = 0, cost = 16.40 }, { from = 50, cost = 15.20 }, { from = 80, cost = 13.95 }"


@pytest.fixture
def loft(db: None) -> None:
    desk.load_catalogue()


def counts() -> tuple[int, ...]:
    return tuple(model._default_manager.count() for model in (SupplierList, SupplierPrice, Material, Discontinued))


@pytest.mark.parametrize(("label", "changes", "problems"), [
    ("days that another version claims", [("valid_from = 2026-01-05", "valid_from = 2026-01-05")], [("list.valid_from", "overlap")]),
    ("a version that reaches into the next", [("valid_from = 2026-01-05", "valid_from = 2025-12-01\nvalid_to = 2026-01-05")],
     [("list.valid_from", "overlap")]),
    ("breaks that do not rise", [(B, "{ from = 0, cost = 16.40 }, { from = 80, cost = 15.20 }, { from = 80, cost = 13.95 }")],
     [("rows[0].breaks[2].from", "not_rising")]),
    ("a first break above 0", [("{ from = 0, cost = 16.40 }, ", "")], [("rows[0].breaks[0].from", "not_zero")]),
    ("no such currency", [('currency = "GBP"', 'currency = "GBX"')], [("list.currency", "unknown_currency")]),
    ("another unit than before", [('their_code = "TS 170 F"\nunit = "m"', 'their_code = "TS 170 F"\nunit = "piece"')],
     [("rows.DW170.unit", "other_unit")]),
    ("a negative price", [("cost = 16.40", "cost = -16.40")], [("rows[0].breaks[0].cost", "out_of_range")]),
    ("a day as text", [("valid_from = 2026-01-05", 'valid_from = "5 Jan 2026"')], [("list.valid_from", "wrong_value")]),
    ("half a cent of a cent", [("cost = 16.40", "cost = 16.40005")], [("rows[0].breaks[0].cost", "too_fine")]),
    ("a pack of nothing", [('unit = "m"\nbreaks', 'unit = "m"\npack = 0\nbreaks')], [("rows[0].pack", "zero")]),
    ("a row number twice, a code of theirs twice", [("row = 9", "row = 12"), ("TS 175 W", "TS 150 F")],
     [("rows[1].row", "twice"), ("rows[2].their_code", "twice")]),
    ("carriage of more than the price", [('currency = "GBP"', 'currency = "GBP"\ncarriage = 1.5')], [("list.carriage", "out_of_range")]),
    ("all of it at once", [("cost = 16.40", "cost = -1"), ('currency = "GBP"', 'currency = "GBX"'), ("{ from = 0, cost = 14.10 }, ", "")],
     [("rows[0].breaks[0].cost", "out_of_range"), ("rows[1].breaks[0].from", "not_zero"), ("list.currency", "unknown_currency")]),
])  # fmt: skip
def test_a_file(loft: None, label: str, changes: list[tuple[str, str]], problems: list[tuple[str, str]]) -> None:
    text, before = TARNSIDE.replace('version = "2026"', 'version = "2026b"'), counts()
    if not any("valid_from" in old for old, _ in changes):
        text = text.replace("2026-01-05", "2026-04-01")
    for old, new in changes:
        assert old in text, label
        text = text.replace(old, new, 1)
    with pytest.raises(InputError) as caught:
        services.load_prices(text=text)
    assert [(p.path, p.code) for p in caught.value.problems] == problems, label
    assert counts() == before


@pytest.mark.parametrize(("label", "cells", "problems"), [
    ("a formula", ["TS 170 F", "m", "=16.40*1.05", ""], [("row 2", "formula")]),
    ("a day as text", ["TS 170 F", "m", 16.40, "1 May"], [("row 2.expected", "not_a_day")]),
    ("a negative price", ["TS 170 F", "m", -16.40, ""], [("row 2.cost", "not_a_number")]),
    ("a pack in words", ["TS 170 F", "m", "a dozen", "soon"], [("row 2.cost", "not_a_number"), ("row 2.expected", "not_a_day")]),
])  # fmt: skip
def test_a_row_of_a_workbook(loft: None, label: str, cells: list[object], problems: list[tuple[str, str]]) -> None:
    before = counts()
    with pytest.raises(InputError) as caught:
        importing.check_table(data=workbook([["Code", "Unit", "Price", "Expected"], cells]), head=HEAD, columns={}, by=None)
    assert [(p.path, p.code) for p in caught.value.problems] == problems, label
    assert counts() == before


def test_a_day_in_a_cell_of_its_own_kind_is_read(loft: None) -> None:
    rows: list[list[object]] = [["Code", "Unit", "Price", "Expected", "Minimum", "Pack", "Colours"]]
    rows.append(["TS 170 F", "m", 16.40, datetime(2026, 5, 1), 20, 10, "white; red"])  # noqa: DTZ001  a cell's day has no zone
    checked = importing.check_table(data=workbook(rows), head=HEAD, columns={}, by=None)
    for line in ("expected = 2026-05-01", "minimum = 20", "pack = 10"):
        assert line in checked.text
    assert ("DW170", "light grey") in services.gone_since_the_list_before(services.formats.read_prices(checked.text))


def test_a_zero_price_is_looked_at_before_it_is_stored(loft: None) -> None:
    table, before = b"Code,Unit,Price\nTS 170 F,m,0\n", counts()
    checked = importing.check_table(data=table, head=HEAD, columns={}, by=None)
    assert "a price of zero" in checked.changes[0].suspicious
    with pytest.raises(InputError) as caught:
        importing.store_table(text=checked.text, columns={}, looked_at=False, by=None)
    assert [p.code for p in caught.value.problems] == ["suspicious"]
    assert counts() == before


def test_a_table_keeps_how_the_list_before_was_sold(loft: None) -> None:
    text = TARNSIDE.replace('version = "2026"', 'version = "2026a"').replace("2026-01-05", "2026-02-02")
    text = text.replace('currency = "GBP"', 'currency = "GBP"\ncarriage = 0.04\nduty = 0.065')
    services.load_prices(text=text.replace('their_code = "TS 170 F"', 'their_code = "TS 170 F"\nminimum = 20\nspecial = true'))
    checked = importing.check_table(data=b"Code,Unit,Price\nTS 170 F,m,17\n", head=HEAD, columns={}, by=None)
    for line in ("carriage = 0.04", "duty = 0.065", "minimum = 20", "special = true"):
        assert line in checked.text


def test_both_rows_of_one_number_are_named(loft: None) -> None:
    text = TARNSIDE.replace("2026-01-05", "2026-04-01").replace('version = "2026"', 'version = "2026b"').replace("row = 9", "row = 12")
    with pytest.raises(InputError) as caught:
        services.load_prices(text=text)
    assert [p.message for p in caught.value.problems] == ["DW150 has the row number 12 of DW170, in rows[0]: give each its own"]
