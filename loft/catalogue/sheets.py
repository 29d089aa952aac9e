"""Tables from spreadsheets, CSV or XLSX, as rows of text, and back; nothing of them is parsed before its size is known.

What is written opens in a spreadsheet as text alone: a cell that would start a formula gets an apostrophe in front, and loses it when read.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from xml.etree.ElementTree import ParseError

from openpyxl import Workbook, load_workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.utils.exceptions import InvalidFileException

from costing.errors import Collector, problem

MOST_BYTES = 2_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 50
#: An XLSX file is a zip archive: what it unpacks to, and into how many members, is in its directory.
MOST_UNPACKED = 40_000_000
MOST_MEMBERS = 200

Row = tuple[int, tuple[str, ...]]
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def read_rows(data: bytes) -> tuple[Row, ...]:
    """The rows that are not empty, each with its number as a spreadsheet counts; the header is the first of them.

    InputError: too large, not readable, or a cell that holds a formula or an error.
    """
    if len(data) > MOST_BYTES:
        raise problem("file", "too_large", f"the file has {len(data):,} bytes; at most {MOST_BYTES:,} are read")
    rows = _xlsx(data) if data.startswith(b"PK\x03\x04") else _csv(data)
    found: list[Row] = []
    for number, cells in rows:
        if len(cells) > MOST_COLUMNS:
            raise problem(f"row {number}", "too_wide", f"row {number} has {len(cells)} columns; at most {MOST_COLUMNS} are read")
        if any(cells):
            found.append((number, cells))
        if number > MOST_ROWS + 1:
            raise problem("file", "too_many_rows", f"the table has more than {MOST_ROWS:,} rows under its header")
    if not found:
        raise problem("file", "empty", "there is nothing in the table")
    return tuple(found)


def _csv(data: bytes) -> Iterator[Row]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise problem("file", "encoding", "the file is neither XLSX nor CSV in UTF-8; save it as one of them") from error
    header = text.partition("\n")[0]
    delimiter = max(",;\t", key=header.count)
    try:
        for number, cells in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True), start=1):
            yield number, tuple(_read(cell) for cell in cells)
    except csv.Error as error:
        raise problem("file", "not_csv", f"the file is not a table of comma-separated values: {error}") from error


def _xlsx(data: bytes) -> Iterator[Row]:
    _check_archive(data)
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=False)
        rows = book.worksheets[0].iter_rows(max_col=MOST_COLUMNS + 1, max_row=MOST_ROWS + 2)
        for number, cells in enumerate(rows, start=1):
            wrong = Collector()
            texts = tuple(_cell(cell, number, wrong) for cell in cells)
            wrong.raise_if_any()
            yield number, _trimmed(texts)
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, IndexError, TypeError, ParseError, OSError) as error:
        raise problem("file", "not_xlsx", f"the file is not a workbook that can be read: {error}") from error


def _check_archive(data: bytes) -> None:
    try:
        members = zipfile.ZipFile(io.BytesIO(data)).infolist()
    except zipfile.BadZipFile as error:
        raise problem("file", "not_xlsx", f"the file is not a workbook: {error}") from error
    if len(members) > MOST_MEMBERS:
        raise problem("file", "too_many_members", f"the workbook has {len(members)} members; at most {MOST_MEMBERS} are read")
    unpacked = sum(member.file_size for member in members)
    if unpacked > MOST_UNPACKED:
        raise problem("file", "too_large", f"the workbook unpacks to {unpacked:,} bytes; at most {MOST_UNPACKED:,} are read")


def _cell(cell: Any, number: int, wrong: Collector) -> str:
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f" or (isinstance(value, str) and cell.data_type == "e"):
        what = "a formula" if cell.data_type == "f" else f"the error {value}"
        wrong.add(f"row {number}", "formula", f"row {number}, column {cell.column_letter} holds {what}; paste its value instead")
        return ""
    if isinstance(value, bool | int | float):
        return f"{Decimal(str(value)):f}" if not isinstance(value, bool) else str(value)
    if isinstance(value, datetime):
        return value.date().isoformat()
    return _read(str(value))


def _trimmed(cells: Sequence[str]) -> tuple[str, ...]:
    end = len(cells)
    while end and not cells[end - 1]:
        end -= 1
    return tuple(cells[:end])


def _read(text: str) -> str:
    text = text.strip()
    return text[1:] if text.startswith("'") and text[1:].startswith(_FORMULA_STARTS) else text


def _safe(text: str) -> str:
    return f"'{text}" if text.startswith(_FORMULA_STARTS) else text


def csv_bytes(rows: Iterable[Sequence[str]]) -> bytes:
    """Rows as CSV in UTF-8, safe to open."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows([_safe(cell) for cell in row] for row in rows)
    return out.getvalue().encode()


def xlsx_bytes(rows: Iterable[Sequence[str]]) -> bytes:
    """Rows as a workbook of one sheet, every cell text."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("list")
    for row in rows:
        cells = [WriteOnlyCell(sheet, value=_safe(text)) for text in row]
        for cell in cells:
            cell.data_type = "s"
        sheet.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
