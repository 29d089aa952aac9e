"""Several people at the same moment, each on a connection of his own."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

from django.db import connection


def together(works: list[Callable[[], Any]]) -> list[Any]:
    """Run each in a thread of its own, begun at the same moment; results in order, an exception as itself."""
    ready = threading.Barrier(len(works))
    results: list[Any] = [None] * len(works)

    def run(index: int) -> None:
        try:
            ready.wait(timeout=20)
            results[index] = works[index]()
        except Exception as error:  # handed to the test, which says what it expects
            results[index] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(i,)) for i in range(len(works))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=90)
    return results
