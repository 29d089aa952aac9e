"""Suppliers' tables in CSV and XLSX: looked at, stored whole or not at all, and taken away again safe to open."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date

import pytest
from django.contrib.auth.models import User
from openpyxl import Workbook, load_workbook

from costing.errors import InputError
from loft.catalogue import formats, importing, list_import, selectors, sheets
from loft.catalogue.list_import import ListHead
from loft.catalogue.models import ColumnMapping, Material, SupplierList, SupplierPrice
from loft.common.errors import NotAllowed
from tests import desk

HEAD = ListHead("Tarnside Sailcloth", "2026-B", date(2026, 4, 1), None, "GBP")
TABLE = (
    "Code,Unit,From,Price\n"
    "TS 170 F,m,0,18.00\nTS 170 F,m,50,16.40\nTS 170 F,m,80,15.10\n"
    "TS 150 F,m,0,14.10\nTS 150 F,m,50,12.90\nTS CLEAR 5,m,0,78.00\nTS CLEAR 5,m,10,7.05\n"
)
COLUMNS = {"their_code": "Code", "from": "From", "cost": "Price"}


def workbook(rows: list[list[object]]) -> bytes:
    book = Workbook()
    for cells in rows:
        book.active.append(cells)  # type: ignore[union-attr]
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def problems(data: bytes, columns: dict[str, str] | None = None) -> list[tuple[str, str]]:
    with pytest.raises(InputError) as caught:
        importing.check_table(data=data, head=HEAD, columns=COLUMNS if columns is None else columns, by=None)
    return [(p.path, p.code) for p in caught.value.problems]


@pytest.fixture
def loft(db: None) -> None:
    desk.load_catalogue()


def test_a_look_says_what_moves_and_stores_nothing(loft: None) -> None:
    before = SupplierList.objects.count(), SupplierPrice.objects.count(), Material.objects.count()
    checked = importing.check_table(data=TABLE.encode(), head=HEAD, columns=COLUMNS, by=None)
    assert [(c.material, c.change.value, c.percent, c.suspicious) for c in checked.changes] == [
        ("DW170", "changed", "+9.8 %", ()),  # 16.40 to 18.00; at 50 and 80 m it moves by less
        ("DW150", "unchanged", "+0.0 %", ()),
        ("FILM-05", "changed", "+900.0 %", ("exactly ten times",)),
        ("WP175", "vanished", "", ()),
        ("NR41", "vanished", "", ()),
        ("ST280", "vanished", "", ()),
    ]  # fmt: skip
    assert (SupplierList.objects.count(), SupplierPrice.objects.count(), Material.objects.count()) == before
    assert not ColumnMapping.objects.exists()


def test_suspicious_rows_are_looked_at_before_the_list_is_stored(loft: None) -> None:
    checked = importing.check_table(data=TABLE.encode(), head=HEAD, columns=COLUMNS, by=None)
    with pytest.raises(InputError) as caught:
        importing.store_table(text=checked.text, columns=COLUMNS, looked_at=False, by=None)
    assert [p.code for p in caught.value.problems] == ["suspicious"]
    assert not SupplierList.objects.filter(version="2026-B").exists()
    assert importing.store_table(text=checked.text, columns=COLUMNS, looked_at=True, by=None).outcome == "new"
    stored = SupplierList.objects.get(version="2026-B")
    assert stored.prices.count() == 7
    assert importing.remembered_columns(HEAD.supplier) == COLUMNS
    # the cloths are described still, WP175 too: a design that names it can be read
    assert {c.code for c in formats.read_prices(stored.source).cloths} == {"DW170", "DW185", "DW150", "WP175", "NR41", "ST280", "FILM-05"}


def test_what_is_stored_is_priced_from_its_first_day(loft: None) -> None:
    checked = importing.check_table(data=TABLE.encode(), head=HEAD, columns=COLUMNS, by=None)
    importing.store_table(text=checked.text, columns=COLUMNS, looked_at=True, by=None)

    def cost(on: date) -> str:
        house = selectors.house(pattern=desk.PATTERN, on=on)
        (row,) = (r for listed in house.lists for r in listed.rows if r.material == "DW170")
        return str(row.breaks[0].unit_cost)

    assert (cost(date(2026, 3, 31)), cost(date(2026, 4, 1))) == ("16.40", "18.00")


def test_a_workbook_says_the_same_as_its_csv(loft: None) -> None:
    rows: list[list[object]] = [list(cells) for cells in csv.reader(io.StringIO(TABLE))]
    typed = [rows[0], *([code, unit, int(str(start)), float(str(price))] for code, unit, start, price in rows[1:])]
    from_book = importing.check_table(data=workbook(typed), head=HEAD, columns=COLUMNS, by=None)
    assert from_book.changes == importing.check_table(data=TABLE.encode(), head=HEAD, columns=COLUMNS, by=None).changes


def test_the_formats_own_list_comes_back_from_its_export_unchanged(loft: None) -> None:
    row = SupplierList.objects.get(supplier="Fellgate Loft Supplies")
    file = formats.read_prices(row.source)
    table = list(list_import.table(file))
    for data in (sheets.csv_bytes(table), sheets.xlsx_bytes(table)):
        head = ListHead(row.supplier, "again", date(2027, 1, 1), None, row.currency)
        checked = importing.check_table(data=data, head=head, columns={}, by=None)
        assert {c.change.value for c in checked.changes} == {"unchanged"}
        assert len(checked.changes) == len(file.prices.rows)


def test_an_export_starts_no_formula() -> None:
    nasty = [("=1+1", "+2", "-3", "@SUM(A1)", "plain")]
    (cells,) = csv.reader(io.StringIO(sheets.csv_bytes(nasty).decode()))
    assert cells == ["'=1+1", "'+2", "'-3", "'@SUM(A1)", "plain"]
    sheet = load_workbook(io.BytesIO(sheets.xlsx_bytes(nasty))).worksheets[0]
    assert [c.data_type for c in sheet[1]] == ["s"] * 5
    assert sheets.read_rows(sheets.csv_bytes(nasty)) == sheets.read_rows(sheets.xlsx_bytes(nasty)) == ((1, nasty[0]),)


def test_everything_wrong_in_a_table_is_said_at_once(loft: None) -> None:
    table = 'Code,Unit,From,Price\nTS 170 F,m,0,-3\nTS 170 F,m,0,15\nNOBODY,m,0,1\nTS 150 F,,0,"14,10"\n'
    assert problems(table.encode()) == [
        ("row 2.cost", "not_a_number"), ("row 4.material", "unknown_code"), ("row 5.unit", "missing"), ("row 5.cost", "not_a_number"),
    ]  # fmt: skip
    assert problems(b"Code,Unit,From,Price\nTS 170 F,m,0,15\nTS 170 F,m,0,14\n") == [("row 3.from", "not_rising")]
    assert problems(b"Code,Unit,From,Price\nTS 170 F,m,5,15\n") == [("row 2.from", "not_zero")]
    assert problems(b"Article no,Unit,Amount\nx,m,1\n", {}) == [("columns.their_code", "no_column"), ("columns.cost", "no_column")]
    assert problems(b"Code,Unit,Price\nTS 170 F,m,1\n", {"cost": "Preis"}) == [("columns.cost", "no_column")]
    assert problems(b"Code,Unit,Price\n", {}) == [("file", "empty")]


def test_another_unit_than_the_one_that_we_count_in_is_refused(loft: None) -> None:
    assert problems(b"Code,Unit,Price\nTS 170 F,piece,15\n", {}) == [("rows.DW170.unit", "other_unit")]


def test_a_formula_is_refused_with_its_cell(loft: None) -> None:
    assert problems(workbook([["Code", "Unit", "Price"], ["TS 170 F", "m", "=10+5"]]), {}) == [("row 2", "formula")]


def test_large_and_hostile_files_are_refused_before_they_are_parsed() -> None:
    def refused(data: bytes) -> list[str]:
        with pytest.raises(InputError) as caught:
            sheets.read_rows(data)
        return [p.code for p in caught.value.problems]

    def archive(members: dict[str, bytes]) -> bytes:
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
            for name, content in members.items():
                file.writestr(name, content)
        return out.getvalue()

    assert refused(b"a" * (sheets.MOST_BYTES + 1)) == ["too_large"]
    bomb = archive({"xl/worksheets/sheet1.xml": b"0" * (sheets.MOST_UNPACKED + 1)})
    assert len(bomb) < sheets.MOST_BYTES
    assert refused(bomb) == ["too_large"]
    assert refused(archive({f"{i}.xml": b"" for i in range(sheets.MOST_MEMBERS + 1)})) == ["too_many_members"]
    assert refused(archive({"a.txt": b"no workbook"})) == ["not_xlsx"]
    assert refused(b"PK\x03\x04 and nothing") == ["not_xlsx"]
    assert refused(b"a,b\n" * 50_000) == ["too_many_rows"]
    assert refused(b"\xff\xfe\x00") == ["encoding"]
    assert refused(b"") == ["empty"]


def test_only_a_manager_imports(loft: None, cutter: User) -> None:
    with pytest.raises(NotAllowed):
        importing.check_table(data=TABLE.encode(), head=HEAD, columns=COLUMNS, by=cutter)
    with pytest.raises(NotAllowed):
        importing.store_table(text="", columns={}, looked_at=True, by=cutter)
