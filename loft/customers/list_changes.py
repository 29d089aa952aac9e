"""Changing a list of boats row by row: another pattern for a sail, a further sail for a boat, the numbers that came, single cells.

Every other cell stays as it was written.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from costing.quote import SailRequest
from costing.quote.wanted import boat_key
from loft.customers import boats_csv

#: What tells a boat; a further sail of it starts with these alone, and with nothing of the other sail's sizes and options.
_OF_THE_BOAT = boats_csv.REQUIRED


@dataclass(frozen=True, slots=True)
class ListLine:
    """One row of a list: its number as a spreadsheet counts it, whose sail it is, and the pattern as it is written (empty: the batch's)."""

    row: int
    boat: str
    owner: str
    sail_number: str
    pattern: str


def lines(data: bytes) -> tuple[ListLine, ...]:
    """The rows of a list; InputError when it is no table at all."""
    names = (*_OF_THE_BOAT, "pattern")
    return tuple(ListLine(number, *(row.get(name, "").strip() for name in names)) for number, row in boats_csv.sheet(data).by_column)


def changed(data: bytes, *, patterns: Mapping[int, str], further: Mapping[int, str]) -> bytes:
    """The list with these patterns in these rows, and below these rows a further sail of the same boat by these patterns.

    A row that is not there is passed over. InputError when the list is no table at all.
    """
    found = boats_csv.sheet(data)
    rows = []
    for number, row in found.by_column:
        rows.append(row | ({"pattern": patterns[number]} if number in patterns else {}))
        if number in further:
            rows.append({name: row.get(name, "") for name in _OF_THE_BOAT} | {"pattern": further[number]})
    columns = [*found.columns, *(["pattern"] if "pattern" not in found.columns else [])]
    return boats_csv.written(columns, rows, found.separator)


def without_rows(data: bytes, rows: Collection[int]) -> bytes:
    """The list without some of its rows, by their numbers as a spreadsheet counts them; InputError when it is no table at all."""
    found = boats_csv.sheet(data)
    return boats_csv.written(found.columns, (row for number, row in found.by_column if number not in rows), found.separator)


def without_addresses(data: bytes) -> bytes:
    """The list without its mail addresses, for a contract that stays when its people ask to be forgotten.

    InputError when the list is no table at all.
    """
    found = boats_csv.sheet(data)
    if boats_csv.MAIL not in found.columns:
        return data
    columns = [name for name in found.columns if name != boats_csv.MAIL]
    return boats_csv.written(columns, (row for _, row in found.by_column), found.separator)


def rows_of_sails(data: bytes) -> tuple[int, ...]:
    """The number of each sail's row, in the order of the sails: where patterns are named, a boat's together, as `read_rows` has it."""
    found = boats_csv.sheet(data)
    if "pattern" not in found.columns:
        return tuple(number for number, _ in found.rows)
    boats: dict[tuple[str, ...], list[int]] = {}
    for number, row in found.by_column:
        boat, owner, sail = (row.get(name, "").strip() for name in boats_csv.REQUIRED)
        key = boat_key(SailRequest("", boat, owner, None if sail.casefold() == boats_csv.TO_FOLLOW else sail))
        boats.setdefault(key, []).append(number)
    return tuple(number for rows in boats.values() for number in rows)


def with_numbers(data: bytes, numbers: Sequence[str | None]) -> bytes:
    """The list with the sail numbers that its sails have by now, in the order of `rows_of_sails`; None: to follow."""
    by_row = zip(rows_of_sails(data), numbers, strict=True)
    return with_cells(data, {row: {"sail_number": number or boats_csv.TO_FOLLOW} for row, number in by_row})


def with_cells(data: bytes, cells: Mapping[int, Mapping[str, str]]) -> bytes:
    """The list with these cells in these rows; a column that it has not yet is added."""
    found = boats_csv.sheet(data)
    rows = [{**row, **cells.get(number, {})} for number, row in found.by_column]
    further = dict.fromkeys(name for row in cells.values() for name in row if name not in found.columns)
    return boats_csv.written([*found.columns, *further], rows, found.separator)
