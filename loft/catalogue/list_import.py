"""A supplier's table, as it comes, into the text of a supplier list: the columns are named once and remembered."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise

from costing.errors import Collector, problem
from costing.prices import SupplierRow
from loft.catalogue import formats
from loft.catalogue.sheets import Row

#: What a column may hold -> the headings by which it is recognised without being told.
FIELDS: Mapping[str, tuple[str, ...]] = {
    "material": ("material", "our code"),
    "their_code": ("their_code", "their code", "code", "article"),
    "name": ("name", "description"),
    "unit": ("unit",),
    "from": ("from", "from quantity"),
    "cost": ("cost", "price", "unit cost"),
    "minimum": ("minimum", "minimum order"),
    "pack": ("pack",),
    "expected": ("expected", "back on"),
    "colours": ("colours",),
}
_NEEDED = ("their_code", "unit", "cost")
_NUMBER = re.compile(r"[0-9]{1,7}(\.[0-9]{1,4})?")


@dataclass(frozen=True, slots=True)
class ListHead:
    """Which list a table is: what stands in no row of it."""

    supplier: str
    version: str
    valid_from: date
    valid_to: date | None
    currency: str


@dataclass(frozen=True, slots=True)
class _Before:
    """What the supplier's list before says that a table of prices need not: our code for theirs, names, rows and how they are sold."""

    ours: Mapping[str, str]
    names: Mapping[str, str]
    rows: Mapping[str, SupplierRow]
    carriage: Decimal
    duty: Decimal


@dataclass(frozen=True, slots=True)
class _Priced:
    number: int
    material: str
    their_code: str
    name: str
    unit: str
    start: Decimal
    cost: Decimal
    minimum: Decimal
    pack: Decimal
    expected: date | None
    colours: tuple[str, ...]


def columns_of(header: Sequence[str], given: Mapping[str, str]) -> dict[str, int]:
    """Which column holds which field. given: field -> heading, as it was chosen before; the rest is recognised by its usual headings.

    InputError names a heading that is not there, and each needed field that no column holds.
    """
    places = {heading.casefold(): i for i, heading in reversed(list(enumerate(header))) if heading}
    found, wrong = {}, Collector()
    for field, usual in FIELDS.items():
        chosen = given.get(field, "")
        if chosen and chosen.casefold() not in places:
            wrong.add(f"columns.{field}", "no_column", f"there is no column {chosen!r}; there are {', '.join(h for h in header if h)}")
            continue
        names = (chosen,) if chosen else usual
        place = next((places[n.casefold()] for n in names if n.casefold() in places), None)
        if place is not None:
            found[field] = place
        elif field in _NEEDED:
            wrong.add(f"columns.{field}", "no_column", f"no column is known to hold the {field.replace('_', ' ')}: say which it is")
    wrong.raise_if_any()
    return found


def list_text(rows: Sequence[Row], head: ListHead, given: Mapping[str, str], previous_text: str = "") -> str:
    """The supplier list that a table holds, as the text that `load_prices` stores.

    previous_text: the supplier's list before; its codes say which material of ours theirs is, its cloths are described still, and its
    carriage, duty, minimum orders and packs hold unless the table has a column for them. Colours stand with semicolons between.
    InputError carries every problem of every row ("row 7.cost").
    """
    columns = columns_of(rows[0][1], given)
    before, wrong = _before(previous_text), Collector()
    priced = [one for number, cells in rows[1:] if (one := _priced(number, cells, columns, before, wrong)) is not None]
    if len(rows) == 1:
        wrong.add("file", "empty", "there is no row under the header")
    grouped = _grouped(priced, wrong)
    wrong.raise_if_any()
    colours = {code: rows[0].colours for code, rows in grouped.items() if rows[0].colours}
    return "\n".join([*_head(head, before), *_rows(grouped, before), *_cloths(previous_text, colours)]) + "\n"


def _before(text: str) -> _Before:
    if not text:
        return _Before({}, {}, {}, Decimal(0), Decimal(0))
    file = formats.read_prices(text)
    rows = file.prices.rows
    ours = {row.their_code: row.material for row in rows}
    return _Before(ours, file.names, {row.material: row for row in rows}, file.prices.carriage, file.prices.duty)


def _priced(number: int, cells: tuple[str, ...], columns: Mapping[str, int], before: _Before, wrong: Collector) -> _Priced | None:
    cell = {field: cells[place] if place < len(cells) else "" for field, place in columns.items()}
    with wrong.under(f"row {number}"):
        problems = Collector()
        code = cell["their_code"]
        material = cell.get("material") or before.ours.get(code, "")
        if not material:
            message = f"no list of theirs says which material of ours {code!r} is: give it a column with our code"
            problems.add("material", "unknown_code", message)
        if not cell["unit"]:
            problems.add("unit", "missing", "the unit is missing")
        start = _number(cell.get("from") or "0", "from", problems)
        cost = _number(cell["cost"], "cost", problems)
        expected = _day_or_none(cell.get("expected", ""), problems)
        amounts = [_number(cell.get(field) or "0", field, problems) for field in ("minimum", "pack")]
        problems.raise_if_any()
        name = cell.get("name") or before.names.get(material, material)
        colours = tuple(word for part in cell.get("colours", "").split(";") if (word := part.strip()))
        return _Priced(number, material, code or material, name, cell["unit"], start, cost, amounts[0], amounts[1], expected, colours)
    return None


