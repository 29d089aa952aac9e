"""The broker cannot be reached for a while: nobody at the desk notices, and afterwards everything that waited is done."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.contrib.auth.models import User

from loft.jobs.models import Job
from loft.jobs.states import State
from tests import desk
from tests.faults import clients
from tests.faults.counts import BROKERS, FULL, count
from tests.faults.processes import Program
from tests.faults.proxy import Proxy, broker_behind_proxy

DOWN_S = count(full=60, short=4)
DRAINED_WITHIN_S = 60
CLIENTS = 2
#: The slowest answer that still counts as served; a nudge may cost a second (loft/jobs/nudge.py).
LONGEST_S = 10.0


@pytest.fixture
def proxied(through: str) -> Iterator[tuple[Proxy, str]]:
    with broker_behind_proxy(through) as pair:
        yield pair


@pytest.mark.parametrize("through", BROKERS, indirect=True)
@pytest.mark.figure(f"the broker down for {DOWN_S} s: refused, then silent", f"0 failed requests, drained within {DRAINED_WITHIN_S} s")
def test_a_broker_that_is_down_fails_no_request(
    loft: None, manager: User, key_to_the_api: str, proxied: tuple[Proxy, str], server: Callable[..., Any],
    program: Callable[..., Program], queues: str, record_property: Callable[[str, object], None],
) -> None:  # fmt: skip
    proxy, url = proxied
    drafts = [desk.draft(desk.ONE_BOAT).quote_id for _ in range(DOWN_S * CLIENTS)]
    celery = ("-m", "celery", "-A", "loft.celery") if FULL else ("-m", "tests.faults.programs.short_lease", "celery")
    worker = program("celery", *celery, "worker", "-Q", queues, "-c", "2", "--without-gossip", LOFT_BROKER_URL=url)
    beat = program("beat", *celery, "beat", LOFT_BROKER_URL=url)
    web = server(environment_too={"LOFT_BROKER_URL": url})
    for one in (web, worker, beat):
        one.start()
    client = clients.Client(web.port, key_to_the_api)
    _issue(client, drafts.pop())
    _drained(within_s=120)  # the worker starts meanwhile
    replies = _issue_while_down(client, proxy, drafts)
    waiting = Job.objects.filter(lane="mail").exclude(state=State.DONE).count()
    proxy.restore()
    drained_s = _drained(within_s=DRAINED_WITHIN_S)
    slowest = max(reply.seconds for reply in replies)
    told = f"{clients.statuses(replies)}, slowest {slowest:.1f} s; {waiting} letters waited, drained in {drained_s:.0f} s"
    record_property("measured", told)
    assert set(clients.statuses(replies)) == {200}, web.printed()[-2000:]
    assert waiting >= 1, "nothing waited: the broker was not down"
    assert slowest <= LONGEST_S or not FULL


def _issue(client: clients.Client, quote: int) -> clients.Reply:
    return client.post(f"/api/quotes/{quote}/issue/", {}, key=uuid.uuid4().hex)


def _issue_while_down(client: clients.Client, proxy: Proxy, drafts: list[int]) -> list[clients.Reply]:
    """Issue from two desks until the time is over; the port is closed for the first half, open and silent for the other."""
    started = time.monotonic()
    proxy.refuse()

    def desk_of_one(mine: list[int]) -> list[clients.Reply]:
        replies = []
        while mine and time.monotonic() < started + DOWN_S:
            replies.append(_issue(client, mine.pop()))
            time.sleep(max(0.0, 1 - replies[-1].seconds))  # a quote a second is a busy desk
        return replies

    def silence() -> list[clients.Reply]:
        time.sleep(DOWN_S / 2)
        proxy.swallow()
        time.sleep(DOWN_S / 2)
        return []

    desks = [lambda mine=drafts[n::CLIENTS]: desk_of_one(mine) for n in range(CLIENTS)]
    return [reply for replies in clients.together([*desks, silence]) for reply in replies]


def _drained(*, within_s: float) -> float:
    """Wait until every letter has gone; seconds. AssertionError when that takes too long."""
    started = time.monotonic()
    while (rest := Job.objects.filter(lane="mail").exclude(state=State.DONE)).exists():
        assert time.monotonic() < started + within_s, f"{rest.count()} letters still wait after {within_s} s"
        time.sleep(0.2)
    return time.monotonic() - started
