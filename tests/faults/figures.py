"""The figures of a run: one row for each, and the table of them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

#: How a test begins the reason of its skip when its question makes no sense on this database.
NOT_ASKED_HERE = "not asked here"


class Verdict(StrEnum):
    """MISSED: measured, and not what was asked. BROKEN: there was no measuring it. The last two say why in place of a figure."""

    HOLDS = "ok"
    MISSED = "MISSED"
    BROKEN = "BROKEN"
    NOT_TRIED = "not tried"
    NOT_ASKED = "not asked here"


@dataclass(frozen=True, slots=True)
class Row:
    """One figure: what was done, on which database and broker, what was asked and found, and in how many seconds."""

    what: str
    place: str
    asked: str
    found: str
    verdict: Verdict
    seconds: int

    @property
    def wrong(self) -> bool:
        return self.verdict in (Verdict.MISSED, Verdict.BROKEN)


def read(file: Path) -> list[Row]:
    """The rows of a file with one JSON object a line; none when there is no file."""
    lines = file.read_text(encoding="utf-8").splitlines() if file.exists() else []
    return [Row(**{**row, "verdict": Verdict(row["verdict"])}) for row in map(json.loads, lines)]


def table(rows: Sequence[Row]) -> str:
    """All rows, those of one figure together."""
    names = list(dict.fromkeys(row.what for row in rows))
    ordered = sorted(rows, key=lambda row: names.index(row.what))
    cells = [("figure", "database, broker", "asked", "found", "seconds", "verdict"), ("---",) * 6]
    cells += [(row.what, row.place, row.asked, " ".join(row.found.split()), f"{row.seconds:,}", row.verdict) for row in ordered]
    return "\n".join("| " + " | ".join(line) + " |" for line in cells)
