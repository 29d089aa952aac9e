"""SQLite's writers in one process have their turns in the order in which they came, and nobody keeps a turn for ever."""

from __future__ import annotations

import threading
import time
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from loft.common.fair_sqlite3.queue import Queue
from loft.common.models import Counter
from tests.journeys.at_once import together


def _waiting(queue: Queue, so_many: int) -> None:
    end = time.monotonic() + 10
    while len(queue._waiting) < so_many:
        assert time.monotonic() < end, f"{len(queue._waiting)} of {so_many} wait"
        time.sleep(0.001)


def test_turns_come_in_the_order_of_asking() -> None:
    queue, order = Queue(), []
    assert queue.enter(timeout=1)

    def one(number: int) -> None:
        assert queue.enter(timeout=30)
        order.append(number)
        queue.leave()

    threads = [threading.Thread(target=one, args=(number,)) for number in range(20)]
    for number, thread in enumerate(threads, start=1):
        thread.start()
        _waiting(queue, number)
    queue.leave()
    for thread in threads:
        thread.join(timeout=30)
    assert order == list(range(20))
    assert queue.enter(timeout=0)


def test_who_has_waited_long_enough_goes_without_and_does_not_hold_up_the_next() -> None:
    queue = Queue()
    assert queue.enter(timeout=1)
    assert not queue.enter(timeout=0.01)
    queue.leave()
    assert queue.enter(timeout=0)


sqlite_only = pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL has its own queues")


@sqlite_only
@pytest.mark.parametrize("ending", ["committed", "rolled back", "refused by the database", "connection closed"])
def test_a_turn_ends_with_its_transaction(ending: str, transactional_db: None) -> None:
    wrapper: Any = connection
    if ending == "committed":
        Counter.objects.create(series="a")
    elif ending == "connection closed":
        wrapper._start_transaction_under_autocommit()
        assert wrapper._has_turn
        connection.close()
    else:
        with pytest.raises((RuntimeError, DatabaseError)), transaction.atomic():
            assert wrapper._has_turn
            if ending == "rolled back":
                raise RuntimeError
            connection.cursor().execute("INSERT INTO no_such_table VALUES (1)")
    assert not wrapper._has_turn
    errors = [result for result in together([lambda: Counter.objects.create(series="b").pk]) if isinstance(result, Exception)]
    assert errors == []


@sqlite_only
def test_many_small_and_large_writes_at_once_all_happen(transactional_db: None) -> None:
    """Statements alone and whole transactions, from eight threads."""

    def work(number: int) -> None:
        for turn in range(20):
            Counter.objects.create(series=f"{number}-{turn}")
            with transaction.atomic():
                Counter.objects.filter(series=f"{number}-{turn}").update(last=turn)
                Counter.objects.filter(series=f"{number}-0").update(last=100 + turn)

    results = together([lambda number=number: work(number) for number in range(8)])
    assert [r for r in results if r is not None] == []
    assert Counter.objects.count() == 160
    assert set(Counter.objects.filter(series__endswith="-0").values_list("last", flat=True)) == {119}
