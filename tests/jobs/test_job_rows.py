"""Jobs as rows: what is enqueued, taken, run, tried again, given up and cancelled."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from loft.common.errors import Conflict
from loft.jobs import registry, running, selectors, services
from loft.jobs.models import Job
from loft.jobs.states import State

pytestmark = pytest.mark.django_db

KIND = "test_sum"
ran: list[str] = []
behaviour: dict[str, Exception] = {}


def add_up(job: Job, context: registry.Context) -> None:
    context.heartbeat(40)
    if job.key in behaviour:
        raise behaviour[job.key]
    ran.append(job.key)


@pytest.fixture(autouse=True)
def handler() -> Iterator[None]:
    ran.clear()
    behaviour.clear()
    registry.handler(KIND)(add_up)
    yield
    registry._handlers.pop(KIND, None)


def enqueue(key: str, **more: object) -> Job:
    return services.enqueue(kind=KIND, key=key, payload={"key": key}, **more)  # type: ignore[arg-type]


def test_a_job_is_run_once_and_its_row_says_so() -> None:
    enqueue("one")
    assert services.run_ready() == 1
    assert services.run_ready() == 0
    job = Job.objects.get(key="one")
    assert (ran, job.state, job.attempts, job.progress) == (["one"], State.DONE, 1, 100)
    assert job.finished_at is not None and job.lease_until is None


def test_the_same_key_is_the_same_work() -> None:
    assert enqueue("one").pk == enqueue("one").pk
    assert services.run_ready() == 1
    assert enqueue("one").state == State.DONE
    assert services.run_ready() == 0


def test_the_same_key_for_another_kind_is_a_conflict() -> None:
    enqueue("one")
    with pytest.raises(Conflict, match="is of kind test_sum"):
        services.enqueue(kind="other", key="one", payload={})


def test_a_rolled_back_job_never_existed() -> None:
    with pytest.raises(ValueError, match="no"), transaction.atomic():
        enqueue("one")
        raise ValueError("no")
    assert Job.objects.count() == 0


def test_lanes_and_times_are_kept_apart() -> None:
    now = timezone.now()
    enqueue("mail", lane=Job.Lane.MAIL)
    enqueue("compute")
    enqueue("later", run_after=now + timedelta(hours=1))
    assert services.run_ready(lane=Job.Lane.MAIL) == 1
    assert ran == ["mail"]
    assert services.run_ready() == 1
    assert services.run_ready(now=now + timedelta(hours=2)) == 1
    assert ran == ["mail", "compute", "later"]


def test_a_failing_job_waits_longer_each_time_and_is_given_up_in_the_end() -> None:
    enqueue("bad")
    behaviour["bad"] = RuntimeError("no thread")
    for attempt in range(1, running.MAX_ATTEMPTS):
        before = timezone.now() + timedelta(days=attempt)
        assert services.run_ready(now=before) == 1
        job = Job.objects.get(key="bad")
        assert (job.state, job.attempts, job.last_error) == (State.READY, attempt, "RuntimeError: no thread")
        assert job.run_after - before == running.wait_before(attempt)
    assert services.run_ready(now=timezone.now() + timedelta(days=30)) == 1
    assert [job.key for job in selectors.dead()] == ["bad"]
    assert services.run_ready(now=timezone.now() + timedelta(days=60)) == 0


def test_waits_double_up_to_an_hour() -> None:
    assert [running.wait_before(n).total_seconds() for n in (1, 2, 3, 9, 10, 60)] == [10, 20, 40, 2560, 3600, 3600]


def test_a_dead_job_comes_back_when_asked() -> None:
    enqueue("bad")
    behaviour["bad"] = registry.GiveUp("no such sail")
    services.run_ready()
    assert Job.objects.get(key="bad").state == State.DEAD
    behaviour.clear()
    services.retry(key="bad")
    assert services.run_ready() == 1
    assert Job.objects.get(key="bad").state == State.DONE
    with pytest.raises(Conflict):
        services.retry(key="bad")


def test_a_kind_that_nobody_does_goes_to_the_dead_list() -> None:
    services.enqueue(kind="unknown", key="u", payload={})
    services.run_ready()
    assert Job.objects.get(key="u").last_error == "no handler for jobs of kind 'unknown'"


def test_a_waiting_job_is_cancelled_at_once_and_never_run() -> None:
    enqueue("one")
    assert services.cancel(key="one").state == State.CANCELLED
    assert services.run_ready() == 0
    with pytest.raises(Conflict, match="ended already"):
        services.cancel(key="one")


def test_a_running_job_is_cancelled_at_its_next_heartbeat() -> None:
    enqueue("one")
    job = running.claim_next(now=timezone.now(), lane=None)
    assert job is not None
    assert services.cancel(key="one").state == State.RUNNING
    running.run(job, now=timezone.now())
    assert (ran, Job.objects.get(key="one").state) == ([], State.CANCELLED)


def test_a_lease_keeps_others_out_until_it_has_run_out() -> None:
    enqueue("one")
    now = timezone.now()
    assert running.claim_next(now=now, lane=None) is not None
    assert running.claim_next(now=now, lane=None) is None
    assert running.claim_next(now=now + running.LEASE + timedelta(seconds=1), lane=None) is not None
    assert Job.objects.get(key="one").attempts == 2


def test_whoever_lost_the_lease_writes_nothing() -> None:
    enqueue("one")
    now = timezone.now()
    slow = running.claim_next(now=now, lane=None)
    quick = running.claim_next(now=now + timedelta(hours=1), lane=None)
    assert slow is not None and quick is not None and slow.holder != quick.holder
    running.run(slow, now=now)
    job = Job.objects.get(key="one")
    assert (ran, job.state, job.holder) == ([], State.RUNNING, quick.holder)
    running.run(quick, now=now)
    assert (ran, Job.objects.get(key="one").state) == (["one"], State.DONE)


def test_a_job_whose_worker_dies_every_time_is_given_up() -> None:
    enqueue("killer")
    now = timezone.now()
    for day in range(running.MAX_ATTEMPTS):
        assert running.claim_next(now=now + timedelta(days=day), lane=None) is not None
    assert services.run_ready(now=now + timedelta(days=20)) == 1
    job = Job.objects.get(key="killer")
    assert (ran, job.state) == ([], State.DEAD)
    assert "its worker died every time" in job.last_error


def test_two_functions_for_one_kind_are_refused() -> None:
    with pytest.raises(ValueError, match="are done by"):
        registry.handler(KIND)(lambda job, context: None)


def test_the_database_refuses_a_running_job_without_a_lease() -> None:
    job = enqueue("one")
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(state=State.RUNNING)


def test_the_oldest_due_job_is_known() -> None:
    now = timezone.now()
    enqueue("one", run_after=now - timedelta(seconds=90))
    enqueue("later", run_after=now + timedelta(seconds=90))
    assert selectors.oldest_waiting_s(now=now) == pytest.approx(90)
    services.run_ready(now=now)
    assert selectors.oldest_waiting_s(now=now) == 0


def test_the_log_has_one_line_for_each_attempt(caplog: pytest.LogCaptureFixture) -> None:
    for key in ("one", "bad", "hopeless", "unwanted"):
        enqueue(key)
    behaviour.update(bad=ValueError("no"), hopeless=registry.GiveUp("never"), unwanted=registry.Cancelled("unwanted"))
    with caplog.at_level("INFO", logger="loft.jobs"):
        services.run_ready()
    told = [record.getMessage() for record in caplog.records if record.levelname == "INFO"]
    assert told == [
        "job one, attempt 1: done",
        "job bad, attempt 1: to be tried again",
        "job hopeless, attempt 1: given up",
        "job unwanted, attempt 1: cancelled",
    ]
