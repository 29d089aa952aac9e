"""Whether the service is alive, and whether it can do its work: for a supervisor or a load balancer."""

from __future__ import annotations

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse


def healthz(request: HttpRequest) -> HttpResponse:
    """The process answers; nothing else is looked at."""
    return HttpResponse("ok\n", content_type="text/plain")


def database_ready() -> dict[str, str]:
    """What of the database keeps the service from working, by name; empty when all is well."""
    try:
        executor = MigrationExecutor(connection)
        pending = executor.migration_plan(executor.loader.graph.leaf_nodes())
    except DatabaseError:
        return {"database": "cannot be reached"}
    return {"migrations": f"{len(pending)} not applied: run manage.py migrate"} if pending else {}


def answer(problems: dict[str, str], facts: dict[str, object]) -> JsonResponse:
    """200 when there is no problem, 503 otherwise."""
    body = {"ready": not problems, "problems": problems, **facts}
    return JsonResponse(body, status=503 if problems else 200)
