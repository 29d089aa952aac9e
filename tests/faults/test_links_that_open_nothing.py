"""Links that were guessed, cut short, taken back or are over: one answer for all, so that nobody learns which it was."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from functools import partial
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from loft.orders import links, services
from loft.orders.models import Order
from tests import desk
from tests.faults import clients

FORM = {"name": "Hester Lorne", "agreed": "on"}
#: Headers that differ from request to request.
_OF_THE_REQUEST = {"Date", "X-Request-ID"}


def _bad_tokens(manager: User) -> dict[str, str]:
    now = timezone.now()
    open_one = desk.token_of(desk.issued(manager, desk.ONE_BOAT, now=now))
    superseded = desk.issued(manager, desk.ONE_BOAT, now=now)
    tokens = {"superseded": desk.token_of(superseded)}
    services.revise(quote=superseded.quote, on=desk.TODAY, now=now, by=manager)
    cancelled = desk.issued(manager, desk.ONE_BOAT, now=now)
    tokens["cancelled"] = desk.token_of(cancelled)
    services.cancel(revision=cancelled, now=now, by=manager)
    over, marked = (desk.issued(manager, desk.ONE_BOAT, now=desk.NOW + timedelta(days=1 - n)) for n in range(2))
    tokens |= {"over, not yet marked": desk.token_of(over), "expired": desk.token_of(marked)}
    services.expire_due(now=marked.expires_at + timedelta(seconds=1))
    return tokens | {
        "guessed": links.token(quote=1, revision=1, nonce="0" * 32),
        "cut short": open_one[:-1],
        "one letter": "a",
        "too long": f"{open_one}A",
        "other case": open_one.swapcase(),
    }


@pytest.mark.figure("guessed, cut, superseded, cancelled and expired links: 9 kinds x 4 requests", "one 404, the same to the byte")
def test_every_link_that_opens_nothing_gets_the_same_answer(
    loft: None, manager: User, server: Callable[..., Any], record_property: Callable[[str, object], None]
) -> None:
    tokens = _bad_tokens(manager)
    web = server(environment_too={"LOFT_LIMITS": "wrong_link=1000/600"})
    web.start()
    client, answers = clients.Client(web.port), {}
    for what, token in tokens.items():
        place = f"/accept/{token}/"
        answers |= {
            (what, "look"): client.get(place),
            (what, "accept"): client.post_form(place, FORM),
            (what, "decline"): client.post_form(f"{place}decline/", {}),
            (what, "pdf"): client.get(f"{place}quote.pdf"),
        }
    different = {_without_what_varies(reply) for reply in answers.values()}
    record_property("measured", f"{len(answers)} answers, {clients.statuses(list(answers.values()))}, {len(different)} different")
    assert set(clients.statuses(list(answers.values()))) == {404}
    assert len(different) == 1
    assert not Order.objects.exists()


def _without_what_varies(reply: clients.Reply) -> tuple[int, bytes, tuple[tuple[str, str], ...]]:
    kept = sorted((name, value) for name, value in reply.headers.items() if name not in _OF_THE_REQUEST)
    return reply.status, reply.body, tuple(kept)


@pytest.mark.figure("60 guesses from one address, 4 at once, over 3 processes, limit 20", "19 x 404, then 429")
def test_guessing_is_stopped_over_all_processes(
    loft: None, server: Callable[..., Any], record_property: Callable[[str, object], None]
) -> None:
    web = server(environment_too={"LOFT_LIMITS": "wrong_link=20/600"}, processes=3)
    web.start()
    client = clients.Client(web.port)

    def guess(first: int) -> list[clients.Reply]:
        tokens = (links.token(quote=number, revision=1, nonce="0" * 32) for number in range(first, first + 15))
        return [client.get(f"/accept/{token}/") for token in tokens]

    replies = [reply for one in clients.together([partial(guess, first) for first in (0, 100, 200, 300)]) for reply in one]
    record_property("measured", str(clients.statuses(replies)))
    assert clients.statuses(replies) == {404: 19, 429: 41}
