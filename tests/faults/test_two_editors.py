"""Two people change the same thing at the same moment, each having read it before: one of them is told, and no change is lost."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from typing import Any

import pytest
from django.contrib.auth.models import User

from loft.orders.models import Order
from tests import desk
from tests.faults import clients
from tests.faults.counts import count

ROUNDS = count(full=100, short=10)
STALE = 412


@pytest.mark.figure(f"two editors of one order, {ROUNDS} rounds", "0 lost updates, one of the two told each time")
def test_no_update_is_lost(
    loft: None, manager: User, key_to_the_api: str, server: Callable[..., Any], record_property: Callable[[str, object], None]
) -> None:
    order = desk.accepted(manager, desk.ONE_BOAT)
    web = server()
    web.start()
    client = clients.Client(web.port, key_to_the_api)
    lost = both = 0
    for number in range(ROUNDS):
        tag = client.get(f"/api/orders/{order.pk}/").headers["ETag"]
        days = [date(2027, 1, 1) + timedelta(days=2 * number + editor) for editor in range(2)]
        replies = clients.together([partial(_promise, client, order, day, tag) for day in days])
        assert set(clients.statuses(replies)) <= {200, STALE}, replies
        won = [day for day, reply in zip(days, replies, strict=True) if reply.status == 200]
        both += len(won) == 2
        lost += won != [Order.objects.get(pk=order.pk).due_on]
    record_property("measured", f"{lost} lost, {both} times both were told that theirs was stored")
    assert (lost, both) == (0, 0)


def _promise(client: clients.Client, order: Order, day: date, seen: str) -> clients.Reply:
    return client.post(f"/api/orders/{order.pk}/due/", {"due_on": day.isoformat()}, seen=seen)
