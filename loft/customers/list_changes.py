"""Changing a list of boats row by row: another pattern for a sail, a further sail for a boat; every other cell stays as it was written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

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


def without_addresses(data: bytes) -> bytes:
    """The list without its mail addresses, for a contract that stays when its people ask to be forgotten.

    InputError when the list is no table at all.
    """
    found = boats_csv.sheet(data)
    if boats_csv.MAIL not in found.columns:
        return data
    columns = [name for name in found.columns if name != boats_csv.MAIL]
    return boats_csv.written(columns, (row for _, row in found.by_column), found.separator)
