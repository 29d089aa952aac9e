"""Eight people write at once for a minute, with the background work beside them: nobody waits long, and no write fails."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.utils import timezone

from loft.customers.models import Customer
from loft.jobs import mail
from loft.orders.models import Payment
from tests import desk
from tests.faults import clients
from tests.faults.counts import FULL, count
from tests.faults.processes import Program

WRITERS, SECONDS = 8, count(full=60, short=4)
LONGEST_S = 0.5


@pytest.mark.figure(f"{WRITERS} writers for {SECONDS} s, a worker beside them", 'SQLite: 0 "database is locked", p99 <= 500 ms')
def test_eight_writers(
    loft: None, manager: User, key_to_the_api: str, server: Callable[..., Any], program: Callable[..., Program],
    record_property: Callable[[str, object], None],
) -> None:  # fmt: skip
    order = desk.accepted(manager, desk.ONE_BOAT)
    revision = desk.issued(manager, desk.ONE_BOAT, now=timezone.now())
    for number in range(SECONDS * 5):
        mail.enqueue_letter(name="quote_issued", key=f"letter:{number}", payload={"revision": revision.pk})
    web, worker = server(processes=1), program("worker", "manage.py", "worker")
    web.start()
    worker.start()
    client = clients.Client(web.port, key_to_the_api)
    before = Customer.objects.count()
    writers = [lambda number=number: _write(client, order.pk, number) for number in range(WRITERS)]
    replies = [reply for one in clients.together(writers) for reply in one]
    worker.stop()
    locked = sum("database is locked" in printed for printed in (web.printed(), worker.printed()))
    p99 = clients.slowest_but_one_percent(replies)
    record_property("measured", f"{locked} locked, {len(replies):,} writes, {clients.statuses(replies)}, p99 {p99 * 1000:.0f} ms")
    assert locked == 0
    assert set(clients.statuses(replies)) == {201}, web.printed()[-2000:]
    assert Customer.objects.count() - before + Payment.objects.count() == len(replies)
    assert p99 <= LONGEST_S or connection.vendor != "sqlite" or not FULL


def _write(client: clients.Client, order: int, number: int) -> list[clients.Reply]:
    """New customers and payments by turns, until the time is over."""
    end, replies = time.monotonic() + SECONDS, []
    customer = {"kind": "person", "name": f"Customer {number}", "email": "person@skerling.example", "buyer": "private"}
    payment = {"amount": "0.01", "received_on": "2026-03-02", "reference": f"writer {number}"}
    turns = ((f"/api/orders/{order}/payments/", payment), ("/api/customers/", customer))
    while time.monotonic() < end:
        path, body = turns[len(replies) % 2]
        replies.append(client.post(path, body, key=uuid.uuid4().hex))
    return replies
