"""The list of boats line by line beside its box: a pattern for each line, and a further sail for a boat."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from costing.errors import InputError
from costing.quote import Pattern
from loft.customers import boats_csv, list_changes

#: The button that changes the list in the box and prices nothing.
BUTTON = "change_list"
_FIELD = re.compile(r"(pattern|further)_(\d{1,6})")


@dataclass(frozen=True, slots=True)
class LineChoice:
    """A line of the list with the code of its pattern as far as it is known: empty is the batch's own."""

    line: list_changes.ListLine
    code: str


def of_class(code: str, newest: Mapping[str, Pattern]) -> tuple[Pattern, ...]:
    """The patterns that may stand in one batch with this one, itself first."""
    if code not in newest:
        return ()
    own = newest[code]
    return (own, *(p for p in newest.values() if p.class_code == own.class_code and p.code != code))


def choices(text: str, patterns: Sequence[Pattern]) -> tuple[LineChoice, ...]:
    """The lines to choose for; none where there is nothing to choose, or the list cannot be read as a table."""
    if len(patterns) < 2 or not text.strip():
        return ()
    words = boats_csv.pattern_words(patterns)
    try:
        return tuple(LineChoice(line, words.get(line.pattern.casefold(), "")) for line in list_changes.lines(text.encode()))
    except InputError:
        return ()


def changed(text: str, sent: Mapping[str, object], patterns: Sequence[Pattern]) -> str:
    """The list with what was chosen for its lines; what is no pattern of the class is passed over.

    The text as it is where nothing was chosen, or where it is no table.
    """
    codes = {p.code for p in patterns}
    found: dict[str, dict[int, str]] = {"pattern": {}, "further": {}}
    for name, value in sent.items():
        field = _FIELD.fullmatch(name)
        if field and (value in codes or (value == "" and field[1] == "pattern")):
            found[field[1]][int(field[2])] = str(value)
    untouched = {choice.line.row: choice.code for choice in choices(text, patterns)}
    chosen = {row: code for row, code in found["pattern"].items() if untouched.get(row, code) != code}
    if not chosen and not found["further"]:
        return text
    try:
        return list_changes.changed(text.encode(), patterns=chosen, further=found["further"]).decode()
    except InputError:
        return text
