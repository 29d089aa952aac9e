"""Pages here, background work on two other machines, PostgreSQL and a broker between: started as DEVELOPERS.md says, each letter goes once.

The machines are processes with an environment and a LOFT_VAR of their own; they share the database, the broker and the keys alone.
"""

from __future__ import annotations

import json
import re
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
from tests.faults import clients
from tests.faults.counts import count
from tests.faults.figures import NOT_ASKED_HERE
from tests.faults.mail_sink import MailSink, mail_sink
from tests.faults.processes import Program

QUOTES = count(full=60, short=16)


@pytest.fixture
def sinks() -> Iterator[tuple[MailSink, MailSink]]:
    """A mail server for each machine, so that it shows which one sent a letter."""
    with mail_sink() as one, mail_sink() as other:
        yield one, other


@pytest.mark.figure(f"{QUOTES} quotes issued, letters sent by Celery on two machines", "each letter once, both machines at work")
def test_letters_go_once_from_two_machines(
    loft: None, manager: User, key_to_the_api: str, through: str, queues: str, server: Callable[..., Any],
    program: Callable[..., Program], sinks: tuple[MailSink, MailSink], tmp_path: Path, record_property: Callable[[str, object], None],
) -> None:  # fmt: skip
    if connection.vendor != "postgresql":
        pytest.skip(f"{NOT_ASKED_HERE}: two machines cannot share a SQLite file")
    drafts = [desk.draft(desk.ONE_BOAT).quote_id for _ in range(QUOTES)]
    shared = {"LOFT_BROKER_URL": through}
    celery = ("-m", "celery", "-A", "loft.celery")
    names = [f"{name}-{uuid.uuid4().hex}@machine" for name in ("second", "third")]
    machines = [
        program(
            name, *celery, "worker", "-Q", queues, "-c", "1", "-n", name, "--without-gossip",
            **shared, LOFT_VAR=str(tmp_path / name), LOFT_MAIL_URL=sink.url, LOFT_LOG_LEVEL="INFO",
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
    _until(lambda: sum(len(_jobs_in(machine.printed())) for machine in machines) == QUOTES, machines[0].printed)
    for machine in machines:
        _judge_log(machine.printed(), queues)


def _lines(printed: str) -> list[dict[str, str]]:
    """The lines of the service's log; Celery greets with words of its own before."""
    return [json.loads(line) for line in printed.splitlines() if line.startswith("{")]


def _jobs_in(printed: str) -> list[str]:
    return [line["message"] for line in _lines(printed) if line["message"].startswith("job ")]


def _judge_log(printed: str, queues: str) -> None:
    """One line says what is listened to, one comes for each job, nothing else is said, and no link or token among it."""
    waiting = f"waiting for jobs from {', '.join(sorted(queues.split(',')))}"
    assert [line["message"] for line in _lines(printed) if line["level"] == "INFO"] == [waiting, *_jobs_in(printed)]
    assert all(re.fullmatch(r"job quote_issued:\d+, attempt 1: done", message) for message in _jobs_in(printed))
    assert "/accept/" not in printed
    assert not [token for row in Revision.objects.all() if (token := desk.token_of(row)) in printed]


def _until(so: Callable[[], bool], told: Callable[[], str]) -> None:
    end = time.monotonic() + 120  # far more than it takes: two workers that start on a busy machine
    while not so():
        assert time.monotonic() < end, told()[-2000:]
        time.sleep(0.2)
