"""Writes of the background work: put a job in the list, cancel it, bring it back, run what is due."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from loft.common import audit, idempotency, limits, policies, states
from loft.common.errors import Conflict
from loft.jobs import nudge, running, selectors
from loft.jobs.models import Job
from loft.jobs.states import TABLE, State


def enqueue(*, kind: str, key: str, payload: dict[str, Any], lane: str = Job.Lane.COMPUTE, run_after: datetime | None = None) -> Job:
    """Put a job in the list, inside the caller's transaction, so that it exists if and only if the rest was stored.

    The key says what the work is: if a job with it exists already, that one is returned and nothing is added. Conflict if
    the existing one is of another kind.
    """
    now = timezone.now()
    job, made = Job.objects.get_or_create(
        key=key,
        defaults={"kind": kind, "lane": lane, "payload": payload, "run_after": run_after or now, "created_at": now},
    )
    if job.kind != kind:
        raise Conflict(f"the job {key} exists and is of kind {job.kind}, not {kind}")
    if made:
        transaction.on_commit(lambda: nudge.ready(job.pk, job.lane))
    return job


def cancel(*, key: str, by: User | None = None) -> Job:
    """Cancel a job: at once if it waits, at its next heartbeat if it runs. Conflict if it has ended already."""
    policies.require(by, "manage_jobs")
    now = timezone.now()
    job = Job.objects.filter(key=key)
    with transaction.atomic():
        waiting = states.move_all(job, State.READY, State.CANCELLED, TABLE, cancel_requested=True, finished_at=now)
        if not waiting and not job.filter(state=State.RUNNING).update(cancel_requested=True):
            raise Conflict(f"the job {key} has ended already, or there is none")
        row = job.get()
        audit.record("cancel", row, by=by)
    return row


def retry(*, key: str, by: User | None = None) -> Job:
    """Bring a job back from the dead list with fresh attempts. Conflict if it is not on it."""
    policies.require(by, "manage_jobs")
    fresh = {"attempts": 0, "run_after": timezone.now(), "finished_at": None, "progress": 0, "cancel_requested": False}
    with transaction.atomic():
        if not states.move_all(Job.objects.filter(key=key), State.DEAD, State.READY, TABLE, **fresh):
            raise Conflict(f"the job {key} is not on the dead list")
        job = Job.objects.get(key=key)
        audit.record("run_again", job, by=by)
        transaction.on_commit(lambda: nudge.ready(job.pk, job.lane))
    return job


def run_ready(*, lane: str | None = None, now: datetime | None = None, limit: int | None = None) -> int:
    """Run what is due, oldest first, one by one, until nothing is due or `limit` were run; returns how many were run.

    lane: only that lane. now: the time to judge by (tests); otherwise the clock, read anew for every job.
    """
    count = 0
    while limit is None or count < limit:
        at = now or timezone.now()
        job = running.claim_next(now=at, lane=lane)
        if job is None:
            break
        running.run(job, now=at)
        count += 1
    return count


def run_one(*, pk: int) -> bool:
    """Run this one job if it is due and free; returns whether it was run."""
    now = timezone.now()
    job = running.claim(pk, now=now)
    if job is None:
        return False
    running.run(job, now=now)
    return True


def tidy(*, now: datetime) -> int:
    """Delete what is only kept for a while: answers to old requests, counts of old attempts. Returns how many rows."""
    return idempotency.forget_old(now=now) + limits.forget_old(now=now)


def sweep(*, now: datetime | None = None) -> int:
    """Nudge for everything that is due: what a dead worker or a lost nudge left lying. Returns how many."""
    waiting = list(selectors.due(now=now or timezone.now()).values_list("pk", "lane")[:500])
    for pk, lane in waiting:
        nudge.ready(pk, lane)
    return len(waiting)
