"""What a pattern that can be quoted still leaves out: characters of its numbers, places of its steps, a headboard that fits its head."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from decimal import Decimal

from costing.quote.numbering import OPTION
from costing.quote.pattern import Pattern
from costing.quote.priced import Design
from costing.quote.tickets import FLOOR, placed
from costing.rules.plausible import in_words
from costing.work.standards import LabourStandards

_SIZE = re.compile(r"(\d+(?:\.\d+)?) ?mm\b")
#: How much narrower than the head a headboard may be: its covering cloth (common practice, no source).
_COVER_MM = Decimal(10)
_NUMBERS = frozenset({"number", "number_character"})


def no_characters(pattern: Pattern) -> str:
    """What is missing where the kit has no characters for a number that a sail wears; empty where it has some."""
    if any(item.per == "number_character" and item.option in ("", OPTION) for item in pattern.kit):
        return ""
    return f'no row of [[kit]] of {pattern.code} is per = "number_character": the minutes of its sail numbers are charged and no characters'


def told(
    pattern: Pattern, sails: Collection[Design], labour: LabourStandards | None, names: Mapping[str, str], *, numbers: bool
) -> Iterator[str]:
    """A warning for each gap. sails: as it is tried; names: of materials, as the lists have them; numbers: whether a sail may wear some."""
    if numbers and (missing := no_characters(pattern)):
        yield missing
    if labour is not None:
        driven = {d.code for sail in sails for d in sail.takeoff.drivers} | (_NUMBERS if numbers else frozenset())
        yield from _without_a_place(pattern, labour, driven)
    yield from dict.fromkeys(said for sail in sails for said in _headboards(pattern, sail, names))


def _without_a_place(pattern: Pattern, labour: LabourStandards, driven: Collection[str]) -> Iterator[str]:
    """Operations that a sail takes and that the pattern's steps do not name."""
    done = [o for o in labour.operations if o.station in FLOOR and any(term.driver in driven for term in o.terms)]
    order = placed([o.operation for o in done], pattern.steps)
    for operation in done:
        if operation.operation not in pattern.steps:
            after = order[order.index(operation.operation) + 1 :]
            place = f"before {next(o.label for o in done if o.operation == after[0])!r}" if after else "last of all"
            yield f"steps does not name {operation.operation!r} ({operation.label}), which such a sail takes: it is put {place}"


def _headboards(pattern: Pattern, sail: Design, names: Mapping[str, str]) -> Iterator[str]:
    """A headboard whose size, in its note or its name on the list, is not that of the sail's head."""
    top = next((t.value for t in sail.targets if t.measurement == "top_width"), None)
    for item in pattern.kit:
        sizes = {Decimal(mm) for text in (item.note, names.get(item.material, "")) for mm in _SIZE.findall(text)}
        if item.counts_as == "headboard" and top is not None and sizes and not any(0 <= top - size <= _COVER_MM for size in sizes):
            said = " and ".join(in_words(size) for size in sorted(sizes))
            wrong = f"a headboard is at most {in_words(_COVER_MM)} narrower than the head, and never wider"
            yield f"{item.material} of the kit is {said}, and the top width is {in_words(top)}: {wrong}"


def of_batch(worn: Iterable[tuple[str, Pattern]]) -> Iterator[str]:
    """A warning for each pattern of which sails are priced with numbers and without characters. worn: such a sail's path and pattern."""
    rows: dict[str, list[str]] = {}
    for path, pattern in worn:
        if missing := no_characters(pattern):
            rows.setdefault(missing, []).append(path)
    yield from (f"{', '.join(paths)}: {missing}" for missing, paths in rows.items())
