"""A database that an earlier release left is migrated, or restored from its backup, and the work goes on.

What must be found is read from the earlier file itself with sqlite3 and json, and from what that release printed (README.md).
"""

from __future__ import annotations

import hashlib
import io
import json
import lzma
import sqlite3
import tarfile
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from tests.conftest import Children

HERE = Path(__file__).parent
RELEASES = ["release_0"]

Found = dict[str, Any]


def _unpacked(name: str, target: Path) -> Path:
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_bytes(lzma.decompress((HERE / name).read_bytes()))
    return target


def _member(name: str, member: str) -> bytes:
    with tarfile.open(fileobj=io.BytesIO(lzma.decompress((HERE / f"{name}.backup.xz").read_bytes()))) as archive:
        content = archive.extractfile(member)
        assert content is not None
        return content.read()


def _went_on(children: Children, where: dict[str, str]) -> Found:
    found: Found = json.loads(children.run("-m", "tests.upgrade.programs.go_on", **where).splitlines()[-1])
    return found


@pytest.fixture(params=RELEASES)
def release(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def earlier(release: str, tmp_path: Path) -> sqlite3.Connection:
    """The database as that release left it."""
    return sqlite3.connect(_unpacked(f"{release}.sqlite3.xz", tmp_path / "earlier.sqlite3"))


def test_a_migrated_database_goes_on(release: str, earlier: sqlite3.Connection, children: Children, tmp_path: Path) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("the file is one of SQLite; on PostgreSQL the earlier release's backup is restored")
    var = tmp_path / "in-use"
    file = _unpacked(f"{release}.sqlite3.xz", var / "loft.sqlite3")
    where = {"DATABASE_URL": f"sqlite:///{file}", "LOFT_VAR": str(var), "LOFT_LINK_KEY": _member(release, "link.key").decode()}
    children.run("manage.py", "migrate", "--verbosity", "0", **where)
    _judge(release, earlier, _went_on(children, where))


def test_a_restored_backup_goes_on(
    release: str, earlier: sqlite3.Connection, children: Children, elsewhere: dict[str, str], tmp_path: Path
) -> None:
    file = _unpacked(f"{release}.backup.xz", tmp_path / "earlier.backup")
    printed = children.run("manage.py", "restore", str(file), **elsewhere)
    assert f"{sum(json.loads(_member(release, 'manifest.json'))['rows'].values())} rows restored" in printed
    assert "No planned migration operations" in children.run("manage.py", "migrate", "--plan", **elsewhere)
    key = (Path(elsewhere["LOFT_VAR"]) / "link.key").read_text()
    assert key == _member(release, "link.key").decode()
    _judge(release, earlier, _went_on(children, elsewhere))


def test_a_later_release_s_backup_is_refused(children: Children, elsewhere: dict[str, str], tmp_path: Path) -> None:
    """Its tables are unknown here; the database is left without any."""
    file = _unpacked("release_0.backup.xz", tmp_path / "earlier.backup")
    later = tmp_path / "later.backup"
    with tarfile.open(file) as old, tarfile.open(later, "w") as new:
        for entry in old:
            content = old.extractfile(entry).read().replace(b"orders.0006", b"orders.9906")  # type: ignore[union-attr]  # only files
            entry.size = len(content)
            new.addfile(entry, io.BytesIO(content))
    child = children.start("manage.py", "restore", str(later), **elsewhere)
    printed, _ = child.communicate(timeout=60)
    assert child.returncode == 1 and "later release, with orders.9906" in printed, printed
    assert "[X]" not in children.run("manage.py", "showmigrations", **elsewhere)


def _judge(release: str, earlier: sqlite3.Connection, found: Found) -> None:
    assert found["broken"] == []
    kept = json.loads(_member(release, "manifest.json"))["rows"]
    assert {label: found["rows"].get(label) for label in kept} == kept
    assert found["revisions"] == _revisions(earlier)
    assert found["designs"] == {
        key: len(json.loads(data)["value"]["parts"]) for key, data in earlier.execute("SELECT key, data FROM workshop_design")
    }
    assert found["tickets"] == dict(earlier.execute("SELECT number, sail_label FROM workshop_ticket"))
    _judge_what_went_on(earlier, found["gone_on"])
    if release == "release_0":
        assert [one["totals"] for one in found["revisions"].values()] == [["10104.63", "2020.93", "12125.56"]]


def _revisions(earlier: sqlite3.Connection) -> Found:
    """What must be read of each revision, taken from the raw rows."""
    rows = earlier.execute("SELECT id, snapshot, pdf, pdf_sha256, net_minor, gross_minor FROM orders_revision")
    expected = {}
    for pk, snapshot, pdf, pdf_sha256, net, gross in rows:
        value = json.loads(snapshot)["value"]
        totals = value["totals"]
        assert hashlib.sha256(pdf).hexdigest() == pdf_sha256
        expected[str(pk)] = {
            "snapshot": hashlib.sha256(snapshot).hexdigest(), "pdf": pdf_sha256, "pdf_sha256": pdf_sha256,
            "net_minor": net, "gross_minor": gross, "sails": [sail["label"] for sail in value["sails"]],
            "totals": [totals["net"], totals["tax"], totals["gross"]],
        }  # fmt: skip
    assert expected
    return expected


def _judge_what_went_on(earlier: sqlite3.Connection, gone_on: Found) -> None:
    (paid,) = earlier.execute("SELECT SUM(amount_minor) FROM orders_payment").fetchone()
    (pdf,) = earlier.execute("SELECT pdf_sha256 FROM orders_revision").fetchone()
    assert gone_on["paid_minor"] == paid + 10_001
    assert gone_on["letter"] == "ready"
    assert gone_on["steps"] == [[True, True], [True, False], [False, False]]
    assert gone_on["link"] == [True, 200]
    assert gone_on["reprint"] == pdf
    drawn = gone_on["drawn"]
    assert "10,104.63" in drawn["cost sheet"] and "12,125.56" in drawn["confirmation"]
    assert "100.01" in drawn["receipt"] and "O-0001-01" in drawn["work sheets"]
