"""A list of boats from a spreadsheet: one row a sail, read whole or refused whole.

Comma, semicolon or tab, whichever the header row uses; UTF-8 with or without a byte-order mark. fixtures/README.md documents the
columns. Every problem is reported at once, at its row and column as the spreadsheet counts them: the header is row 1.
"""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from costing import measurements
from costing.errors import Collector, did_you_mean, nearest, problem
from costing.measurements import MEASUREMENTS
from costing.quote import Pattern, SailRequest
from costing.quote.pattern import kind_words
from costing.quote.wanted import boat_key
from loft.common import measures
from loft.common.measures import Length
from loft.customers import cell_words

MOST_BYTES = 1_000_000
MOST_BOATS = 400
_LONGEST_CELL = 200
_LONGEST_NUMBER = 20

REQUIRED = ("boat", "owner", "sail_number")
MAIL = "email"
WORDS = (MAIL, "pattern", "luff_curve", "options", "cloth", "colour", "number_colour", "certified_on", "given_as", "non_class", "note")
SIZES = tuple(m.name for m in MEASUREMENTS.values() if m.unit == "mm")
COLUMNS = (*REQUIRED, *SIZES, *WORDS)
TO_FOLLOW = "to follow"


@dataclass(frozen=True, slots=True)
class BoatRow:
    """One row: the sail it asks for, its sizes as they were written, by measurement name, and the owner's mail address or nothing."""

    sail: SailRequest
    written: Mapping[str, Length]
    email: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A list as it was written: its columns by name, and each row's number with its cells, one for each column."""

    columns: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    separator: str

    @property
    def by_column(self) -> tuple[tuple[int, dict[str, str]], ...]:
        return tuple((number, dict(zip(self.columns, cells, strict=True))) for number, cells in self.rows)


def read_boats(data: bytes, *, pattern: Pattern, others: Sequence[Pattern] = ()) -> tuple[SailRequest, ...]:
    """The sails that a list of boats asks for; InputError carries every problem, each at "row N.column" or "row N".

    pattern: that of a row which names none; others: those that a row may name. Option names are read against its option table.
    """
    return tuple(row.sail for row in read_rows(data, pattern=pattern, others=others))


def read_rows(data: bytes, *, pattern: Pattern, others: Sequence[Pattern] = ()) -> tuple[BoatRow, ...]:
    """The same with each size as it was written, for a boat's measurement set."""
    found, problems = readable_rows(data, pattern=pattern, others=others)
    problems.raise_if_any()
    return found


def readable_rows(data: bytes, *, pattern: Pattern, others: Sequence[Pattern] = ()) -> tuple[tuple[BoatRow, ...], Collector]:
    """The rows that can be read and the problems of the others, so that the calculation can add what it finds in the good ones.

    The sails of a boat stand together, where its first one stands. InputError when the file as a whole is none.
    """
    text = _decoded(data)
    _refuse_too_many(text)
    header, rows = _table(text)
    problems = _header_problems(header)
    asked, header = frozenset(header), _as_meant(header)
    found = []
    named = pattern_words((pattern, *others))
    known = {p.code: p for p in others} | {pattern.code: pattern, "": pattern}
    for number, cells in rows:
        path = f"row {number}"
        with problems.under(path):
            missing = (name for name in REQUIRED if name not in asked)
            values = _by_column(header, cells) | {name: TO_FOLLOW if name == "sail_number" else path for name in missing}
            word = values.get("pattern", "")
            code = named.get(word.casefold(), word)
            found.append(_row(path, values, code, known.get(code)))
    _one_address_a_boat(found, problems)
    if not found and not problems:
        raise problem("file", "empty", "has a header row and no boats")
    return (_by_boat(found) if "pattern" in header else tuple(found)), problems


def pattern_words(patterns: Iterable[Pattern]) -> dict[str, str]:
    """What the column pattern may say, in small letters, with the code that it means: code, name, or the kind of sail if it is one's only.

    A word that means none passes as it is: the calculation refuses it together with all else that cannot be made.
    """
    patterns = tuple(patterns)
    by_kind: dict[str, list[str]] = {}
    for p in patterns:
        for word in kind_words(p.sail_kind):
            by_kind.setdefault(word, []).append(p.code)
    words = {word: codes[0] for word, codes in by_kind.items() if len(codes) == 1}
    return words | {p.name.casefold(): p.code for p in patterns} | {p.code.casefold(): p.code for p in patterns}


