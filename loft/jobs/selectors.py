"""Reads of the background work."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Q, QuerySet

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


def dead() -> QuerySet[Job]:
    """Jobs that were given up, newest first."""
    return Job.objects.filter(state=State.DEAD).order_by("-finished_at", "-pk")


def dead_count() -> int:
    """How many jobs wait for a person."""
    return dead().count()
