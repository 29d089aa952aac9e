"""kill -9 on the workers in the middle of a post of letters: none is lost, and one that went out twice is the same letter."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterator
from random import Random

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from loft.jobs import mail
from loft.jobs.models import Job
from loft.jobs.states import State
from tests import desk
from tests.faults.counts import BROKERS, FULL, SEED, count
from tests.faults.mail_sink import BEFORE, CONFIRMED, UNCONFIRMED, MailSink, mail_sink
from tests.faults.processes import Program

LETTERS, KILLS, WORKERS = count(full=400, short=30), count(full=8, short=3), 2
ASKED = f"0 lost, at most {KILLS} x {WORKERS} twice, each with the same Message-ID"

Recorder = Callable[[str, object], None]
MakeProgram = Callable[..., Program]


@pytest.fixture
def sink() -> Iterator[MailSink]:
    with mail_sink() as running:
        yield running


@pytest.mark.figure(f"kill -9 both workers {KILLS} times in {LETTERS} mails (manage.py worker)", ASKED)
def test_no_letter_is_lost_when_workers_are_killed(
    loft: None, manager: User, program: MakeProgram, sink: MailSink, record_property: Recorder
) -> None:
    command = ("manage.py", "worker") if FULL else ("-m", "tests.faults.programs.short_lease", "worker")
    workers = [program(f"worker-{n}", *command, "--lane", "mail", "--pause", "0.2", LOFT_MAIL_URL=sink.url) for n in range(WORKERS)]
    ids = _enqueue(manager, LETTERS)
    _deliver_under_kills(sink, workers, letters=LETTERS, kills=KILLS)
    _judge(sink, ids, record_property)


@pytest.mark.parametrize("through", BROKERS, indirect=True)
@pytest.mark.figure(f"kill -9 the Celery worker {KILLS} times in {LETTERS} mails", ASKED)
def test_no_letter_is_lost_when_celery_is_killed(
    loft: None, manager: User, through: str, queues: str, program: MakeProgram, sink: MailSink, record_property: Recorder
) -> None:
    celery = ("-m", "celery", "-A", "loft.celery") if FULL else ("-m", "tests.faults.programs.short_lease", "celery")
    extra = {"LOFT_MAIL_URL": sink.url, "LOFT_BROKER_URL": through}
    worker = program("celery", *celery, "worker", "-Q", queues, "-c", str(WORKERS), "--without-gossip", **extra)
    beat = program("beat", *celery, "beat", **extra)
    ids = _enqueue(manager, LETTERS)
    beat.start()
    _deliver_under_kills(sink, [worker], letters=LETTERS, kills=KILLS)
    _judge(sink, ids, record_property)


def test_a_lease_that_never_ends_is_noticed(loft: None, manager: User, program: MakeProgram, sink: MailSink) -> None:
    """The check above can fail: without an end of leases, what the killed workers held never comes."""
    command = ("-m", "tests.faults.programs.short_lease", "worker", "--lane", "mail", "--pause", "0.2")
    workers = [program(f"worker-{n}", *command, LOFT_MAIL_URL=sink.url, LOFT_LEASE_S="86400") for n in range(WORKERS)]
    _enqueue(manager, 10)
    with pytest.raises(AssertionError, match="of 10 letters came"):
        _deliver_under_kills(sink, workers, letters=10, kills=2, patience_s=12)
    assert Job.objects.filter(state=State.RUNNING).exists()


def _enqueue(manager: User, letters: int) -> set[str]:
    """Have one real letter, with its PDF, sent so many times under keys of their own; the Message-IDs to come."""
    revision = desk.issued(manager, desk.ONE_BOAT, now=timezone.now())
    Job.objects.all().delete()
    keys = [f"quote_issued:{revision.pk}:{n}" for n in range(letters)]
    for key in keys:
        mail.enqueue_letter(name="quote_issued", key=key, payload={"revision": revision.pk})
    return {mail.message_id(key) for key in keys}


def _deliver_under_kills(sink: MailSink, workers: list[Program], *, letters: int, kills: int, patience_s: float = 240) -> None:
    """Run the workers until every letter is here, killing all of them at chosen moments spread over the whole post."""
    moments = _moments(letters, kills)
    due: queue.Queue[None] = queue.Queue()
    gone = threading.Semaphore(0)

    def at_moment(moment: str, taken: int) -> None:
        if moments and taken >= moments[0][0] and moment == moments[0][1]:
            moments.pop(0)
            due.put(None)
            gone.acquire(timeout=60)
            raise ConnectionAbortedError("the worker was killed in the middle of this delivery")

    sink.at_moment = at_moment
    for worker in workers:
        worker.start()
    for _ in range(kills):
        due.get(timeout=120)
        for worker in workers:
            worker.kill()
        gone.release()
        for worker in workers:
            worker.start()
    assert sink.wait_for(letters, timeout=patience_s), f"{len(set(sink.taken))} of {letters} letters came: {workers[0].printed()[-2000:]}"


def _moments(letters: int, kills: int) -> list[tuple[int, str]]:
    """When to kill: after how many letters, and at which moment of a delivery; the moments take turns."""
    random = Random(SEED)
    step = letters // (kills + 1)
    turns = (UNCONFIRMED, BEFORE, CONFIRMED)
    return [((n + 1) * step - random.randrange(step // 2), turns[n % len(turns)]) for n in range(kills)]


def _judge(sink: MailSink, ids: set[str], record_property: Recorder) -> None:
    lost, twice = len(ids - set(sink.taken)), len(sink.taken) - len(set(sink.taken))
    record_property("measured", f"{lost} lost, {twice} twice")
    assert set(sink.taken) == ids
    assert twice <= KILLS * WORKERS
    assert twice >= 1, "no letter was killed between sending and confirming: the kills came at the wrong moments"
    _all_done()


def _all_done() -> None:
    """The last letter's row is closed a moment after the letter is here."""
    end = timezone.now().timestamp() + 10
    while (rest := Job.objects.exclude(state=State.DONE)).exists():
        assert timezone.now().timestamp() < end, list(rest.values("key", "state", "attempts", "last_error"))
