"""The queues that a test's workers have left on a broker."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence

from kombu import Connection, Exchange, Queue

LANES = ("mail", "compute")


def names(prefix: str) -> list[str]:
    """The queues of a service with this LOFT_QUEUE_PREFIX."""
    return [f"{prefix}{lane}" for lane in LANES]


def delete(prefix: str, brokers: Sequence[str]) -> None:
    """Take the queues off each broker that answers, with the exchanges that Celery makes of the same names."""
    for url in brokers:
        connection = Connection(url, connect_timeout=2)
        with contextlib.suppress(OSError, *connection.connection_errors), connection:
            channel = connection.channel()
            for name in names(prefix):
                # Only what a channel has declared itself is forgotten whole on Redis.
                queue = Queue(name, Exchange(name), name)(channel)
                queue.declare()
                queue.delete()
                queue.exchange.delete()
