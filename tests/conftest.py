"""What tests of every part share: people, children with the test's own database, and the parts a machine may lack."""

from __future__ import annotations

import os
import secrets
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote, urlsplit

import pytest
from django.conf import settings as django_settings
from django.contrib.auth.models import User
from django.db import connection
from django.test import TransactionTestCase

from loft.common import append_only, policies, services

ROOT = Path(__file__).parent.parent


_empty_the_database = TransactionTestCase._fixture_teardown


def _empty_with_the_audit(case: TransactionTestCase) -> None:
    """A transactional test ends by emptying every table, which the audit's triggers refuse."""
    with append_only.lifted():
        _empty_the_database(case)


TransactionTestCase._fixture_teardown = _empty_with_the_audit  # type: ignore[method-assign]


def missing_part(what: str) -> None:
    """Skip the test because a real part is not on this machine; with LOFT_REQUIRE_PARTS that is a failure."""
    if os.environ.get("LOFT_REQUIRE_PARTS"):
        pytest.fail(f"missing part: {what} (LOFT_REQUIRE_PARTS is set)")
    pytest.skip(f"missing part: {what}")


@pytest.fixture
def manager(db: None) -> User:
    user = User.objects.create_user("manager", "manager@loft.example", "a-long-password")
    services.give_role(user=user, role=policies.MANAGER)
    return user


@pytest.fixture
def office(db: None) -> User:
    user = User.objects.create_user("office", "office@loft.example", "a-long-password")
    services.give_role(user=user, role=policies.OFFICE)
    return user


@pytest.fixture
def cutter(db: None) -> User:
    user = User.objects.create_user("cutter", "cutter@loft.example", "a-long-password")
    services.give_role(user=user, role=policies.CUTTER)
    return user


@pytest.fixture
def broker() -> str:
    """The address of a real broker; without one the test is skipped, or fails where all parts are required."""
    url = str(django_settings.TEST_BROKER_URL)
    if not url:
        missing_part("a broker: set LOFT_BROKER_URL")
    parts = urlsplit(url)
    try:
        socket.create_connection((parts.hostname or "", parts.port or 5672), timeout=2).close()
    except OSError:
        missing_part(f"the broker at {parts.hostname}:{parts.port} does not answer")
    return url


def _database_url() -> str:
    """The address of the database that the running test uses."""
    entry = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{entry['NAME']}"
    login = f"{quote(str(entry['USER']))}:{quote(str(entry['PASSWORD']))}"
    return f"postgres://{login}@{entry['HOST']}:{entry['PORT']}/{entry['NAME']}"


class Children:
    """Starts Python children that work on the test's own database, with a var/ of their own; none outlives the test."""

    def __init__(self, var: Path) -> None:
        self.var = var
        self.environment = {
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "loft.settings",
            "DATABASE_URL": _database_url(),
            "LOFT_VAR": str(var),
            "LOFT_BROKER_URL": "",
            "PYTHONPATH": str(ROOT),
        }
        self._started: list[subprocess.Popen[str]] = []

    def start(self, *arguments: str, **extra: str) -> subprocess.Popen[str]:
        """Start `python arguments...`; extra: more environment."""
        child = subprocess.Popen(
            [sys.executable, *arguments], cwd=ROOT, env={**self.environment, **extra}, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True,
        )  # fmt: skip
        self._started.append(child)
        return child

    def run(self, *arguments: str, within_s: float = 120, **extra: str) -> str:
        """Run a child to its end and return what it printed; AssertionError if it failed."""
        child = self.start(*arguments, **extra)
        printed, _ = child.communicate(timeout=within_s)
        assert child.returncode == 0, printed
        return printed

    def letters(self) -> list[Path]:
        """The mail that the children have written to files."""
        return sorted((self.var / "mail").glob("*.eml"))

    def stop_all(self) -> None:
        for child in self._started:
            if child.poll() is None:
                child.kill()
            child.communicate()


@pytest.fixture
def children(transactional_db: None, tmp_path: Path) -> Iterator[Children]:
    """Children on the test's own database. They see only what is committed, so the test's database is transactional."""
    started = Children(tmp_path / "var")
    yield started
    started.stop_all()


@pytest.fixture
def elsewhere(children: Children, tmp_path: Path) -> Iterator[dict[str, str]]:
    """The environment of an empty database of the same kind, with files in a place of its own."""
    var = tmp_path / "elsewhere"
    if connection.vendor == "sqlite":
        yield {"DATABASE_URL": f"sqlite:///{var / 'loft.sqlite3'}", "LOFT_VAR": str(var)}
        return
    name = f"test_loft_restore_{secrets.token_hex(4)}"
    with connection.cursor() as cursor:
        cursor.execute(f'CREATE DATABASE "{name}"')
    try:
        yield {"DATABASE_URL": f"{children.environment['DATABASE_URL'].rpartition('/')[0]}/{name}", "LOFT_VAR": str(var)}
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f'DROP DATABASE "{name}" WITH (FORCE)')
