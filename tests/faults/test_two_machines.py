"""Pages here, background work on two other machines, PostgreSQL and a broker between: started as DEVELOPERS.md says, each letter goes once.

The machines are processes with an environment and a LOFT_VAR of their own; they share the database, the broker and the keys alone.
"""

from __future__ import annotations

import os
import time
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from celery import Celery
from django.contrib.auth.models import User
from django.db import connection

from loft.jobs import mail
from loft.jobs.models import Job
from loft.jobs.states import State
from loft.orders.models import Revision
from tests import desk
from tests.conftest import missing_part
from tests.faults import clients
from tests.faults.counts import count
from tests.faults.mail_sink import MailSink, mail_sink
from tests.faults.processes import Program

QUOTES = count(full=60, short=16)


@pytest.fixture
def sinks() -> Iterator[tuple[MailSink, MailSink]]:
    """A mail server for each machine, so that it shows which one sent a letter."""
    with mail_sink() as one, mail_sink() as other:
        yield one, other


@pytest.fixture(params=["broker", "redis"])
def through(request: pytest.FixtureRequest) -> str:
    """The broker of the run, and Redis where LOFT_REDIS_URL names one."""
    if request.param == "broker":
        return str(request.getfixturevalue("broker"))
    if not os.environ.get("LOFT_REDIS_URL"):
        missing_part("Redis: set LOFT_REDIS_URL")
    return os.environ["LOFT_REDIS_URL"]


@pytest.mark.figure(f"{QUOTES} quotes issued, letters sent by Celery on two machines", "each letter once, both machines at work")
def test_letters_go_once_from_two_machines(
    loft: None, manager: User, key_to_the_api: str, through: str, queues: str, server: Callable[..., Any],
    program: Callable[..., Program], sinks: tuple[MailSink, MailSink], tmp_path: Path, record_property: Callable[[str, object], None],
) -> None:  # fmt: skip
    if connection.vendor != "postgresql":
        missing_part("PostgreSQL: two machines cannot share a SQLite file") if os.environ.get("DATABASE_URL") else pytest.skip("SQLite")
    drafts = [desk.draft(desk.ONE_BOAT).quote_id for _ in range(QUOTES)]
    shared = {"LOFT_BROKER_URL": through}
    celery = ("-m", "celery", "-A", "loft.celery")
    names = [f"{name}-{uuid.uuid4().hex}@machine" for name in ("second", "third")]
    machines = [
        program(
            name, *celery, "worker", "-Q", queues, "-c", "1", "-n", name, "--without-gossip",
            **shared, LOFT_VAR=str(tmp_path / name), LOFT_MAIL_URL=sink.url,
        )
        for name, sink in zip(names, sinks, strict=True)
    ]  # fmt: skip
    beat = program("beat", *celery, "beat", **shared, LOFT_VAR=str(tmp_path / "first"))
    web = server(environment_too={**shared, "LOFT_VAR": str(tmp_path / "first")})
    for one in (web, beat, *machines):
        one.start()
    control = Celery(broker=through).control
    _until(lambda: len(control.ping(destination=names, timeout=2)) == len(names), machines[0].printed)
    client = clients.Client(web.port, key_to_the_api)
    replies = [client.post(f"/api/quotes/{quote}/issue/", {}, key=uuid.uuid4().hex) for quote in drafts]
    _until(lambda: not Job.objects.filter(lane="mail").exclude(state=State.DONE).exists(), machines[0].printed)
    taken = [*sinks[0].taken, *sinks[1].taken]
    by_machine = [len(sink.taken) for sink in sinks]
    record_property("measured", f"{len(taken)} letters, {len(set(taken))} different; by machine {by_machine}")
    assert clients.statuses(replies) == {200: QUOTES}
    assert sorted(taken) == sorted(mail.message_id(f"quote_issued:{pk}") for pk in Revision.objects.values_list("pk", flat=True))
    assert all(by_machine)


def _until(so: Callable[[], bool], told: Callable[[], str]) -> None:
    end = time.monotonic() + 40
    while not so():
        assert time.monotonic() < end, told()[-2000:]
        time.sleep(0.2)
