"""A backup of ten thousand issued quotes, and its restore elsewhere: within a minute, and the money is the same."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from loft.orders.models import AcceptanceLink, Quote, Revision
from tests import desk
from tests.conftest import Children
from tests.faults.counts import FULL, count

QUOTES = count(full=10_000, short=200)
WITHIN_S = 60
#: What takes too long is still measured.
PATIENCE_S = 400
#: However many quotes: what the programs themselves need, and a few dozen papers at a time.
MOST_MB = 250


@pytest.mark.figure(f"backup and restore of {QUOTES:,} issued quotes", f"<= {WITHIN_S} s together, <= {MOST_MB} MB, totals equal")
def test_a_backup_of_many_quotes_restores_whole(
    loft: None, manager: User, children: Children, elsewhere: dict[str, str], tmp_path: Path,
    record_property: Callable[[str, object], None],
) -> None:  # fmt: skip
    _copies(desk.issued(manager, desk.ONE_BOAT, now=timezone.now()), QUOTES)
    file = tmp_path / "loft.backup"
    children.run("manage.py", "migrate", "--verbosity", "0", **elsewhere)
    started = time.monotonic()
    saving_mb = _peak_mb(children.run("-m", "tests.faults.programs.peak_memory", "backup", str(file), within_s=PATIENCE_S))
    saved_s = time.monotonic() - started
    restoring = children.run("-m", "tests.faults.programs.peak_memory", "restore", str(file), within_s=PATIENCE_S, **elsewhere)
    restoring_mb = _peak_mb(restoring)
    whole_s = time.monotonic() - started
    before, after = (children.run("-m", "tests.faults.programs.totals", **where) for where in ({}, elsewhere))
    size = file.stat().st_size / 1e6
    saved, restored = f"backup {saved_s:.0f} s, peak {saving_mb} MB", f"restore {whole_s - saved_s:.0f} s, peak {restoring_mb} MB"
    record_property("measured", f"{saved}; {restored}; file {size:,.0f} MB, equal: {before == after}")
    assert f'"quotes": {QUOTES}' in before
    assert before == after
    assert whole_s <= WITHIN_S or not FULL
    assert max(saving_mb, restoring_mb) <= MOST_MB


def _peak_mb(printed: str) -> int:
    """The last line that the program printed."""
    return int(printed.splitlines()[-1])


def _copies(base: Revision, quotes: int) -> None:
    """Make the quote into so many, each with its number, its figures, its PDF and its link."""
    first, link = base.quote, base.link
    numbers = range(2, quotes + 1)
    made = Quote.objects.bulk_create(Quote(number=n, customer=first.customer, created_at=first.created_at) for n in numbers)
    for start in range(0, len(made), 500):
        rows = []
        for quote in made[start : start + 500]:
            row = Revision.objects.get(pk=base.pk) if not rows else _copy(rows[0])
            row.pk, row.quote = None, quote
            row.net_minor, row.gross_minor = base.net_minor + quote.pk, base.gross_minor + quote.pk
            rows.append(row)
        stored = Revision.objects.bulk_create(rows)
        AcceptanceLink.objects.bulk_create(
            AcceptanceLink(revision=row, nonce=link.nonce, token_sha256=f"{row.pk:064d}", created_at=link.created_at) for row in stored
        )


def _copy(row: Revision) -> Revision:
    return Revision(**{field.attname: getattr(row, field.attname) for field in Revision._meta.concrete_fields})
