"""A lock that is had in the order in which it was asked for."""

from __future__ import annotations

from collections import deque
from threading import Lock


class Queue:
    """Who asks first has the next turn; Python's own Lock promises no order, and SQLite's waiters sleep and try again."""

    def __init__(self) -> None:
        self._mutex = Lock()
        self._taken = False
        self._waiting: deque[Lock] = deque()

    def enter(self, *, timeout: float) -> bool:
        """Wait for the turn, at most so many seconds; whether it came."""
        with self._mutex:
            if not self._taken:
                self._taken = True
                return True
            turn = Lock()
            turn.acquire()
            self._waiting.append(turn)
        if turn.acquire(timeout=timeout):
            return True
        with self._mutex:
            if turn not in self._waiting:  # it came in the last moment
                return True
            self._waiting.remove(turn)
            return False

    def leave(self) -> None:
        """Give the turn to the next."""
        with self._mutex:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._taken = False
