"""The database: SQLite in var/ unless DATABASE_URL says otherwise."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import dj_database_url

# With Django's defaults most multi-step writes of eight clients at once fail with "database is locked"; a write lock taken
# at the start of the transaction and a patient busy handler let all of them through, and a queue before it lets nobody wait
# for ever (loft/common/fair_sqlite3). Opening a connection reads the whole schema, so that one is kept for a while.
_SQLITE_OPTIONS = {
    "timeout": 30,
    "transaction_mode": "IMMEDIATE",
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
}


def database(var: Path) -> dict[str, Any]:
    """The entry for DATABASES["default"]."""
    url = os.environ.get("DATABASE_URL") or f"sqlite:///{var / 'loft.sqlite3'}"
    entry: dict[str, Any] = dict(dj_database_url.parse(url, conn_health_checks=True))
    if entry["ENGINE"] == "django.db.backends.sqlite3":
        entry["ENGINE"] = "loft.common.fair_sqlite3"
        entry["OPTIONS"] = {**entry.get("OPTIONS", {}), **_SQLITE_OPTIONS}
    entry["CONN_MAX_AGE"] = 60
    return entry
