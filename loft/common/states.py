"""State machines: a table of allowed moves, and the only writers of a state column.

A move checks the table and then updates the row only where it is still in the state that was read: no lock, no lost move.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import CheckConstraint, Model, Q, QuerySet

from loft.common.errors import Conflict


@dataclass(frozen=True, slots=True)
class StateTable:
    """The states of one kind of thing, and from each the states that it may move to."""

    what: str
    moves: Mapping[str, frozenset[str]]

    def allows(self, old: str, new: str) -> bool:
        return new in self.moves[old]

    def check(self, old: str, new: str) -> None:
        """Raise Conflict when the table has no such move."""
        if not self.allows(old, new):
            raise Conflict(f"a {self.what} that is {_words(old)} cannot become {_words(new)}")


def move_to(row: Model, new: str, table: StateTable, *, only_if: Q | None = None, **stamps: Any) -> None:
    """Move one row to a new state and set its stamps; Conflict when the table forbids it or somebody was faster.

    only_if: a further condition checked in the same statement (a validity, for example). The row in memory is brought up to date.
    """
    old: str = getattr(row, "state")  # noqa: B009  every model with a table has the column
    table.check(old, new)
    still_there = type(row)._default_manager.filter(pk=row.pk, state=old)
    if only_if is not None:
        still_there = still_there.filter(only_if)
    if still_there.update(state=new, **stamps) == 0:
        raise Conflict(f"this {table.what} is no longer {_words(old)}: somebody was faster, or its time is over")
    for name, value in {"state": new, **stamps}.items():
        setattr(row, name, value)


def move_all(rows: QuerySet[Any], old: str, new: str, table: StateTable, **stamps: Any) -> int:
    """Move every row of a query that is in `old` to `new`, in one statement; how many moved."""
    table.check(old, new)
    return rows.filter(state=old).update(state=new, **stamps)


def _words(state: str) -> str:
    return state.replace("_", " ")


def stamped_in(stamp: str, states: Iterable[str], *, name: str) -> CheckConstraint:
    """The database's own rule that a stamp is set in these states and in no other."""
    inside = sorted(states)
    return CheckConstraint(
        condition=Q(state__in=inside, **{f"{stamp}__isnull": False}) | (~Q(state__in=inside) & Q(**{f"{stamp}__isnull": True})),
        name=name,
    )
