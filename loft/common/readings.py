"""Readings of one size as they are typed in: how many are kept, which one counts, and that it is said how and by whom they were taken."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import TypeVar

from costing.errors import Collector

MOST = 10
LONGEST_NAME = 200
_T = TypeVar("_T")


def middle(found: Sequence[_T], *, by: Callable[[_T], Decimal]) -> _T:
    """The middle one of several readings, of an even number the smaller of the two in the middle."""
    return sorted(found, key=by)[(len(found) - 1) // 2]


def filled(path: str, texts: Sequence[str], wrong: Collector) -> list[str]:
    """The readings that are not blank; none, and a problem, for more than are kept."""
    given = [text for text in texts if text.strip()]
    if len(given) > MOST:
        wrong.add(path, "too_many", f"at most {MOST} readings")
        return []
    return given


def check_taken(how: str, by: str, wrong: Collector, *, longest_how: int) -> None:
    """Add a problem where it is not said, or at too great length, how a measurement was taken and by whom."""
    asked = (("how", how, longest_how, "say how it was taken"), ("taken_by", by, LONGEST_NAME, "say who took it"))
    for field, text, most, missing in asked:
        if not text.strip():
            wrong.add(field, "missing", missing)
        elif len(text) > most:
            wrong.add(field, "too_long", f"has {len(text)} characters; at most {most} are kept")
