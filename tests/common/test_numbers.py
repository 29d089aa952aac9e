"""Numbers without a gap, whoever asks at the same moment and whatever is rolled back."""

from __future__ import annotations

import threading

import pytest
from django.db import connection, transaction

from loft.common import services


@pytest.mark.django_db
def test_each_series_counts_from_one() -> None:
    assert [services.next_number(series="quote") for _ in range(3)] == [1, 2, 3]
    assert services.next_number(series="order") == 1
    assert services.upcoming_number(series="quote") == 4


@pytest.mark.django_db
def test_a_rolled_back_number_is_given_again() -> None:
    services.next_number(series="quote")
    with pytest.raises(ValueError, match="no"), transaction.atomic():
        assert services.next_number(series="quote") == 2
        raise ValueError("no")
    assert services.next_number(series="quote") == 2


@pytest.mark.django_db(transaction=True)
def test_outside_a_transaction_it_refuses() -> None:
    with pytest.raises(RuntimeError, match="inside the transaction"):
        services.next_number(series="quote")


@pytest.mark.django_db(transaction=True)
def test_eight_threads_leave_no_gap_even_where_some_fail() -> None:
    start = threading.Barrier(8)
    given: list[int] = []

    def take(thread: int) -> None:
        try:
            start.wait(20)
            for turn in range(5):
                try:
                    with transaction.atomic():
                        number = services.next_number(series="quote")
                        if (thread + turn) % 3 == 0:
                            raise ValueError("this one fails")
                    given.append(number)
                except ValueError:
                    continue
        finally:
            connection.close()

    threads = [threading.Thread(target=take, args=(i,)) for i in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert len(given) == sum((thread + turn) % 3 != 0 for thread in range(8) for turn in range(5))
    assert sorted(given) == list(range(1, len(given) + 1))