def _number(text: str, field: str, wrong: Collector) -> Decimal:
    if _NUMBER.fullmatch(text):
        return Decimal(text)
    said = "is negative" if text.startswith("-") else "should be a number such as 13.95, at most four decimals"
    wrong.add(field, "not_a_number", f"{text!r} {said}{'; a decimal point, not a comma' if ',' in text else ''}")
    return Decimal(0)


def _day_or_none(text: str, wrong: Collector) -> date | None:
    if not text:
        return None
    with wrong.under(""):
        return day(text, "expected")
    return None


def _grouped(priced: Sequence[_Priced], wrong: Collector) -> dict[str, list[_Priced]]:
    """The rows of each material, its breaks rising from 0."""
    grouped: dict[str, list[_Priced]] = {}
    for one in priced:
        grouped.setdefault(one.material, []).append(one)
    for material, rows in grouped.items():
        if rows[0].start != 0:
            wrong.add(f"row {rows[0].number}.from", "not_zero", f"{material}: the first break starts at 0")
        for before, row in pairwise(rows):
            if row.start <= before.start:
                wrong.add(f"row {row.number}.from", "not_rising", f"{material} stands in row {before.number} from {before.start} already")
            if (row.unit, row.their_code) != (before.unit, before.their_code):
                wrong.add(f"row {row.number}", "two_units", f"{material} stands in row {before.number} with another unit or code of theirs")
    return grouped


def _head(head: ListHead, before: _Before) -> Iterator[str]:
    yield "[list]"
    yield f"supplier = {_text(head.supplier)}"
    yield f"version = {_text(head.version)}"
    yield f"valid_from = {head.valid_from.isoformat()}"
    if head.valid_to is not None:
        yield f"valid_to = {head.valid_to.isoformat()}"
    yield f"currency = {_text(head.currency)}"
    yield from (f"{key} = {fraction}" for key, fraction in (("carriage", before.carriage), ("duty", before.duty)) if fraction)


def _rows(grouped: Mapping[str, Sequence[_Priced]], before: _Before) -> Iterator[str]:
    for rows in grouped.values():
        first = rows[0]
        breaks = ", ".join(f"{{ from = {row.start}, cost = {row.cost} }}" for row in rows)
        yield f"\n[[rows]]\nrow = {first.number}\nmaterial = {_text(first.material)}\nname = {_text(first.name)}"
        yield f"their_code = {_text(first.their_code)}\nunit = {_text(first.unit)}\nbreaks = [{breaks}]"
        yield from _terms(first, before.rows.get(first.material))


def _terms(row: _Priced, before: SupplierRow | None) -> Iterator[str]:
    """How a material is sold: as the table says, else as the list before did; when it is back is the table's word alone."""
    same = before if before is not None and before.unit == row.unit else None
    for key, amount in (("minimum", row.minimum or (same.minimum if same else 0)), ("pack", row.pack or (same.pack if same else 0))):
        if amount:
            yield f"{key} = {amount}"
    if row.expected is not None:
        yield f"expected = {row.expected.isoformat()}"
    if same is not None and same.special:
        yield "special = true"


def _cloths(previous_text: str, colours: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    """What is on the rolls, word for word as the list before described it, but for the colours that the table gives."""
    for cloth in tomllib.loads(previous_text).get("cloth", []):
        yield "\n[[cloth]]"
        cloth["colours"] = list(colours.get(cloth.get("code", ""), cloth.get("colours", ())))
        yield from (f"{key} = {_value(value)}" for key, value in cloth.items())


def _value(value: str | bool | int | float | list[str]) -> str:
    if isinstance(value, list):
        return f"[{', '.join(_text(v) for v in value)}]"
    return _text(value) if isinstance(value, str) else str(value).lower()


def _text(value: str) -> str:
    """A basic string of TOML: JSON's escapes are a subset of its own, but for the delete character."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def table(file: formats.PriceFile) -> Iterator[tuple[str, ...]]:
    """A supplier list as a table that `list_text` reads back."""
    yield tuple(FIELDS)
    colours = {cloth.code: "; ".join(cloth.colours) for cloth in file.cloths}
    for row in file.prices.rows:
        sold = tuple(f"{amount:f}" if amount else "" for amount in (row.minimum, row.pack))
        back = row.expected.isoformat() if row.expected else ""
        for brk in row.breaks:
            name = file.names.get(row.material, row.material)
            priced = (row.material, row.their_code, name, row.unit, f"{brk.from_quantity:f}", f"{brk.unit_cost:f}")
            yield (*priced, *sold, back, colours.get(row.material, ""))


def day(text: str, field: str) -> date:
    """A day as a form sends it; InputError otherwise."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise problem(field, "not_a_day", f"{text!r} is not a day: write it like 2026-03-31") from error
