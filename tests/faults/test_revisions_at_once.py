"""Revisions of many quotes drafted at once, and the process killed at a statement of its write: all old, or all new."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.contrib.auth.models import User

from loft.common.models import AuditEntry
from loft.orders.models import AcceptanceLink, Revision
from tests import desk
from tests.faults.counts import count
from tests.faults.processes import ROOT

QUOTES = count(full=12, short=4)
KILLS = count(full=100, short=6)


def run(environment: dict[str, str], by: User, die_before: int) -> tuple[int, str]:
    told = {"LOFT_DIE_BEFORE": str(die_before), "LOFT_NOW": (desk.NOW + timedelta(days=1)).isoformat(), "LOFT_BY": by.username}
    command = [sys.executable, "-m", "tests.faults.programs.revise_chosen"]
    done = subprocess.run(command, cwd=ROOT, env={**environment, **told}, capture_output=True, text=True, timeout=120, check=False)
    return done.returncode, done.stdout + done.stderr


def state() -> list[tuple[int, int, str, bytes, str, int]]:
    """Every revision with what was sent of it, and how many links open."""
    links = AcceptanceLink.objects.filter(revoked_at=None).count()
    rows = Revision.objects.order_by("quote_id", "revision")
    return [(r.quote_id, r.revision, r.state, bytes(r.snapshot), r.pdf_sha256, links) for r in rows]


@pytest.mark.figure(f"{QUOTES} revisions at once, killed at up to {KILLS} of its statements", "all old each time, then all new")
def test_all_or_none(
    loft: None, manager: User, environment: dict[str, str], record_property: Callable[[str, object], None]
) -> None:  # fmt: skip
    for n in range(QUOTES):
        customer = desk.association(name=f"Club {n}")
        row = desk.draft(desk.ONE_BOAT.replace(b"214", b"%d" % (400 + n)), customer=customer, by=manager)
        desk.services.issue(revision=row, by=manager, now=desk.NOW)
    before, entries = state(), AuditEntry.objects.count()
    statements = 7 * QUOTES  # tried to the end of the write and past it
    points = sorted({1 + round(i * (statements - 1) / (KILLS - 1)) for i in range(KILLS)})
    killed = 0
    for point in points:
        code, said = run(environment, manager, point)
        if code == 0:  # there is no such statement any more: it was done
            break
        assert code == -9, said
        killed += 1
        assert state() == before
        assert AuditEntry.objects.count() == entries
    else:
        code, said = run(environment, manager, 0)
        assert code == 0, said
    after = state()
    assert len(after) == 2 * QUOTES
    assert [r[2] for r in after] == ["superseded", "draft"] * QUOTES
    sent = [(r[0], r[1], r[3], r[4]) for r in before]
    assert [(r[0], r[1], r[3], r[4]) for r in after if r[1] == 1] == sent  # what was issued did not change by a byte
    record_property("measured", f"{killed} kills, all old each time; then {QUOTES} drafts")
    assert killed >= 3
