"""The Celery application. A task carries only "row N is ready"; the rows in the database are the truth (loft/jobs)."""

from __future__ import annotations

import logging
import os
from logging.config import dictConfig
from typing import Any

from celery import Celery, signals
from django.conf import settings

_log = logging.getLogger(__name__)

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "loft.settings")

app = Celery("loft")
app.conf.update(
    broker_url=settings.LOFT_BROKER_URL or "memory://",
    task_ignore_result=True,
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    worker_prefetch_multiplier=1,
    task_default_queue=f"{settings.LOFT_QUEUE_PREFIX}compute",
    task_create_missing_queues=True,
    broker_connection_retry_on_startup=True,
    # A nudge from a web request must not hang on a dead broker: one try, one second.
    broker_connection_timeout=1,
    broker_transport_options={
        "max_retries": 1,
        "interval_start": 0,
        "interval_step": 0,
        "interval_max": 0,
        # Redis is waited for without end unless told otherwise; longer than the second that its consumers wait.
        "socket_connect_timeout": 1,
        "socket_timeout": 2,
        "retry_on_timeout": False,
    },
    worker_hijack_root_logger=False,
    beat_schedule={"sweep": {"task": "loft.jobs.sweep", "schedule": 60.0}},
    beat_schedule_filename=str(settings.LOFT_VAR / "beat"),
)
app.autodiscover_tasks(["loft.jobs"])


@signals.setup_logging.connect
def _log_as_the_service_does(**_: Any) -> None:
    """Keep Celery from setting levels and handlers of its own: its lines would not be JSON, and ours at INFO would be lost."""
    dictConfig(settings.LOGGING)


@signals.worker_ready.connect
def _say_what_is_listened_to(sender: Any, **_: Any) -> None:
    _log.info("waiting for jobs from %s", ", ".join(sorted(sender.app.amqp.queues.consume_from)))
