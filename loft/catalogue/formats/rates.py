"""Euro reference rates in the layout of the European Central Bank: a header of currencies, a row a day.

Both of its files are read (layouts from memory): `Date,USD,JPY,...` with days like 2026-03-02, the history; and days like 2 March 2026,
the day's own. A rate that was not given is N/A; both end their rows with a comma. A table typed by hand in these columns will do.
"""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import Decimal

from costing.errors import Collector, InputError, problem
from costing.money import currency
from costing.prices.rates import DayRates

_RATE = re.compile(r"[0-9]{1,9}(\.[0-9]{1,6})?")
_CODE = re.compile(r"[A-Z]{3}")


def read_rates(text: str) -> tuple[DayRates, ...]:
    """The days of a table with their rates, of the currencies that the loft can count in; InputError carries every problem by row."""
    rows = [[cell.strip() for cell in line.split(",")] for line in text.splitlines() if line.strip()]
    header = rows[0] if rows else []
    codes = header[1:-1] if header and not header[-1] else header[1:]
    if not header or header[0] != "Date" or not codes or not all(_CODE.fullmatch(code) for code in codes):
        raise problem("row 1", "header", "the header is Date and then currencies by their three letters: Date,USD,GBP,")
    wrong, found = Collector(), {}
    for number, cells in enumerate(rows[1:], start=2):
        with wrong.under(f"row {number}"):
            day = _day(cells[0])
            if day in found:
                raise problem("", "twice", f"{day} stands in the table already")
            found[day] = _rates(codes, cells[1:])
    if len(rows) == 1:
        wrong.add("file", "empty", "there is no day under the header")
    wrong.raise_if_any()
    return tuple(DayRates(day, per_euro) for day, per_euro in sorted(found.items()))


def _day(text: str) -> date:
    for form in ("%Y-%m-%d", "%d %B %Y"):
        try:
            return datetime.strptime(text, form).date()  # noqa: DTZ007  a day, not an instant
        except ValueError:
            continue
    raise problem("", "not_a_day", f"{text!r} is not a day: 2026-03-02 or 2 March 2026")


def _rates(codes: list[str], cells: list[str]) -> dict[str, Decimal]:
    wrong, found = Collector(), {}
    if more := [cell for cell in cells[len(codes) :] if cell]:
        wrong.add("", "too_many_cells", f"{more[0]!r} has no currency above it; a decimal point, not a comma")
    for code, cell in zip(codes, [*cells, *[""] * len(codes)], strict=False):
        if cell in ("", "N/A") or not _counted(code):
            continue
        if not _RATE.fullmatch(cell) or not Decimal(cell):
            wrong.add(code, "not_a_rate", f"{cell!r} is not a rate such as 1.0821, above zero, at most six decimals")
            continue
        found[code] = Decimal(cell)
    wrong.raise_if_any()
    return found


def _counted(code: str) -> bool:
    try:
        currency(code)
    except InputError:
        return False
    return True
