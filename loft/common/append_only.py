"""The audit's own lock: triggers that refuse to change or delete what was written, on SQLite and on PostgreSQL.

A migration that alters one of these tables must call `put_up` again: SQLite makes a new table then, and the triggers go with the old one.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.exceptions import ImproperlyConfigured
from django.db import connection

# table -> what is refused. The personal part of an entry is deleted when a customer's data is erased, and never changed.
_REFUSED = {"common_auditentry": ("UPDATE", "DELETE"), "common_auditpersonal": ("UPDATE",)}


def put_up(database: Any = connection) -> None:
    """Create the triggers; NotSupportedError on a database for which none are written."""
    take_down(database)
    _run(database, _SQLITE_UP if database.vendor == "sqlite" else _POSTGRES_UP)


def take_down(database: Any = connection) -> None:
    """Drop the triggers: only for emptying a whole database that holds nothing to keep."""
    if database.vendor not in ("sqlite", "postgresql"):
        raise ImproperlyConfigured(f"no append-only triggers for {database.vendor}: use SQLite or PostgreSQL")
    _run(database, _SQLITE_DOWN if database.vendor == "sqlite" else _POSTGRES_DOWN)


@contextmanager
def lifted(database: Any = connection) -> Iterator[None]:
    """Inside the block the tables may be emptied, as `flush` does for the demo and the tests."""
    take_down(database)
    try:
        yield
    finally:
        put_up(database)


def _run(database: Any, statements: tuple[str, ...]) -> None:
    with database.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def _name(table: str, event: str) -> str:
    return f"{table}_no_{event.lower()}"


_SQLITE_UP = tuple(
    f"CREATE TRIGGER {_name(table, event)} BEFORE {event} ON {table} BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
    for table, events in _REFUSED.items()
    for event in events
)
_SQLITE_DOWN = tuple(f"DROP TRIGGER IF EXISTS {_name(table, event)}" for table, events in _REFUSED.items() for event in events)

_POSTGRES_UP = (
    """CREATE OR REPLACE FUNCTION common_append_only() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation'; END $$""",
    *(
        f"CREATE TRIGGER {_name(table, event)} BEFORE {event} ON {table} FOR EACH ROW EXECUTE FUNCTION common_append_only()"
        for table, events in _REFUSED.items()
        for event in events
    ),
    *(
        f"CREATE TRIGGER {_name(table, 'TRUNCATE')} BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION common_append_only()"
        for table in _REFUSED
    ),
)
_POSTGRES_DOWN = tuple(
    f"DROP TRIGGER IF EXISTS {_name(table, event)} ON {table}" for table, events in _REFUSED.items() for event in (*events, "TRUNCATE")
)
