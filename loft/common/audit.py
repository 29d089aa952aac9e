"""Who did what, when, and what stood there before and after: one row for each write, in the transaction of the write.

Rows are never changed or deleted; the database's own triggers refuse it. What says something about a person goes into a part of its own,
which is deleted when that person's data is erased; the rest must say nothing personal.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import connection
from django.db.models import Model

from loft.common.models import AuditEntry, AuditPersonal

Values = Mapping[str, Any]

#: Whose names are personal, so that an entry calls them by number.
_BY_NUMBER = frozenset({"customer", "boat"})

THE_CUSTOMER = "the customer"
THE_SERVICE = "the service"

# What is recorded inside `together` and not stored yet: an entry with its personal part, which may be empty.
_waiting: ContextVar[list[AuditPersonal] | None] = ContextVar("audit_waiting", default=None)


def record(
    action: str,
    row: Model,
    *,
    by: User | None,
    before: Values | None = None,
    after: Values | None = None,
    personal: Collection[str] = (),
    who: str = THE_SERVICE,
) -> AuditEntry:
    """Note a write; call it inside the transaction that writes. RuntimeError outside of one.

    before, after: the values that the write touched; where both are given, only what differs is kept. personal: the names among them
    that are erased with the person. who: used when nobody who signed in did it.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("audit.record() must be called inside the transaction that it reports")
    old, new = _differing(before or {}, after or {})
    entry = _entry(action, row, by, who, _without(old, personal), _without(new, personal))
    _note([AuditPersonal(entry=entry, before=_only(old, personal), after=_only(new, personal))])
    return entry


def record_all(
    action: str, rows: Iterable[Model], *, by: User | None, before: Values | None = None, after: Values | None = None,
    who: str = THE_SERVICE,
) -> None:  # fmt: skip
    """Note the same write on many rows with one statement; nothing personal among the values."""
    if not connection.in_atomic_block:
        raise RuntimeError("audit.record_all() must be called inside the transaction that it reports")
    old, new = _plain(before or {}), _plain(after or {})
    _note([AuditPersonal(entry=_entry(action, row, by, who, old, new), before={}, after={}) for row in rows])


@contextmanager
def together() -> Iterator[None]:
    """Store what is recorded in this block with one statement at its end; use it inside the transaction, around several writes."""
    notes: list[AuditPersonal] = []
    token = _waiting.set(notes)
    try:
        yield
    finally:
        _waiting.reset(token)
    _store(notes)


def values(row: Model, *names: str) -> dict[str, Any]:
    """Some columns of a row as they stand, for before and after."""
    return {name: getattr(row, name) for name in names}


def forget_personal(subjects: Mapping[str, Collection[int]]) -> int:
    """Delete the personal parts of every entry about these rows (kind -> primary keys); how many there were."""
    gone = 0
    for kind, keys in subjects.items():
        gone += AuditPersonal.objects.filter(entry__subject_kind=kind, entry__subject_id__in=list(keys)).delete()[0]
    return gone


def kind_of(row: Model) -> str:
    """How entries call this kind of row."""
    return str(row._meta.model_name)


def _note(notes: list[AuditPersonal]) -> None:
    waiting = _waiting.get()
    if waiting is None:
        _store(notes)
    else:
        waiting.extend(notes)


def _store(notes: list[AuditPersonal]) -> None:
    """The entries, and beside them the personal parts of those that have one."""
    AuditEntry.objects.bulk_create(note.entry for note in notes)
    private = [note for note in notes if note.before or note.after]
    for note in private:
        note.entry_id = note.entry.pk
    if private:
        AuditPersonal.objects.bulk_create(private)


def _entry(action: str, row: Model, by: User | None, who: str, before: Values, after: Values) -> AuditEntry:
    kind = kind_of(row)
    label = f"{kind} {row.pk}" if kind in _BY_NUMBER else str(row)
    return AuditEntry(
        action=action, by=by, who=by.get_username() if by is not None else who,
        subject_kind=kind, subject_id=row.pk, subject=label[:120], before=before, after=after,
    )  # fmt: skip


def _differing(before: Values, after: Values) -> tuple[dict[str, Any], dict[str, Any]]:
    old, new = _plain(before), _plain(after)
    if old and new:
        same = {name for name in old.keys() & new.keys() if old[name] == new[name]}
        return _without(old, same), _without(new, same)
    return old, new


def _plain(values: Values) -> dict[str, Any]:
    """The values as JSON can carry them exactly: days, instants and decimals as text."""
    return {name: str(v) if isinstance(v, date | datetime | Decimal) else v for name, v in values.items()}


def _only(values: Values, names: Collection[str]) -> dict[str, Any]:
    return {name: v for name, v in values.items() if name in names}


def _without(values: Values, names: Collection[str]) -> dict[str, Any]:
    return {name: v for name, v in values.items() if name not in names}