def _one_address_a_boat(rows: Iterable[BoatRow], problems: Collector) -> None:
    """Add every row whose address is another one than an earlier row gives for the same boat."""
    first: dict[tuple[str, ...], BoatRow] = {}
    for row in (row for row in rows if row.email):
        other = first.setdefault(boat_key(row.sail), row)
        if other.email.casefold() != row.email.casefold():
            problems.add(f"{row.sail.path}.{MAIL}", "other_address", f"{other.sail.path} gives this boat another address")


def _by_boat(rows: Iterable[BoatRow]) -> tuple[BoatRow, ...]:
    boats: dict[tuple[str, ...], list[BoatRow]] = {}
    for row in rows:
        boats.setdefault(boat_key(row.sail), []).append(row)
    return tuple(row for sails in boats.values() for row in sails)


def sheet(data: bytes) -> Sheet:
    """The list as cells, for changing some of them; InputError when the file is no table at all."""
    text = _decoded(data)
    _refuse_too_many(text)
    header, rows = _table(text)
    wide = len(header)
    return Sheet(tuple(header), tuple((n, (*cells[:wide], *[""] * (wide - len(cells)))) for n, cells in rows), _separator(text))


def written(columns: Sequence[str], rows: Iterable[Mapping[str, str]], separator: str) -> bytes:
    """A list of boats as it is kept: the header row, then the rows; a cell that a row lacks stays empty."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, columns, restval="", extrasaction="ignore", delimiter=separator)
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def with_cloth(data: bytes, *, old: str, new: str, default: str, old_colour: str, defaults: Mapping[str, str] | None = None) -> bytes:
    """The same list with one cloth in place of another; every other cell stays as it was written.

    default: the cloth of a row that names neither cloth nor pattern; defaults: of one that names a pattern, by its word in small letters;
    old_colour: what a row without a colour gets, because another cloth may have another first colour.
    """
    found = sheet(data)
    rows = []
    for _, row in found.by_column:
        own = (defaults or {}).get(row.get("pattern", "").strip().casefold(), default)
        if (row.get("cloth", "").strip() or own) == old:
            row |= {"cloth": new, "colour": row.get("colour", "").strip() or old_colour}
        rows.append(row)
    columns = [*found.columns, *(name for name in ("cloth", "colour") if name not in found.columns)]
    return written(columns, rows, found.separator)


def _decoded(data: bytes) -> str:
    if len(data) > MOST_BYTES:
        raise problem("file", "too_large", f"has {len(data)} bytes; at most {MOST_BYTES} are read")
    if not data.strip():
        raise problem("file", "empty", "the file is empty")
    save_as = "save it as CSV in UTF-8 (in a spreadsheet: save as, CSV UTF-8)"
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\x00" in data[:1000]:
        raise problem("file", "wrong_encoding", f"is in UTF-16 and not in UTF-8; {save_as}")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data.count(b"\n", 0, error.start) + 1
        raise problem("file", "wrong_encoding", f"is not in UTF-8: row {row} has a byte that no UTF-8 text has; {save_as}") from error
    return text


def _refuse_too_many(text: str) -> None:
    """Count lines before anything is parsed; a quoted line break makes the count too high, never too low."""
    lines = sum(1 for line in _lines(text) if line.strip(' \t,;"'))
    if lines > MOST_BOATS + 1:
        raise problem("file", "too_many_boats", f"has {lines - 1} boats; at most {MOST_BOATS} are read at once: split the list")


def _table(text: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """The header's column names, and each row that is not blank with its number."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text), strict=True)
    try:
        rows = [(number, cells) for number, cells in enumerate(reader, start=1) if any(c.strip() for c in cells)]
    except csv.Error as error:
        raise problem("file", "not_csv", f"line {reader.line_num} is not a row of cells: {error}") from error
    if not rows:
        raise problem("file", "empty", "the file has no header row")
    _, header = rows[0]
    while not header[-1].strip():  # spreadsheets write empty columns at the end
        header.pop()
    return [name.strip().casefold().replace(" ", "_") for name in header], rows[1:]


def _separator(text: str) -> str:
    """The mark that the header row uses most between its names."""
    header = next((line for line in _lines(text) if line.strip()), "")
    return max(",;\t", key=header.count)


