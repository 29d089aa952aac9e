"""A backup of a loft at work goes into an empty database of either kind, and comes out of it the same."""

from __future__ import annotations

import io
import tarfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import transaction

from loft.common import backup, restore, services
from loft.common.errors import Refused
from loft.jobs import services as jobs
from loft.jobs.models import Job
from loft.orders.models import Quote
from tests import desk
from tests.conftest import Children

LETTER = b"Subject: one\r\n\r\n"


@pytest.fixture
def saved(settings: Any, db: None, manager: User, tmp_path: Path) -> Path:
    """A backup of a loft with its catalogue, people, an order with a quote that joins it, a number given, a job and a letter."""
    settings.LOFT_VAR = tmp_path / "old"
    (settings.LOFT_VAR / "mail").mkdir(parents=True)
    (settings.LOFT_VAR / "mail" / "one@loft.eml").write_bytes(LETTER)
    desk.load_catalogue()
    services.give_role(user=manager, role="cutter")
    order = desk.accepted(manager, desk.ONE_BOAT)
    Quote.objects.create(customer=order.customer, joins=order, created_at=desk.NOW)  # stored before the order that it points to
    with transaction.atomic():
        services.next_number(series="quote")
    # The last two count as the end of a line to some readers (U+2028, U+0085).
    jobs.enqueue(kind="later", key="later-1", payload={"sail": "ł☃\u2028\x85"})
    backup.save(tmp_path / "loft.backup")
    return tmp_path / "loft.backup"


def members(file: Path) -> dict[str, bytes]:
    with tarfile.open(file) as archive:
        return {entry.name: archive.extractfile(entry).read() for entry in archive}  # type: ignore[union-attr]  # only files


NUMBER_AND_JOB = """
import django
django.setup()
from django.db import transaction
from loft.common import services
from loft.jobs import services as jobs
with transaction.atomic():
    print(services.next_number(series="quote"), jobs.enqueue(kind="later", key="later-2", payload={}).pk)
"""


def test_what_was_saved_comes_back_row_for_row(saved: Path, children: Children, tmp_path: Path) -> None:
    new = {"DATABASE_URL": f"sqlite:///{tmp_path / 'new.sqlite3'}", "LOFT_VAR": str(tmp_path / "new")}
    children.run("manage.py", "migrate", "--verbosity", "0", **new)
    assert "rows restored" in children.run("manage.py", "restore", str(saved), **new)
    children.run("manage.py", "backup", str(tmp_path / "again.backup"), **new)
    before, after = members(saved), members(tmp_path / "again.backup")
    assert len(before["rows.jsonl"].splitlines()) > 10
    assert after == before
    assert (tmp_path / "new" / "mail" / "one@loft.eml").read_bytes() == LETTER
    number, job = children.run("-c", NUMBER_AND_JOB, **new).split()
    assert (int(number), int(job)) == (3, Job.objects.get(key="later-1").pk + 1)


def test_a_backup_is_for_its_owners_eyes(saved: Path) -> None:
    assert saved.stat().st_mode & 0o777 == 0o600


def test_an_existing_file_is_not_overwritten(saved: Path) -> None:
    content = saved.read_bytes()
    with pytest.raises(Refused, match="exists already"):
        backup.save(saved)
    assert saved.read_bytes() == content


def refused(saved: Path, words: str) -> None:
    """The restore is refused in these words, and changes no row."""
    before, after = saved.with_name("before.jsonl"), saved.with_name("after.jsonl")
    counts = backup.write_rows(before)
    with pytest.raises(Refused, match=words):
        restore.restore(saved)
    assert backup.write_rows(after) == counts
    assert after.read_bytes() == before.read_bytes()


def test_a_filled_database_is_left_alone(saved: Path) -> None:
    refused(saved, "not empty")


HARM: list[tuple[str, Callable[[bytes], bytes]]] = [
    ("one row changed", lambda content: content.replace(b"later-1", b"later-9", 1)),
    ("cut off", lambda content: content[: len(content) // 2]),
    ("not a tar", lambda content: b"no"),
]


@pytest.mark.parametrize(("label", "harm"), HARM, ids=[row[0] for row in HARM])
def test_a_damaged_backup_is_refused(label: str, harm: Callable[[bytes], bytes], saved: Path) -> None:
    saved.write_bytes(harm(saved.read_bytes()))
    refused(saved, "damaged")


def test_a_member_that_would_leave_the_folder_is_refused(saved: Path, tmp_path: Path) -> None:
    with tarfile.open(saved, mode="a:") as archive:
        entry = tarfile.TarInfo("mail/../../escaped.eml")
        entry.size = 2
        archive.addfile(entry, io.BytesIO(b"no"))
    refused(saved, "no backup has")
    assert not list(tmp_path.rglob("escaped*"))


def test_a_backup_of_another_release_is_refused(saved: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(backup, "migrations", lambda: ["common.0099_later"])
    refused(saved, "another release")
