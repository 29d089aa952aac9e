"""Speed of the desk: drafting twelve boats in one POST, issuing them, and how long the database is written to.

Run: python -m tests.bench.bench_desk (DATABASE_URL chooses the database; a test database of its own is made and dropped).
"""

from __future__ import annotations

import os
import statistics
import sys
import uuid
import warnings
from time import perf_counter

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
os.environ.setdefault("LOFT_LOG_LEVEL", "ERROR")
warnings.filterwarnings("ignore", "No directory at")

import django  # noqa: E402

django.setup()

from django.contrib.auth.models import User  # noqa: E402
from django.db import connection  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402
from django.utils import timezone  # noqa: E402
from rest_framework.test import APIClient  # noqa: E402

from loft.common import policies  # noqa: E402
from loft.common import services as common  # noqa: E402
from loft.orders import selectors, services  # noqa: E402
from loft.workshop.models import Design  # noqa: E402
from tests import desk, skerling  # noqa: E402

MOST_STATEMENTS = 25
RUNS = 7


def main() -> int:
    """Print each median beside its bound; the number of bounds that were missed."""
    connection.creation.create_test_db(verbosity=0)
    try:
        return _measure()
    finally:
        connection.creation.destroy_test_db(str(connection.settings_dict["NAME"]), verbosity=0)


def _measure() -> int:
    desk.load_catalogue()
    user = User.objects.create_user("bench")
    common.give_role(user=user, role=policies.MANAGER)
    client = APIClient(SERVER_NAME="127.0.0.1")
    client.force_login(user)
    _post(client)
    fresh = [_post(client, forget=True) for _ in range(RUNS)]
    known = [_post(client) for _ in range(RUNS)]
    issued = [_issue(pk, user) for *_, pk in known]
    most = max(statements for _, statements, _ in (*fresh, *known))
    missed = [
        _say("draft POST, 12 boats, 7 new designs", statistics.median(ms for ms, *_ in fresh), 1000),
        _say("draft POST, 12 boats, designs known", statistics.median(ms for ms, *_ in known), 1000),
        _say("issue 12 boats, PDF and all", statistics.median(issued), 500),
        most > MOST_STATEMENTS,
    ]
    print(f"{'queries of a draft POST':40} {most:9d}      (at most {MOST_STATEMENTS}){'   MISSED' if missed[-1] else ''}")
    return sum(missed)


def _post(client: APIClient, *, forget: bool = False) -> tuple[float, int, int]:
    """Draft the association's batch: ms, queries, the quote's id."""
    if forget:
        Design.objects.all().delete()
    body = {
        "new_customer": {"kind": "association", "name": skerling.CUSTOMER, "email": "sails@skerling.example", "buyer": "trade"},
        "pattern": desk.PATTERN, "terms": skerling.TERMS, "csv": skerling.text("skerling_batch_2026.csv"),
    }  # fmt: skip
    with CaptureQueriesContext(connection) as statements:
        start = perf_counter()
        answer = client.post("/api/quotes/", body, format="json", headers={"Idempotency-Key": uuid.uuid4().hex})
        ms = (perf_counter() - start) * 1000
    if answer.status_code != 201:
        raise SystemExit(answer.content.decode())
    return ms, len(desk.queries(statements)), answer.json()["id"]


def _issue(pk: int, user: User) -> float:
    revision = selectors.last_revision(pk)
    start = perf_counter()
    services.issue(revision=revision, by=user, now=timezone.now())
    return (perf_counter() - start) * 1000


def _say(what: str, median: float, bound: float) -> bool:
    print(f"{what:40} {median:9.1f} ms   (at most {bound:.0f} ms){'' if median <= bound else '   MISSED'}")
    return median > bound


if __name__ == "__main__":
    sys.exit(main())
