"""What the kill and race tests share: the loft with its people, programs of the service, and the figures of a run."""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Callable, Generator, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.db import connection
from rest_framework.authtoken.models import Token

from tests import desk
from tests.conftest import Children, missing_part
from tests.faults import broker_queues, figures
from tests.faults.processes import Program, Server


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "figure(what, asked): the figure that a test measures; it records the property `measured`")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Keep each figure with its verdict, one JSON object a line, where LOFT_FAULTS_FIGURES says."""
    report = yield
    marker, path = item.get_closest_marker("figure"), os.environ.get("LOFT_FAULTS_FIGURES")
    over = report.when == "call" or report.outcome != "passed"
    if marker is not None and path and over:
        what, asked = (text.format(**getattr(getattr(item, "callspec", None), "params", {})) for text in marker.args)
        place = ", ".join((connection.vendor, *_brokers_of(item)))
        row = figures.Row(what, place, asked, *_found(item, report, call), seconds=round(report.duration))
        with Path(path).open("a", encoding="utf-8") as file:
            file.write(json.dumps(asdict(row)) + "\n")
    return report


def _found(item: pytest.Item, report: pytest.TestReport, call: pytest.CallInfo[None]) -> tuple[str, figures.Verdict]:
    """What was measured, or why nothing was, and the verdict."""
    measured = str(dict(item.user_properties).get("measured", "nothing was measured"))
    if report.skipped:
        why = str(report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr).removeprefix("Skipped: ")
        asked = not why.startswith(figures.NOT_ASKED_HERE)
        return why.removeprefix(f"{figures.NOT_ASKED_HERE}: "), figures.Verdict.NOT_TRIED if asked else figures.Verdict.NOT_ASKED
    if report.passed:
        return measured, figures.Verdict.HOLDS
    if call.excinfo is not None and report.when == "call" and call.excinfo.errisinstance(AssertionError):
        return measured, figures.Verdict.MISSED
    return f"{measured}: {call.excinfo.exconly()[:200] if call.excinfo else report.outcome}", figures.Verdict.BROKEN


def _brokers_of(item: pytest.Item) -> list[str]:
    """The broker that a test works with, by the name people know."""
    named: dict[str, Any] = getattr(item, "funcargs", {})
    url = named.get("through") or named.get("broker")
    return [] if not url else ["Redis" if str(url).startswith("redis") else "RabbitMQ"]


@pytest.fixture
def loft(transactional_db: None) -> None:
    """The invented loft's catalogue and profile, committed."""
    desk.load_catalogue()


@pytest.fixture
def environment(children: Children, request: pytest.FixtureRequest) -> Iterator[dict[str, str]]:
    """The environment of programs that share the test's database and its keys, with mail and files in a place of their own.

    The programs end before this fixture does, so that nobody declares the queues again that are deleted here.
    """
    keys = {"LOFT_LINK_KEY": settings.LOFT_LINK_KEY, "LOFT_SECRET_KEY": settings.SECRET_KEY}
    prefix = f"test-{secrets.token_hex(4)}-"
    yield {**children.environment, **keys, "LOFT_QUEUE_PREFIX": prefix}
    if "queues" in request.fixturenames:
        broker_queues.delete(prefix, [url for url in (str(settings.TEST_BROKER_URL), os.environ.get("LOFT_REDIS_URL", "")) if url])


@pytest.fixture
def queues(environment: dict[str, str]) -> str:
    """What a Celery worker of this test listens to (-Q): queues of its own, so that two runs on one broker do not meet."""
    return ",".join(broker_queues.names(environment["LOFT_QUEUE_PREFIX"]))


@pytest.fixture(params=["broker", "redis"])
def through(request: pytest.FixtureRequest) -> str:
    """The broker of the run, and Redis where LOFT_REDIS_URL names one."""
    if request.param == "broker":
        return str(request.getfixturevalue("broker"))
    if not os.environ.get("LOFT_REDIS_URL"):
        missing_part("Redis: set LOFT_REDIS_URL")
    return os.environ["LOFT_REDIS_URL"]


@pytest.fixture
def program(environment: dict[str, str], tmp_path: Path) -> Iterator[Callable[..., Program]]:
    """Makes programs that do not outlive the test: program("name", "arguments", ..., VARIABLE="value")."""
    made: list[Program] = []

    def make(name: str, *arguments: str, **extra: str) -> Program:
        made.append(Program(arguments, {**environment, **extra}, tmp_path / f"{name}.log"))
        return made[-1]

    yield make
    for one in made:
        one.kill()


@pytest.fixture
def server(environment: dict[str, str], tmp_path: Path) -> Iterator[Callable[..., Server]]:
    """Makes web servers that do not outlive the test: server(threads=4, environment={...})."""
    made: list[Server] = []

    def make(*, environment_too: dict[str, str] | None = None, **options: Any) -> Server:
        made.append(Server({**environment, **(environment_too or {})}, tmp_path / f"server-{len(made)}.log", **options))
        return made[-1]

    yield make
    for one in made:
        one.kill()
        one.socket.close()


@pytest.fixture
def key_to_the_api(manager: User, transactional_db: None) -> str:
    """The manager's API token."""
    return Token.objects.create(user=manager).key
