"""What a supervisor sees, what every answer carries, and the owner's first account."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from django.utils import timezone

from loft.common import policies
from loft.jobs import services as jobs

pytestmark = pytest.mark.django_db


def test_alive_and_ready(client: Client) -> None:
    assert client.get("/healthz").content == b"ok\n"
    ready = client.get("/readyz")
    assert (ready.status_code, ready.json()["ready"], ready.json()["oldest_job_s"]) == (200, True, 0)


def test_a_job_that_nobody_runs_is_seen(client: Client) -> None:
    jobs.enqueue(kind="x", key="x", payload={}, run_after=timezone.now() - timedelta(hours=1))
    answer = client.get("/readyz")
    assert answer.status_code == 503
    assert answer.json()["oldest_job_s"] == pytest.approx(3600, abs=5)
    assert "is a worker running?" in answer.json()["problems"]["jobs"]


def test_a_migration_that_was_not_applied_is_seen(client: Client) -> None:
    MigrationRecorder.Migration.objects.filter(app="jobs").delete()
    answer = client.get("/readyz")
    assert answer.status_code == 503
    assert "run manage.py migrate" in answer.json()["problems"]["migrations"]


@pytest.mark.parametrize("path", ["/login/", "/healthz", "/accept/nothing/", "/nowhere"])
def test_every_answer_is_private_and_runs_only_our_own_scripts(client: Client, path: str) -> None:
    headers = client.get(path).headers
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert "default-src 'none'" in headers["Content-Security-Policy"]
    assert "no-store" in headers["Cache-Control"]
    assert headers["X-Robots-Tag"] == "noindex, nofollow"
    assert (headers["X-Content-Type-Options"], headers["X-Frame-Options"]) == ("nosniff", "DENY")
    assert len(headers["X-Request-ID"]) == 32


def test_a_proxys_request_id_is_kept_and_a_strange_one_is_not(client: Client) -> None:
    assert client.get("/healthz", headers={"X-Request-ID": "abcdef-123456"})["X-Request-ID"] == "abcdef-123456"
    assert client.get("/healthz", headers={"X-Request-ID": 'x"} evil'})["X-Request-ID"] != 'x"} evil'


def test_the_owner_is_made_with_a_random_password_that_works(client: Client) -> None:
    out = StringIO()
    call_command("create_owner", "olive", "--random", stdout=out)
    password = out.getvalue().split("this once: ")[1].strip()
    owner = User.objects.get(username="olive")
    assert owner.check_password(password) and owner.is_superuser
    assert policies.roles_of(owner) == {policies.MANAGER}


def test_a_weak_password_or_a_second_owner_of_the_name_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOFT_OWNER_PASSWORD", "password")
    with pytest.raises(CommandError, match="too common"):
        call_command("create_owner", "olive")
    assert User.objects.count() == 0
    monkeypatch.setenv("LOFT_OWNER_PASSWORD", "a sail of one's own")
    call_command("create_owner", "olive", stdout=StringIO())
    with pytest.raises(CommandError, match="already"):
        call_command("create_owner", "olive")
