"""Walks the tables of a TOML file and gathers everything that is wrong with it, each with its path.

A method that finds a value missing or wrong notes the problem and answers with a harmless stand-in of the right type, so that
reading goes on; nothing that was read may be used before `finish` has passed.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any, TypeVar

from costing.errors import Collector, did_you_mean, problem
from loft.catalogue.formats import quantities

LONGEST_CODE = 40
LONGEST_NAME = 200
LONGEST_SENTENCE = 1000
LARGEST_COUNT = 1_000_000

_Kind = TypeVar("_Kind", bound=StrEnum)
_Value = TypeVar("_Value")


def open_file(text: str) -> Reader:
    """The top table of a TOML text; InputError names the line where the text is not TOML."""
    if not text.strip():
        raise problem("file", "empty", "the file is empty")
    try:
        values = tomllib.loads(text.removeprefix("\ufeff").replace("\r\n", "\n"), parse_float=Decimal)
    except ValueError as error:  # not TOML, or a number of thousands of digits
        raise problem("file", "not_toml", f"{error}. {_right(text, str(error))}") from error
    except RecursionError as error:
        raise problem("file", "not_toml", "brackets stand in brackets too deeply") from error
    return Reader(values, "", Collector())


def _right(text: str, error: str) -> str:
    """What would be right in the line that is no TOML: a day by its own way of writing, else what is wrong most often."""
    at = re.search(r"at line (\d+)", error)
    line = text.splitlines()[int(at[1]) - 1] if at else ""
    if re.search(r"=\s*\d{1,4}([-./]\d{1,2}){1,2}([-./]\d{2,4})?\s*($|[#,}])", line) and not re.search(r"=\s*\d+[.]\d+\s*($|[#,}])", line):
        return "A date is a day of the calendar, year first and without quotes: 2000-02-01"
    return "Text stands in quotes, numbers take a decimal point"


class Reader:
    """One table: its values, its path, and the collector that the whole file shares."""

    def __init__(self, values: Mapping[str, Any], path: str, problems: Collector) -> None:
        self._values = values
        self._path = path
        self._asked: set[str] = set()
        self._inside: list[Reader] = []
        self.problems = problems

    def path(self, key: str) -> str:
        return f"{self._path}.{key}" if self._path else key

    def names(self) -> tuple[str, ...]:
        """The keys as written, for a table whose keys are names (margins by measurement)."""
        return tuple(self._values)

    def has(self, key: str) -> bool:
        self._asked.add(key)
        return key in self._values

    def wrong(self, key: str, code: str, message: str) -> None:
        self.problems.add(self.path(key), code, message)

    # plain values

    def text(self, key: str, default: str | None = None, *, most: int = LONGEST_NAME) -> str:
        """A text of at most `most` characters."""
        found = self._read(key, _text, "", default)
        if len(found) > most:
            self.wrong(key, "too_long", f"has {len(found)} characters; at most {most} are kept")
        return found

    def code(self, key: str) -> str:
        """A short name by which something is found again."""
        return self.text(key, most=LONGEST_CODE)

    def sentence(self, key: str, default: str | None = None) -> str:
        return self.text(key, default, most=LONGEST_SENTENCE)

    def flag(self, key: str, default: bool | None = None) -> bool:
        return self._read(key, _flag, False, default)

    def integer(self, key: str, default: int | None = None, *, least: int = 0) -> int:
        found = self._read(key, _integer, least, default)
        if not least <= found <= LARGEST_COUNT:
            self.wrong(key, "out_of_range", f"{found} is not between {least} and {LARGEST_COUNT}")
        return found

    def number(self, key: str, default: Decimal | None = None, *, most: Decimal | None = None) -> Decimal:
        """A number that is not negative, and not above `most`."""
        found = self._read(key, _number, Decimal(0), default)
        if found < 0 or (most is not None and found > most):
            self.wrong(key, "out_of_range", f"{found:f} is not between 0 and {most}" if most is not None else f"{found:f} is less than 0")
        return found

    def fraction(self, key: str, default: Decimal | None = None) -> Decimal:
        """A number from 0 to 1; 0.15 is 15 %."""
        return self.number(key, default, most=Decimal(1))

    def day(self, key: str) -> date:
        return self._read(key, _day, date.min, None)

    def optional_day(self, key: str) -> date | None:
        return self.day(key) if self.has(key) else None

    def choice(self, key: str, kinds: type[_Kind], also: Mapping[str, tuple[_Kind, ...]] | None = None) -> _Kind:
        """One of the words of an enumeration. also: other people's words for some of them, to be suggested and not taken."""

        def word(value: Any) -> _Kind:
            known = [k.value for k in kinds]
            if value not in known:
                meant = (also or {}).get(str(value).casefold().replace("_", " "), ())
                hint = f"; did you mean {' or '.join(meant)}?" if meant else did_you_mean(str(value), known, listed=False)
                raise ValueError(f"{quantities.shown(value)} is not one of {', '.join(known)}{hint}")
            return kinds(value)

        return self._read(key, word, next(iter(kinds)), None)

    def texts(self, key: str, default: tuple[str, ...] | None = None) -> tuple[str, ...]:
        """A list of texts."""
        return self._read(key, _texts, (), default)

    # sizes, written as text with their unit

    def length(self, key: str, default: Decimal | None = None) -> Decimal:
        """A length as exact millimetres."""
        return self._read(key, quantities.length_mm, Decimal(0), default)

    def mm(self, key: str, default: float | None = None) -> float:
        """A length as float millimetres, for the geometry."""
        return float(self.length(key, None if default is None else Decimal(str(default))))

    def size(self, key: str, unit: str) -> Decimal:
        """A value in a measurement's unit: mm, m2, g/m2 or count."""
        return self._read(key, quantities.READERS[unit], Decimal(0), None)

    def sizes(self, key: str, unit: str) -> tuple[Decimal, ...]:
        """A list of values in a measurement's unit; none when it is left out."""
        return self._read(key, lambda values: tuple(quantities.READERS[unit](v) for v in _list(values)), (), ())

    def printed(self, key: str) -> str:
        """A value as it stands in the file, empty when it does not."""
        if not self.has(key):
            return ""
        found = self._values[key]
        return ", ".join(str(v).strip() for v in found) if isinstance(found, list) else str(found).strip()

    # tables inside

    def table(self, key: str) -> Reader:
        found: Mapping[str, Any] = self._read(key, _table, {}, None)
        return self._enter(found, self.path(key))

    def length_of(self, key: str) -> int:
        """How many values a list has; 0 of what is no list."""
        found = self._values.get(key) if self.has(key) else None
        return len(found) if isinstance(found, list) else 0

    def tables(self, key: str, *, least: int = 0) -> tuple[Reader, ...]:
        """A list of tables, `least` of them at least."""
        if least == 0 and not self.has(key):
            return ()
        found: list[Mapping[str, Any]] = self._read(key, _tables, [], None)
        if self.has(key) and isinstance(self._values[key], list) and len(found) < least:
            self.wrong(key, "missing", f"at least {least} needed")
        return tuple(self._enter(values, f"{self.path(key)}[{i}]") for i, values in enumerate(found))

    # the end

    def finish(self) -> None:
        """Report keys that nobody asked for, then raise one InputError with everything found in the whole file."""
        self._report_unknown()
        self.problems.raise_if_any()

    def _report_unknown(self) -> None:
        for key in self._values:
            if key not in self._asked:
                self.wrong(key, "unknown_key", f"is not known here{did_you_mean(key, sorted(self._asked), listed=False)}")
        for reader in self._inside:
            reader._report_unknown()

    def _enter(self, values: Mapping[str, Any], path: str) -> Reader:
        reader = Reader(values, path, self.problems)
        self._inside.append(reader)
        return reader

    def _read(self, key: str, convert: Callable[[Any], _Value], stand_in: _Value, default: _Value | None) -> _Value:
        if not self.has(key):
            if default is None:
                self.wrong(key, "missing", "is missing")
                return stand_in
            return default
        try:
            return convert(self._values[key])
        except ValueError as error:
            self.wrong(key, "wrong_value", str(error))
            return stand_in


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{quantities.shown(value)} should be text in quotes")
    if not value.strip():
        raise ValueError("is empty")
    return value.strip()


