"""The same Idempotency-Key many times at the same moment, and held by a process that was killed."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db.models import Model
from django.utils import timezone

from loft.common import idempotency
from loft.common.models import IdempotencyKey
from loft.customers.models import Customer
from loft.orders.models import AcceptanceLink, Payment, Quote, Revision
from tests import desk
from tests.faults import clients
from tests.faults.counts import FULL, count

SENDERS = count(full=50, short=12)
CUSTOMER = {"kind": "person", "name": "Tobias Fell", "email": "tobias@skerling.example", "buyer": "private"}
BATCH = {"new_customer": CUSTOMER, "pattern": desk.PATTERN, "csv": desk.ONE_BOAT.decode()}

Recorder = Callable[[str, object], None]


@pytest.mark.parametrize(("path", "body", "model"), [("/api/customers/", CUSTOMER, Customer), ("/api/quotes/", BATCH, Quote)])
@pytest.mark.figure(f"the same Idempotency-Key {SENDERS} times at once (customer; quote)", "1 row, every 201 the same")
def test_one_key_makes_one_row(
    path: str, body: dict[str, Any], model: type[Model],
    loft: None, key_to_the_api: str, server: Callable[..., Any], record_property: Recorder,
) -> None:  # fmt: skip
    web = server()
    web.start()
    client = clients.Client(web.port, key_to_the_api)
    replies = clients.together([lambda: client.post(path, body, key="the-same-key")] * SENDERS)
    record_property("measured", f"{model._default_manager.count()} row, {clients.statuses(replies)}")
    assert model._default_manager.count() == 1
    assert set(clients.statuses(replies)) <= {201, 409}, web.printed()[-2000:]
    made = [reply.body for reply in replies if reply.status == 201]
    assert made and set(made) == {client.post(path, body, key="the-same-key").body}


def _customer(manager: User) -> tuple[str, Any]:
    return "/api/customers/", CUSTOMER


def _quote(manager: User) -> tuple[str, Any]:
    return "/api/quotes/", BATCH


def _revision(manager: User) -> tuple[str, Any]:
    return f"/api/quotes/{desk.issued(manager, desk.ONE_BOAT, now=timezone.now()).quote_id}/revise/", {}


def _issue(manager: User) -> tuple[str, Any]:
    return f"/api/quotes/{desk.draft(desk.ONE_BOAT).quote_id}/issue/", {}


def _payment(manager: User) -> tuple[str, Any]:
    return f"/api/orders/{desk.accepted(manager, desk.ONE_BOAT).pk}/payments/", {"amount": "10.00", "received_on": "2026-03-02"}


#: What is made, how it is asked for, its rows, and the answer when it is made.
MAKERS: tuple[tuple[str, Callable[[User], tuple[str, Any]], type[Model], int], ...] = (
    ("customer", _customer, Customer, 201),
    ("quote", _quote, Quote, 201),
    ("revision", _revision, Revision, 201),
    ("issue", _issue, AcceptanceLink, 200),
    ("payment", _payment, Payment, 201),
)
#: How many rows of each kind the five requests make together: a quote comes with its customer and a first revision.
MADE = {"customer": 2, "quote": 1, "revision": 2, "issue": 1, "payment": 1}
KILLED_AT = [
    ("inside the write", "loft.common.idempotency:made", "nothing stored; made once when the lease is over"),
    ("after the write, before its answer is kept", "loft.common.idempotency:_keep", "made once; the sender is led to it"),
]


@pytest.mark.parametrize(("when", "die_at", "asked"), KILLED_AT, ids=["inside", "after"])
@pytest.mark.figure("a process killed while it holds a key, {when} (5 kinds of request)", "{asked}")
def test_a_killed_process_does_not_block_its_key(
    when: str, die_at: str, asked: str,
    loft: None, manager: User, key_to_the_api: str, server: Callable[..., Any], record_property: Recorder,
) -> None:  # fmt: skip
    asks = {what: ask(manager) for what, ask, _, _ in MAKERS}
    before = _stored()
    _kill_each(server, die_at, asks, key_to_the_api)
    inside = die_at.endswith(":made")
    assert (_stored() == before) == inside
    web = server(processes=1)
    web.start()
    client = clients.Client(web.port, key_to_the_api)
    still = {what: client.post(path, body, key=f"a-killed-{what}").status for what, (path, body) in asks.items()}
    assert set(still.values()) == {409}, still
    waited = _leases_are_over()
    replies = {what: client.post(path, body, key=f"a-killed-{what}") for what, (path, body) in asks.items()}
    record_property("measured", f"{ {what: reply.status for what, reply in replies.items()} } after {waited}")
    for what, _, _, made in MAKERS:
        assert replies[what].status == (made if inside else 303), replies[what].body
        assert inside or client.get(replies[what].headers["Location"]).status == 200
    assert _stored() == {what: rows + MADE[what] for what, rows in before.items()}


def _stored() -> dict[str, int]:
    """How many rows of each kind there are."""
    return {what: model._default_manager.count() for what, _, model, _ in MAKERS}


def _kill_each(server: Callable[..., Any], die_at: str, asks: dict[str, tuple[str, Any]], token: str) -> None:
    """Send each request to a server whose process dies in it; the next request finds a new process."""
    dying = server(application="tests.faults.programs.dying", environment_too={"LOFT_DIE_AT": die_at}, processes=1, preload=True)
    dying.start()
    for what, (path, body) in asks.items():
        with pytest.raises(clients.BROKEN):
            clients.Client(dying.port, token).post(path, body, key=f"a-killed-{what}")
    dying.kill()


def _leases_are_over() -> str:
    """In full the minute is waited for; otherwise the rows are made a minute older."""
    held = IdempotencyKey.objects.filter(key__startswith="a-killed-")
    assert held.count() == len(MAKERS)
    if FULL:
        last = max(held.values_list("lease_until", flat=True))
        time.sleep(max(0.0, (last - timezone.now()).total_seconds()) + 0.1)
        return f"{idempotency.LEASE.seconds} s"
    held.update(lease_until=timezone.now() - timedelta(seconds=1))
    return "leases made to end"
