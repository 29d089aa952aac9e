"""The Celery side: a task is only "row N is ready", and a sweep finds what was left lying."""

from __future__ import annotations

from celery import shared_task
from django.utils import timezone

from loft.jobs import nudge, services


@shared_task(name=nudge.TASK, acks_late=True, reject_on_worker_lost=True, ignore_result=True)
def run_row(pk: int) -> None:
    """Run one row. A second delivery finds the row taken or done, and does nothing."""
    services.run_one(pk=pk)


@shared_task(name="loft.jobs.sweep", ignore_result=True)
def sweep() -> None:
    """Nudge for every due row, and tidy; the beat schedule sends this every minute."""
    services.sweep()
    services.tidy(now=timezone.now())
