"""Requests made up from the API's own description, good ones and bad ones: no answer is a 5xx, and none is other than described."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from tests import desk
from tests.faults.counts import SEED, count
from tests.faults.processes import ROOT

CASES = count(full=10_000, short=500)
#: So many for each operation: with the fixed ones that the tool always sends that is more than is asked for.
AN_OPERATION = count(full=200, short=12)
CHECKS = "not_a_server_error,status_code_conformance,content_type_conformance,response_headers_conformance,response_schema_conformance"


@pytest.mark.figure(f"{CASES:,} requests made up from the API's description", "0 x 5xx, 0 answers other than described")
def test_the_api_keeps_to_its_description(
    loft: None, manager: User, key_to_the_api: str, server: Callable[..., Any], tmp_path: Path,
    record_property: Callable[[str, object], None],
) -> None:  # fmt: skip
    desk.accepted(manager)
    desk.issued(manager, now=timezone.now())
    desk.draft()
    # However long an address is, the application is to answer, and not the server before it.
    web = server(more=("--limit-request-line", "0"))
    web.start()
    report = tmp_path / "report.ndjson"
    printed = _run(web.port, key_to_the_api, report)
    sent, failed = _read(report)
    record_property("measured", f"{sent:,} requests, {failed} failures")
    assert failed == 0, printed[-6000:]
    assert sent >= CASES, printed[-3000:]
    assert "Internal Server Error" not in web.printed()


def _run(port: int, token: str, report: Path) -> str:
    ended = subprocess.run(
        [
            sys.executable, "-m", "schemathesis.cli", "run", f"http://127.0.0.1:{port}/api/schema/", "-H", f"Authorization: Token {token}",
            "--checks", CHECKS, "--phases", "examples,coverage,fuzzing", "-n", str(AN_OPERATION), "--seed", str(SEED), "--workers", "1",
            "--report", "ndjson", "--report-ndjson-path", str(report), "--no-color", "--continue-on-failure",
            "--suppress-health-check", "all", "--request-timeout", "60",
        ],
        cwd=report.parent, env={**os.environ, "PYTHONPATH": str(ROOT)}, text=True, capture_output=True, timeout=3000, check=False,
    )  # fmt: skip
    return ended.stdout + ended.stderr


def _read(report: Path) -> tuple[int, int]:
    """How many requests were sent, and how many failed checks and errors of the tool itself there were."""
    sent = failed = 0
    for line in report.read_text(encoding="utf-8").splitlines():
        ((event, content),) = json.loads(line).items()
        failed += event in ("NonFatalError", "FatalError")
        if event == "ScenarioFinished":
            recorder = content["recorder"]  # an operation that a phase skips has neither requests nor checks
            sent += len(recorder.get("interactions", ()))
            failed += sum(check["status"] == "failure" for checks in recorder.get("checks", {}).values() for check in checks)
    return sent, failed
