"""A backup of a whole worked order goes into an empty database and comes out the same."""

from __future__ import annotations

import io
import tarfile
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.db import models

from loft.common import backup, services
from loft.common.errors import Refused
from loft.common.models import Counter
from loft.jobs import services as jobs
from loft.jobs.models import Job
from tests import desk

pytestmark = pytest.mark.django_db


@pytest.fixture
def var(settings: Any, tmp_path: Path) -> Path:
    settings.LOFT_VAR = tmp_path / "var"
    (settings.LOFT_VAR / "mail").mkdir(parents=True)
    (settings.LOFT_VAR / "mail" / "one@loft.eml").write_bytes(b"Subject: one\r\n\r\n")
    return Path(settings.LOFT_VAR)


@pytest.fixture
def saved(var: Path, manager: User, tmp_path: Path) -> Path:
    desk.load_catalogue()
    services.next_number(series="quote")
    jobs.enqueue(kind="later", key="later-1", payload={"sail": "ł☃"})
    backup.save(tmp_path / "loft.backup")
    return tmp_path / "loft.backup"


def everything() -> dict[str, list[dict[str, Any]]]:
    """Every row of every table, bytes made comparable; many-to-many tables too, whose own keys mean nothing."""
    tables: list[type[models.Model]] = [m for m in apps.get_models(include_auto_created=True) if m._meta.managed]
    return {table._meta.label: [comparable(table, row) for row in table._default_manager.order_by("pk").values()] for table in tables}


def comparable(table: type[models.Model], row: dict[str, Any]) -> dict[str, Any]:
    plain = {name: bytes(value) if isinstance(value, memoryview) else value for name, value in row.items()}
    if table._meta.auto_created:
        del plain["id"]
    return plain


def test_what_was_saved_comes_back_row_for_row(saved: Path, var: Path) -> None:
    before = everything()
    assert sum(map(len, before.values())) > 100
    Job.objects.all().delete()
    Counter.objects.update(last=99)
    User.objects.all().delete()
    (var / "mail" / "one@loft.eml").unlink()
    backup.restore(saved, replace=True)
    assert everything() == before
    assert (var / "mail" / "one@loft.eml").read_bytes() == b"Subject: one\r\n\r\n"
    assert saved.stat().st_mode & 0o777 == 0o600


def test_numbering_goes_on_after_a_restore(saved: Path) -> None:
    backup.restore(saved, replace=True)
    assert services.next_number(series="quote") == 2
    assert jobs.enqueue(kind="later", key="later-2", payload={}).pk > Job.objects.get(key="later-1").pk


def test_a_filled_database_is_left_alone(saved: Path) -> None:
    before = everything()
    with pytest.raises(Refused, match="not empty"):
        backup.restore(saved)
    assert everything() == before


def test_an_existing_file_is_not_overwritten(saved: Path) -> None:
    content = saved.read_bytes()
    with pytest.raises(Refused, match="exists already"):
        backup.save(saved)
    assert saved.read_bytes() == content


def damage_row(content: bytes) -> bytes:
    return content.replace(b"later-1", b"later-9", 1)


DAMAGED = [("one row changed", damage_row), ("cut off", lambda content: content[: len(content) // 2]), ("not a tar", lambda content: b"no")]


@pytest.mark.parametrize(("label", "harm"), DAMAGED, ids=[row[0] for row in DAMAGED])
def test_a_damaged_backup_is_refused_and_changes_nothing(label: str, harm: Any, saved: Path) -> None:
    saved.write_bytes(harm(saved.read_bytes()))
    before = everything()
    with pytest.raises(Refused, match="damaged"):
        backup.restore(saved, replace=True)
    assert everything() == before


def test_a_member_that_would_leave_the_folder_is_refused(saved: Path, tmp_path: Path) -> None:
    with tarfile.open(saved, mode="a:") as archive:
        entry = tarfile.TarInfo("mail/../../escaped.eml")
        entry.size = 2
        archive.addfile(entry, io.BytesIO(b"no"))
    with pytest.raises(Refused, match="no backup has"):
        backup.restore(saved, replace=True)
    assert not list(tmp_path.rglob("escaped*"))


def test_a_backup_of_another_release_is_refused(saved: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(backup, "_migrations", lambda: ["common.0099_later"])
    with pytest.raises(Refused, match="another release"):
        backup.restore(saved, replace=True)
