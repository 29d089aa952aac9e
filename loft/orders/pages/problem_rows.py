"""Problems as rows of a table: where in the list, what stands there, what is wrong and what would be right."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass

from costing.errors import Problem

_IN_LIST = re.compile(r"row (?P<row>\d+)(?:, column (?P<place>\d+))?(?:\.(?P<column>[a-z0-9_]+))?")

#: What the fields of the form are called on it.
FIELDS = {
    "customer": "Customer", "customer.name": "Name of the new customer", "customer.email": "Mail address",
    "customer.kind": "Kind of customer", "customer.address": "Address", "customer.buyer": "Prices shown",
    "pattern": "Pattern", "terms": "Terms", "on": "Prices of the day", "file": "List of boats", "boats": "List of boats",
    "sails": "List of boats", "joins": "Order that is joined",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ProblemRow:
    """One problem. row and column are empty outside the list; field is the form's field, empty inside the list."""

    field: str
    row: str
    column: str
    found: str
    message: str


def problem_rows(problems: Iterable[Problem], text: str) -> list[ProblemRow]:
    """The problems, those of the form's own fields first, then row by row as the list has them."""
    cells = _cells(text)
    rows = [_row(p, cells) for p in problems]
    return sorted(rows, key=lambda r: int(r.row) if r.row else 0)


def _row(problem: Problem, cells: list[list[str]]) -> ProblemRow:
    found = _IN_LIST.fullmatch(problem.path)
    if found is None:
        return ProblemRow(problem.path, "", FIELDS.get(problem.path, problem.path), "", problem.message)
    number, column = int(found["row"]), found["column"] or ""
    if found["place"]:
        index = int(found["place"]) - 1
        return ProblemRow("", found["row"], f"column {found['place']}", _cell(cells, number, index), problem.message)
    header = [name.strip().casefold().replace(" ", "_") for name in cells[0]] if cells else []
    stands = _cell(cells, number, header.index(column)) if column in header else ""
    return ProblemRow("", found["row"], column, stands, problem.message)


def _cell(cells: list[list[str]], row: int, index: int) -> str:
    """What stands in a cell, row 1 being the header; empty where there is none."""
    line = cells[row - 1] if 0 < row <= len(cells) else []
    return line[index].strip() if index < len(line) else ""


def _cells(text: str) -> list[list[str]]:
    """The list as rows of cells, for showing beside a problem; empty when it is no CSV (then a problem says so)."""
    header = next((line for line in text.splitlines() if line.strip()), "")
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=header.count)))
    except csv.Error:
        return []
