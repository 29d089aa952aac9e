"""How one job is taken and run: a lease that one worker wins, and an ending that only its holder may write."""

from __future__ import annotations

import logging
import uuid
from datetime import datetime, timedelta

from django.db.models import F, QuerySet
from django.utils import timezone

from loft.common import states, tracing
from loft.jobs import registry, selectors
from loft.jobs.models import Job
from loft.jobs.states import TABLE, State

_log = logging.getLogger(__name__)

LEASE = timedelta(seconds=60)
MAX_ATTEMPTS = 6
_FIRST_WAIT = timedelta(seconds=10)
_LONGEST_WAIT = timedelta(hours=1)

#: What the log says of an attempt that ended in this state.
_OUTCOMES = {State.DONE: "done", State.READY: "to be tried again", State.DEAD: "given up", State.CANCELLED: "cancelled"}


def claim_next(*, now: datetime, lane: str | None) -> Job | None:
    """Take the oldest due job that nobody else takes first; None when nothing is due."""
    for pk in selectors.due(now=now, lane=lane).values_list("pk", flat=True)[:20]:
        job = claim(pk, now=now)
        if job is not None:
            return job
    return None


def claim(pk: int, *, now: datetime) -> Job | None:
    """Take this job with one conditional update; None if it is not due or somebody was faster."""
    holder = uuid.uuid4().hex
    taken = selectors.due(now=now).filter(pk=pk).order_by().update(
        state=State.RUNNING,
        holder=holder,
        lease_until=now + LEASE,
        attempts=F("attempts") + 1,
    )  # fmt: skip
    if not taken:
        return None
    return Job.objects.filter(pk=pk, holder=holder).first()


def run(job: Job, *, now: datetime) -> None:
    """Run a claimed job to its end: done, cancelled, to be tried again later, or dead. Never raises for a failed job."""
    with tracing.job(str(job.pk)):
        if job.attempts > MAX_ATTEMPTS:
            # Its worker died every time: the job itself may be what kills it.
            _end(job, State.DEAD, error=f"no end after {MAX_ATTEMPTS} attempts: its worker died every time")
            return
        try:
            _heartbeat(job, job.progress)
            registry.handler_for(job.kind)(job, _context(job, now))
        except registry.LeaseLost:
            _log.warning("job %s was taken over by another worker", job.key)
        except registry.Cancelled:
            _end(job, State.CANCELLED)
        except registry.GiveUp as error:
            _log.error("job %s given up: %s", job.key, error)
            _end(job, State.DEAD, error=str(error))
        except Exception as error:  # a handler may fail in any way; the row keeps what happened
            _failed(job, error, now=max(now, timezone.now()))
        else:
            _end(job, State.DONE)


def wait_before(attempt: int) -> timedelta:
    """How long to wait after this many failed attempts: 10 s, doubled each time, at most an hour."""
    return min(_FIRST_WAIT * (1 << min(attempt - 1, 20)), _LONGEST_WAIT)


def _context(job: Job, now: datetime) -> registry.Context:
    return registry.Context(now=now, attempt=job.attempts, heartbeat=lambda progress: _heartbeat(job, progress))


def _held(job: Job) -> QuerySet[Job]:
    """The job's row, if this worker still holds it."""
    return Job.objects.filter(pk=job.pk, state=State.RUNNING, holder=job.holder)


def _heartbeat(job: Job, progress: int) -> None:
    """Renew the lease and store the progress; raises LeaseLost or Cancelled."""
    if not _held(job).update(lease_until=timezone.now() + LEASE, progress=progress):
        raise registry.LeaseLost(job.key)
    if _held(job).filter(cancel_requested=True).exists():
        raise registry.Cancelled(job.key)


def _failed(job: Job, error: Exception, *, now: datetime) -> None:
    """Try again later, or give up after the last attempt."""
    _log.exception("job %s failed, attempt %s", job.key, job.attempts)
    message = f"{type(error).__name__}: {error}"[:2000]
    if job.attempts >= MAX_ATTEMPTS:
        _end(job, State.DEAD, error=message)
        return
    _leave(job, State.READY, run_after=now + wait_before(job.attempts), last_error=message)


def _end(job: Job, state: State, *, error: str = "") -> None:
    """Write the ending, unless another worker holds the job by now."""
    progress = 100 if state is State.DONE else F("progress")
    _leave(job, state, progress=progress, finished_at=timezone.now(), last_error=error)


def _leave(job: Job, state: State, **stamps: object) -> None:
    """Give the job up in this state, unless another worker holds it by now."""
    if states.move_all(_held(job), State.RUNNING, state, TABLE, lease_until=None, **stamps):
        _log.info("job %s, attempt %s: %s", job.key, job.attempts, _OUTCOMES[state])
    else:
        _log.warning("job %s was taken over by another worker", job.key)
