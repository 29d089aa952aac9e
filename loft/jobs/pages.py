"""Whether the service can do its work, background work included."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from loft.common import health
from loft.jobs import selectors


def readyz(request: HttpRequest) -> HttpResponse:
    """Database, migrations, and how long the oldest due job has waited (seconds)."""
    problems = health.database_ready()
    facts: dict[str, object] = {}
    if not problems:
        waited = selectors.oldest_waiting_s(now=timezone.now())
        facts = {"oldest_job_s": round(waited), "dead_jobs": selectors.dead_count()}
        if waited > selectors.STUCK_AFTER_S:
            problems["jobs"] = f"the oldest due job has waited {round(waited)} s: is a worker running?"
    return health.answer(problems, facts)
