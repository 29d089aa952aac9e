"""Tell the broker, if there is one, that a job is ready. The sweep is the guarantee; this only makes it quick."""

from __future__ import annotations

import logging

from django.conf import settings

from loft.common.logs import masked

TASK = "loft.jobs.run_row"

_log = logging.getLogger(__name__)


def ready(pk: int, lane: str) -> None:
    """Send "row pk is ready" by name. A broker that is down is logged and costs about a second, never the request."""
    if not settings.LOFT_BROKER_URL:
        return
    from loft.celery import app  # the service runs without a broker, and then without loading this

    try:
        app.send_task(TASK, args=[pk], queue=f"{settings.LOFT_QUEUE_PREFIX}{lane}", retry=False, ignore_result=True)
    except Exception as error:  # whatever the client library raises: the row is stored and the sweep will find it
        _log.warning("the broker did not take the nudge for job %s: %s", pk, masked(repr(error)))