def _lines(text: str) -> list[str]:
    """Lines as a spreadsheet ends them; a name may hold other characters that count as line ends elsewhere."""
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _header_problems(header: list[str]) -> Collector:
    """What is wrong with the columns; the rows are read all the same, so that their problems are said at once."""
    problems = Collector()
    for i, name in enumerate(header):
        path = f"row 1, column {i + 1}"
        if name not in COLUMNS:
            what = f"{name!r} is not a column that is known" if name else "has no name"
            problems.add(path, "unknown_column", what + _hint(name))
        elif name in header[:i]:
            problems.add(path, "column_twice", f"{name} stands in column {header.index(name) + 1} already")
    for name in REQUIRED:
        if name not in header:
            problems.add("row 1", "missing_column", f"the column {name} is missing; the header needs {', '.join(REQUIRED)}")
    return problems


def _as_meant(header: list[str]) -> list[str]:
    """The columns with a name that is not known taken for the one that is near it: a size is then not missed besides."""
    found: list[str] = []
    for name in header:
        near = () if name in COLUMNS else _sizes_meant(name) or (nearest(name, COLUMNS),)
        found.append(near[0] if len(near) == 1 and near[0] and near[0] not in header else name)
    return found


#: Sizes that only a class rule can state, with their places on the leech.
_AT_A_STATION = frozenset({"width", "leech_round"})


def _sizes_meant(name: str) -> tuple[str, ...]:
    """The columns of sizes that somebody else's word for them stands for."""
    return tuple(size for size in measurements.meant(name) if size in COLUMNS and size not in _AT_A_STATION)


def _hint(name: str) -> str:
    found = _sizes_meant(name)
    return f"; did you mean {' or '.join(found)}?" if found else did_you_mean(name, COLUMNS)


def _by_column(header: list[str], cells: list[str]) -> dict[str, str]:
    extra = [c for c in cells[len(header) :] if c.strip()]
    if extra:
        hint = "; a cell with a comma or semicolon in it stands in double quotes" if any(c.strip() for c in extra) else ""
        raise problem("", "too_many_cells", f"has {len(cells)} cells and the header has {len(header)}{hint}")
    values = {name: cell.strip() for name, cell in zip(header, cells, strict=False)}
    problems = Collector()
    for name, value in values.items():
        most = _LONGEST_NUMBER if name == "sail_number" else _LONGEST_CELL
        if len(value) > most:
            problems.add(name, "too_long", f"has {len(value)} characters; at most {most} are read")
        if any(unicodedata.category(c) == "Cc" for c in value):
            problems.add(name, "control_character", "has a line break, a tab or another character that cannot be printed")
    problems.raise_if_any()
    return values


def _row(path: str, values: Mapping[str, str], code: str, pattern: Pattern | None) -> BoatRow:
    problems = Collector()
    for name in REQUIRED:
        if not values.get(name):
            hint = f'; write "{TO_FOLLOW}" where it is not known yet' if name == "sail_number" else ""
            problems.add(name, "missing", f"is empty{hint}")
    written = _sizes(values, problems)
    chosen, declined = cell_words.options(values.get("options", ""), pattern)
    luff_curve = cell_words.luff_curve(values.get("luff_curve", ""), problems)
    certified_on = cell_words.day(values.get("certified_on", ""), problems)
    email = cell_words.address(values.get(MAIL, ""), problems)
    non_class = cell_words.yes(values.get("non_class", ""), problems)
    problems.raise_if_any()
    number = values["sail_number"]
    sail = SailRequest(
        path=path,
        boat=values["boat"],
        owner=values["owner"],
        sail_number=None if number.casefold() == TO_FOLLOW else number,
        sizes={name: length.mm for name, length in written.items()},
        luff_curve=luff_curve,
        options=chosen,
        declined=declined,
        cloth=values.get("cloth", ""),
        colour=values.get("colour", ""),
        number_colour=values.get("number_colour", ""),
        note=values.get("note", ""),
        certified_on=certified_on,
        given_as=values.get("given_as", ""),
        pattern=code,
        non_class=non_class,
    )
    return BoatRow(sail, written, email)


def _sizes(values: Mapping[str, str], problems: Collector) -> dict[str, Length]:
    written = {}
    for name in (n for n in SIZES if values.get(n)):
        try:
            written[name] = measures.parse_length(values[name])
        except measures.MeasureError as error:
            problems.add(name, "not_a_length", str(error))
    return written
