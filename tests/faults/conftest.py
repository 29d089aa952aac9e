"""What the kill and race tests share: the loft with its people, programs of the service, and the figures of a run."""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.db import connection
from rest_framework.authtoken.models import Token

from tests import desk
from tests.conftest import Children
from tests.faults.processes import Program, Server


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "figure(what, asked): the figure that a test measures; it records the property `measured`")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Keep each figure with its verdict, one JSON object a line, where LOFT_FAULTS_FIGURES says."""
    report = yield
    marker, path = item.get_closest_marker("figure"), os.environ.get("LOFT_FAULTS_FIGURES")
    over = report.when == "call" or report.outcome != "passed"
    if marker is not None and path and over:
        measured = dict(item.user_properties).get("measured", "nothing was measured")
        what, asked = (text.format(**getattr(getattr(item, "callspec", None), "params", {})) for text in marker.args)
        row = {"what": what, "asked": asked, "measured": measured, "verdict": report.outcome}
        with Path(path).open("a", encoding="utf-8") as file:
            file.write(json.dumps({"database": connection.vendor, **row}) + "\n")
    return report


@pytest.fixture
def loft(transactional_db: None) -> None:
    """The invented loft's catalogue and profile, committed."""
    desk.load_catalogue()


@pytest.fixture
def environment(children: Children) -> dict[str, str]:
    """The environment of programs that share the test's database and its keys, with mail and files in a place of their own."""
    keys = {"LOFT_LINK_KEY": settings.LOFT_LINK_KEY, "LOFT_SECRET_KEY": settings.SECRET_KEY}
    return {**children.environment, **keys, "LOFT_QUEUE_PREFIX": f"test-{secrets.token_hex(4)}-"}


@pytest.fixture
def queues(environment: dict[str, str]) -> str:
    """What a Celery worker of this test listens to (-Q): queues of its own, so that two runs on one broker do not meet."""
    return ",".join(f"{environment['LOFT_QUEUE_PREFIX']}{lane}" for lane in ("mail", "compute"))


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