def _list(value: Any) -> list[Any]:
    if not isinstance(value, list) or not value:
        raise ValueError("should be a list of values in square brackets")
    return value


def _texts(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list):
        raise ValueError("should be a list of texts in square brackets")
    texts = tuple(_text(v) for v in value)
    if any(len(t) > LONGEST_SENTENCE for t in texts):
        raise ValueError(f"has a text of more than {LONGEST_SENTENCE} characters")
    return texts


def _flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"{quantities.shown(value)} should be true or false")
    return value


def _integer(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise ValueError(f"{quantities.shown(value)} should be a whole number without quotes")
    return value


def _number(value: Any) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | Decimal) or not Decimal(value).is_finite():
        comma = ", with a decimal point and not a comma" if isinstance(value, str) and "," in value else ""
        raise ValueError(f"{quantities.shown(value)} should be a number without quotes{comma}")
    return Decimal(value)


def _day(value: Any) -> date:
    if not isinstance(value, date) or isinstance(value, datetime):
        raise ValueError(f"{quantities.shown(value)} should be a date without quotes, year first: 2026-03-01")
    return value


def _table(value: Any) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise ValueError("should be a table")
    return value


def _tables(value: Any) -> list[Mapping[str, Any]]:
    if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
        raise ValueError("should be a list of tables")
    return value
