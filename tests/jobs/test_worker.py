"""The worker as a process: it drains the list, ends cleanly when asked, and two of them send a letter once."""

from __future__ import annotations

import signal
import time
from datetime import timedelta

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.utils import timezone

from loft.common.models import IdempotencyKey
from loft.jobs import services
from loft.jobs.models import Job
from loft.jobs.states import State
from tests import desk
from tests.conftest import Children


@pytest.fixture
def letters(children: Children, manager: User) -> Children:
    """Six quotes issued, so six letters wait; the children sign links as the test does."""
    children.environment["LOFT_LINK_KEY"] = settings.LOFT_LINK_KEY
    desk.load_catalogue()
    for _ in range(6):
        desk.issued(manager, desk.ONE_BOAT)
    assert Job.objects.filter(state=State.READY, lane=Job.Lane.MAIL).count() == 6
    return children


def test_once_runs_what_is_due_and_ends(letters: Children) -> None:
    others = Job.objects.filter(lane=Job.Lane.COMPUTE).count()
    assert letters.run("manage.py", "worker", "--once", "--lane", "compute") == f"{others} job(s) run\n"
    assert letters.letters() == []
    assert letters.run("manage.py", "worker", "--once") == "6 job(s) run\n"
    assert len(letters.letters()) == 6
    assert set(Job.objects.values_list("state", "attempts")) == {(State.DONE, 1)}


def test_two_workers_send_each_letter_once_and_end_when_asked(letters: Children) -> None:
    workers = [letters.start("manage.py", "worker", "--pause", "0.1") for _ in range(2)]
    for worker in workers:  # one may drain the list before the other has even begun to listen to signals
        assert worker.stdout is not None
        assert worker.stdout.readline() == "Waiting for jobs; Ctrl-C ends it after the job in hand.\n"
    until = time.monotonic() + 60
    while Job.objects.exclude(state=State.DONE).exists() and time.monotonic() < until:
        time.sleep(0.1)
    for worker in workers:
        worker.send_signal(signal.SIGTERM)
    endings = [(worker.communicate(timeout=30)[0], worker.returncode) for worker in workers]
    assert [code for _, code in endings] == [0, 0], endings
    assert len(letters.letters()) == 6
    assert set(Job.objects.values_list("state", "attempts")) == {(State.DONE, 1)}


@pytest.mark.django_db
def test_tidying_forgets_old_answers_and_keeps_new_ones(manager: User) -> None:
    now = timezone.now()
    for key, age in (("old", 8), ("new", 6)):
        made = now - timedelta(days=age)
        IdempotencyKey.objects.create(user=manager, scope="POST /", key=key, lease_until=made, created_at=made)
    assert services.tidy(now=now) == 1
    assert IdempotencyKey.objects.get().key == "new"
