"""kill -9 on the web server while customers and the desk make things: what a client was told is stored, and nothing is stored by half."""

from __future__ import annotations

import queue
import threading
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random
from typing import Any

import pytest
from django.contrib.auth.models import User

from loft.orders.models import Order, Quote, Revision
from tests import desk
from tests.faults import clients, integrity
from tests.faults.counts import SEED, count

KILLS, CLIENTS = count(full=20, short=3), 8
#: A kill comes when so many more requests have been answered, give or take.
BETWEEN_KILLS = count(full=60, short=15)
#: How long a client waits for an answer, and for how long the killer lets nobody be answered; on a busy machine a start alone takes long.
#: The killer waits longer: a client that is not answered is to be seen as that, and not as a killer without an answer.
PATIENCE_S, KILLERS_PATIENCE_S = 90, 200


@dataclass(slots=True)
class Seen:
    """What the clients were told, in the order in which they heard it."""

    quotes: list[int] = field(default_factory=list)
    issued: list[int] = field(default_factory=list)
    accepted: list[int] = field(default_factory=list)
    broken: int = 0
    unanswered: int = 0
    refused: list[tuple[int, bytes]] = field(default_factory=list)
    answers: queue.Queue[None] = field(default_factory=queue.Queue)
    over: threading.Event = field(default_factory=threading.Event)


@pytest.mark.figure(
    f"kill -9 the web server {KILLS} times under create load", "every 2xx a client saw is stored, nothing by half, integrity ok"
)
def test_what_clients_were_told_outlives_a_killed_server(
    loft: None, manager: User, key_to_the_api: str, server: Callable[..., Any], record_property: Callable[[str, object], None]
) -> None:
    desk.draft(desk.TWO_BOATS)
    web = server(preload=True)
    web.start()
    client, seen = clients.Client(web.port, key_to_the_api, timeout=PATIENCE_S), Seen()
    works = [lambda number=number: _make_things(client, seen, number) for number in range(CLIENTS)]
    clients.together([*works, lambda: _kill_now_and_then(web, seen)], timeout=850)
    wrong = _untrue(seen) + integrity.broken()
    told = f"{len(seen.quotes)} quotes, {len(seen.issued)} issues, {len(seen.accepted)} orders seen"
    record_property("measured", f"{told}, {seen.broken} cut off, {seen.unanswered} unanswered, {len(wrong)} wrong")
    assert not wrong, wrong[:10]
    assert not seen.refused, seen.refused[:3]
    assert not seen.unanswered, f"nothing for {PATIENCE_S} s: {web.printed()[-2000:]}"
    assert seen.broken >= KILLS // 2, "hardly a request was cut off: the kills came at idle moments"


def _kill_now_and_then(web: Any, seen: Seen) -> None:
    random = Random(SEED)
    try:
        for _ in range(KILLS):
            for _ in range(random.randint(BETWEEN_KILLS // 2, BETWEEN_KILLS * 3 // 2)):
                _next_answer(web, seen)
            web.kill()
            web.start()
    finally:
        seen.over.set()


def _next_answer(web: Any, seen: Seen) -> None:
    try:
        seen.answers.get(timeout=KILLERS_PATIENCE_S)
    except queue.Empty:
        pytest.fail(f"nobody was answered for {KILLERS_PATIENCE_S} s: {web.printed()[-2000:]}")


def _make_things(client: clients.Client, seen: Seen, number: int) -> None:
    """Draft, issue and accept quotes; after a cut connection go on with the next quote."""
    turn = 0
    while not seen.over.is_set():
        turn += 1
        customer = {"kind": "person", "name": f"Customer {number} {turn}", "email": "person@skerling.example", "buyer": "private"}
        body = {"new_customer": customer, "pattern": desk.PATTERN, "csv": desk.ONE_BOAT.decode()}
        try:
            quote = _answer(seen, client.post("/api/quotes/", body, key=uuid.uuid4().hex), 201, seen.quotes)
            if quote is None:
                continue
            if _answer(seen, client.post(f"/api/quotes/{quote}/issue/", {}, key=uuid.uuid4().hex), 200, seen.issued) is None:
                continue
            reply = client.post_form(f"/accept/{_token(quote)}/", {"name": "Hester Lorne", "agreed": "on"})
            _answer(seen, reply, 302, seen.accepted, quote)
        except TimeoutError:
            seen.unanswered += 1
        except clients.BROKEN:
            seen.broken += 1


def _answer(seen: Seen, reply: clients.Reply, wanted: int, told: list[int], quote: int | None = None) -> int | None:
    seen.answers.put(None)
    if reply.status != wanted:
        seen.refused.append((reply.status, reply.body[:300]))
        return None
    told.append(quote or reply.json()["id"])
    return told[-1]


def _token(quote: int) -> str:
    return desk.token_of(Revision.objects.select_related("link").get(quote=quote))


def _untrue(seen: Seen) -> list[str]:
    """What clients were told and is not so."""
    kept = set(Quote.objects.values_list("pk", flat=True))
    issued = set(Quote.objects.filter(number__isnull=False).values_list("pk", flat=True))
    ordered = set(Order.objects.values_list("revision__quote", flat=True))
    pairs = (("quote", seen.quotes, kept), ("issue of", seen.issued, issued), ("order of", seen.accepted, ordered))
    return [f"{what} {pk} is lost" for what, told, stored in pairs for pk in told if pk not in stored]
