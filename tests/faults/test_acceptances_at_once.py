"""Many people press "accept" on the same quotes at the same moment: one order a quote, numbers without a gap."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from loft.jobs.models import Job
from loft.orders.models import Order, OrderLine, Revision
from loft.workshop.models import Ticket
from tests import desk
from tests.faults import clients
from tests.faults.counts import FULL, count

QUOTES, PEOPLE = count(full=20, short=4), count(full=32, short=8)
LONGEST_S = 5.0
FORM = {"name": "Hester Lorne", "agreed": "on"}


@pytest.mark.figure(f"{PEOPLE} acceptances at once of each of {QUOTES} quotes", f"{QUOTES} orders, gapless, no 5xx, p99 <= 5 s")
def test_acceptances_at_once_open_one_order_a_quote(
    loft: None, manager: User, server: Callable[..., Any], record_property: Callable[[str, object], None]
) -> None:
    paths = [f"/accept/{desk.token_of(desk.issued(manager, now=timezone.now()))}/" for _ in range(QUOTES)]
    web = server()
    web.start()
    replies = _accept_all(clients.Client(web.port), paths)
    p99 = clients.slowest_but_one_percent(replies)
    numbers = sorted(Order.objects.values_list("number", flat=True))
    record_property("measured", f"{len(numbers)} orders, {clients.statuses(replies)}, p99 {p99:.2f} s")
    assert numbers == list(range(1, QUOTES + 1))
    assert len(replies) == QUOTES * PEOPLE
    assert set(clients.statuses(replies)) <= {200, 302}, web.printed()[-2000:]
    assert (OrderLine.objects.count(), Ticket.objects.count()) == (2 * QUOTES, 2 * QUOTES)
    assert Revision.objects.filter(state="accepted").count() == QUOTES
    assert Job.objects.filter(key__startswith="order_accepted:").count() == QUOTES
    assert p99 <= LONGEST_S or not FULL


def _accept_all(client: clients.Client, paths: list[str]) -> list[clients.Reply]:
    """Half of the quotes one by one, everybody at the same; the other half all at once, everybody beginning elsewhere."""
    gate = threading.Barrier(PEOPLE)
    half = len(paths) // 2

    def person(index: int) -> list[clients.Reply]:
        replies = []
        for path in paths[:half]:
            gate.wait(timeout=60)
            replies.append(client.post_form(path, FORM))
        rest = paths[half:]
        turn = index % len(rest)
        return replies + [client.post_form(path, FORM) for path in (*rest[turn:], *rest[:turn])]

    works = [lambda index=index: person(index) for index in range(PEOPLE)]
    return [reply for replies in clients.together(works) for reply in replies]
