"""Reads of the background work."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Count, Q, QuerySet

from loft.common.errors import NotFound
from loft.jobs.models import Job
from loft.jobs.states import State

STUCK_AFTER_S = 15 * 60


def due(*, now: datetime, lane: str | None = None) -> QuerySet[Job]:
    """What a worker may take now, oldest first: ready and due, or running with a lease that has run out."""
    free = Q(state=State.READY, run_after__lte=now) | Q(state=State.RUNNING, lease_until__lt=now)
    jobs = Job.objects.filter(free)
    if lane:
        jobs = jobs.filter(lane=lane)
    return jobs.order_by("run_after", "pk")


def oldest_waiting_s(*, now: datetime) -> float:
    """How long the oldest due job has waited, seconds; 0 when nothing waits."""
    oldest = due(now=now).values_list("run_after", flat=True).first()
    return (now - oldest).total_seconds() if oldest else 0.0


def jobs(*, state: str = "", lane: str = "") -> QuerySet[Job]:
    """Jobs, the newest first; those in one state or lane where one is named."""
    asked = {name: value for name, value in (("state", state), ("lane", lane)) if value}
    return Job.objects.filter(**asked).order_by("-pk")


def job(pk: int) -> Job:
    """One job; NotFound when there is none."""
    row = Job.objects.filter(pk=pk).first()
    if row is None:
        raise NotFound(f"there is no job {pk}")
    return row


def count_by_state() -> dict[str, int]:
    """How many jobs stand in each state."""
    return dict(Job.objects.order_by().values_list("state").annotate(Count("pk")))


def dead() -> QuerySet[Job]:
    """Jobs that were given up, newest first."""
    return Job.objects.filter(state=State.DEAD).order_by("-finished_at", "-pk")


def dead_count() -> int:
    """How many jobs wait for a person."""
    return dead().count()
