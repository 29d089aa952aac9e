"""One file with everything the loft has stored, that restores on SQLite and on PostgreSQL alike (see restore.py).

A tar file: ``manifest.json`` (format, applied migrations, rows a model, SHA-256 of every other member), ``rows.jsonl`` (one
stored row a line, as Django serialises it), ``link.key`` (so that links already sent stay good) and ``mail/*.eml``.
Whoever holds the file can read every customer and accept every open quote: keep it as safe as the database.

Nothing is held whole in memory: rows go from the database to a file beside the target, and from there into the tar.
"""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import tarfile
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.apps import apps
from django.apps.registry import Apps
from django.conf import settings
from django.core import serializers
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder

from loft.common.errors import Refused

FORMAT = 1
MANIFEST, ROWS, LINK_KEY = "manifest.json", "rows.jsonl", "link.key"
# Made anew by migrations, or worth nothing on another day.
_LEFT_OUT = {"contenttypes.contenttype", "auth.permission", "sessions.session"}
# How many rows are read at a time: an issued revision with its snapshot and PDF is some 300 kB.
_AT_ONCE = 50


class _ExactTimes(DjangoJSONEncoder):
    """Django's encoder cuts instants to milliseconds; a backup keeps them whole."""

    def default(self, o: Any) -> Any:
        return o.isoformat() if isinstance(o, datetime) else super().default(o)


def save(target: Path) -> dict[str, int]:
    """Write a backup to a new file, whole or not at all; returns how many rows of each model. Refused if the file exists."""
    if target.exists():
        raise Refused(f"{target} exists already: name a new file")
    with TemporaryDirectory(prefix=f".{target.name}.", dir=target.parent) as folder:  # for its owner's eyes, as mkdtemp makes it
        members = {ROWS: Path(folder) / ROWS, LINK_KEY: Path(folder) / LINK_KEY, **_letters()}
        counts = write_rows(members[ROWS])
        members[LINK_KEY].write_bytes(settings.LOFT_LINK_KEY.encode())
        manifest = Path(folder) / MANIFEST
        manifest.write_text(json.dumps(_manifest(members, counts), indent=1, sort_keys=True), encoding="utf-8")
        draft = Path(folder) / secrets.token_hex(6)
        _write_tar(draft, {MANIFEST: manifest, **members})
        draft.rename(target)
    return counts


def stored_models(registry: Apps = apps) -> list[type[models.Model]]:
    """Every stored model that a backup holds, those made for many-to-many fields left out (they go with their owner)."""
    return [model for model in registry.get_models() if model._meta.label_lower not in _LEFT_OUT and model._meta.managed]


def migrations() -> list[str]:
    """The applied migrations, "app.name": what the tables look like."""
    applied = MigrationRecorder(connection).applied_migrations()
    return sorted(f"{app}.{name}" for app, name in applied)


def write_rows(path: Path) -> dict[str, int]:
    """All rows as they stood at one moment, while others go on writing; returns how many of each model."""
    counts: Counter[str] = Counter()
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        connection.transaction_mode = "DEFERRED"  # type: ignore[attr-defined]  # a reader's snapshot; no write lock needed
    try:
        with transaction.atomic(), path.open("w", encoding="utf-8", newline="\n") as file:
            if connection.vendor == "postgresql" and len(connection.savepoint_ids) == 0:
                connection.cursor().execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            serializers.serialize("jsonl", _counted(counts), stream=file, use_natural_foreign_keys=True, cls=_ExactTimes)
    finally:
        if connection.vendor == "sqlite":
            connection.transaction_mode = "IMMEDIATE"  # type: ignore[attr-defined]
    return dict(sorted(counts.items()))


def _counted(counts: Counter[str]) -> Iterator[models.Model]:
    """Every stored row, model by model, counted as it goes by."""
    for model in stored_models():
        for row in model._default_manager.order_by("pk").iterator(chunk_size=_AT_ONCE):
            counts[model._meta.label_lower] += 1
            yield row


def _letters() -> dict[str, Path]:
    """The mail files; each was put there whole, and stays as it is."""
    return {f"mail/{path.name}": path for path in sorted((Path(settings.LOFT_VAR) / "mail").glob("[!.]*.eml"))}


def _manifest(members: Mapping[str, Path], counts: dict[str, int]) -> dict[str, Any]:
    hashes = {}
    for name, path in members.items():
        with path.open("rb") as file:
            hashes[name] = hashlib.file_digest(file, "sha256").hexdigest()
    return {"format": FORMAT, "migrations": migrations(), "rows": counts, "sha256": hashes}


def _write_tar(target: Path, members: Mapping[str, Path]) -> None:
    """The members in this order, on the disk when it returns; without owners and times, so that equal content makes equal files."""
    with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        with tarfile.open(fileobj=file, mode="w") as archive:
            for name, path in members.items():
                entry = tarfile.TarInfo(name)
                entry.size, entry.mode = path.stat().st_size, 0o600
                with path.open("rb") as content:
                    archive.addfile(entry, content)
        file.flush()
        os.fsync(file.fileno())
