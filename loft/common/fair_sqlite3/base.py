"""Django's SQLite, where the threads of a process write in the order in which they came.

SQLite lets one write at a time; the others sleep, longer with every try, and whoever wakes at the right moment is next. Of eight
writers one in a hundred waited for over a second. Here they queue before they ask SQLite. Other processes are still met there, with its
own patience (the option "timeout"). The queue refuses nobody: whose turn has not come in that time asks SQLite all the same.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db.backends.sqlite3 import base

from loft.common.fair_sqlite3.queue import Queue

_queues: dict[str, Queue] = {}
_WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE")


class DatabaseWrapper(base.DatabaseWrapper):
    """A connection that waits for its turn before it writes."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._has_turn = False
        self.execute_wrappers.append(self._write_in_turn)

    def _start_transaction_under_autocommit(self) -> None:
        if self.transaction_mode == "IMMEDIATE":  # type: ignore[attr-defined]  # not in the stubs
            self._enter()
        try:
            super()._start_transaction_under_autocommit()  # type: ignore[misc]  # not in the stubs
        finally:
            self._leave()

    def _write_in_turn(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        """A statement outside a transaction is a transaction of its own."""
        if self.in_atomic_block or not sql.startswith(_WRITES):
            return execute(sql, params, many, context)
        self._enter()
        try:
            return execute(sql, params, many, context)
        finally:
            self._leave()

    def _commit(self) -> None:
        try:
            super()._commit()  # type: ignore[misc]  # not in the stubs
        finally:
            self._leave()

    def _rollback(self) -> None:
        try:
            super()._rollback()  # type: ignore[misc]  # not in the stubs
        finally:
            self._leave()

    def _close(self) -> None:
        try:
            super()._close()  # type: ignore[misc]  # not in the stubs
        finally:
            self._leave(closed=True)

    def _enter(self) -> None:
        if not self._has_turn:
            name = str(self.settings_dict["NAME"])
            self._has_turn = _queues.setdefault(name, Queue()).enter(timeout=self.settings_dict["OPTIONS"].get("timeout", 5))

    def _leave(self, *, closed: bool = False) -> None:
        """Give the turn on, unless the transaction is still open."""
        if self._has_turn and (closed or self.connection is None or not self.connection.in_transaction):
            self._has_turn = False
            _queues[str(self.settings_dict["NAME"])].leave()
