"""One file with everything the loft has stored, that restores on SQLite and on PostgreSQL alike.

A tar file: ``manifest.json`` (format, applied migrations, rows a model, SHA-256 of every other member), ``rows.jsonl`` (one
stored row a line, as Django serialises it), ``link.key`` (so that links already sent stay good) and ``mail/*.eml``.
Whoever holds the file can read every customer and accept every open quote: keep it as safe as the database.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import secrets
import tarfile
from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from itertools import groupby, islice
from operator import itemgetter
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core import serializers
from django.core.management.color import no_style
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder

from loft.common.errors import Refused

FORMAT = 1
_ROWS, _LINK_KEY = "rows.jsonl", "link.key"
_MEMBER = re.compile(r"rows\.jsonl|link\.key|mail/[A-Za-z0-9@_-][A-Za-z0-9@._-]*\.eml")
# How many rows are stored in one statement.
_AT_ONCE = 200
# Made anew by migrations, or worth nothing on another day.
_LEFT_OUT = {"contenttypes.contenttype", "auth.permission", "sessions.session"}


class _ExactTimes(DjangoJSONEncoder):
    """Django's encoder cuts instants to milliseconds; a backup keeps them whole."""

    def default(self, o: Any) -> Any:
        return o.isoformat() if isinstance(o, datetime) else super().default(o)


def save(target: Path) -> dict[str, int]:
    """Write a backup to a new file, whole or not at all; returns how many rows of each model. Refused if the file exists."""
    if target.exists():
        raise Refused(f"{target} exists already: name a new file")
    rows, counts = _rows()
    members = {_ROWS: rows, **_files()}
    manifest = {
        "format": FORMAT,
        "migrations": _migrations(),
        "rows": counts,
        "sha256": {name: hashlib.sha256(content).hexdigest() for name, content in members.items()},
    }
    members = {"manifest.json": json.dumps(manifest, indent=1, sort_keys=True).encode(), **members}
    draft = target.with_name(f".{target.name}.{secrets.token_hex(6)}")
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        with tarfile.open(fileobj=file, mode="w") as archive:
            for name, content in members.items():
                entry = tarfile.TarInfo(name)
                entry.size, entry.mode = len(content), 0o600
                archive.addfile(entry, io.BytesIO(content))
        file.flush()
        os.fsync(file.fileno())
    draft.rename(target)
    return counts


def restore(source: Path) -> dict[str, int]:
    """Fill the database and the files from a backup; returns how many rows of each model.

    Refused, with nothing changed, if the file is damaged, was made by another release, or if the database holds rows
    already: what is recorded is never deleted to make room. Stop the service first.
    """
    manifest, members = _read(source)
    if manifest["migrations"] != _migrations():
        raise Refused("the backup was made by another release: install that release, restore there, then upgrade and migrate")
    filled = [model._meta.label for model in _models() if model._default_manager.exists()]
    if filled:
        raise Refused(f"the database is not empty ({', '.join(filled[:5])} ...): restore into a new one, made by manage.py migrate")
    with transaction.atomic():
        counts = _load(members[_ROWS])
        if counts != manifest["rows"]:
            raise Refused("the backup does not hold the rows that its manifest counts")
        connection.check_constraints()
        _reset_sequences()
    _write_files(members)
    return counts


def _models() -> list[type[models.Model]]:
    """Every stored model that a backup holds, those made for many-to-many fields left out (they go with their owner)."""
    return [model for model in apps.get_models() if model._meta.label_lower not in _LEFT_OUT and model._meta.managed]


def _rows() -> tuple[bytes, dict[str, int]]:
    """All rows as they stood at one moment, while others go on writing."""
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        connection.transaction_mode = "DEFERRED"  # type: ignore[attr-defined]  # a reader's snapshot; no write lock needed
    try:
        with transaction.atomic():
            if connection.vendor == "postgresql" and len(connection.savepoint_ids) == 0:
                connection.cursor().execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            objects = [row for model in _models() for row in model._default_manager.order_by("pk").iterator()]
            text = serializers.serialize("jsonl", objects, use_natural_foreign_keys=True, cls=_ExactTimes)
    finally:
        if connection.vendor == "sqlite":
            connection.transaction_mode = "IMMEDIATE"  # type: ignore[attr-defined]
    counts = Counter(row._meta.label_lower for row in objects)
    return text.encode(), dict(sorted(counts.items()))


def _files() -> dict[str, bytes]:
    var = Path(settings.LOFT_VAR)
    found = {f"mail/{path.name}": path.read_bytes() for path in sorted((var / "mail").glob("[!.]*.eml"))}
    return {_LINK_KEY: settings.LOFT_LINK_KEY.encode(), **found}


def _migrations() -> list[str]:
    applied = MigrationRecorder(connection).applied_migrations()
    return sorted(f"{app}.{name}" for app, name in applied)


def _read(source: Path) -> tuple[dict[str, Any], dict[str, bytes]]:
    """The manifest and the members, each checked against its hash; Refused says what is damaged."""
    try:
        members = dict(_members(source))
        manifest: dict[str, Any] = json.loads(members.pop("manifest.json"))
        hashes: dict[str, str] = manifest["sha256"]
    except (OSError, tarfile.TarError, KeyError, ValueError) as error:
        raise Refused(f"{source} is not a backup, or it is damaged: {error}") from error
    if manifest.get("format") != FORMAT:
        raise Refused(f"{source} is of format {manifest.get('format')}; this release reads format {FORMAT}")
    wrong = [name for name in sorted({*hashes, *members}) if hashlib.sha256(members.get(name, b"")).hexdigest() != hashes.get(name)]
    if wrong or _ROWS not in members:
        raise Refused(f"{source} is damaged: {', '.join(wrong) or _ROWS}")
    return manifest, members


def _members(source: Path) -> Iterator[tuple[str, bytes]]:
    with tarfile.open(source, mode="r:") as archive:
        for entry in archive:
            content = archive.extractfile(entry) if entry.isfile() else None
            if content is None or not (entry.name == "manifest.json" or _MEMBER.fullmatch(entry.name)):
                raise ValueError(f"a member {entry.name!r} that no backup has")
            yield entry.name, content.read()


def _load(rows: bytes) -> dict[str, int]:
    """Store every row. Lines end at a newline alone: a name may hold other characters that count as the end of a line."""
    counts: Counter[str] = Counter()
    lines = io.TextIOWrapper(io.BytesIO(rows), encoding="utf-8", newline="\n")
    for label, same in groupby(map(json.loads, lines), key=itemgetter("model")):
        while batch := list(islice(same, _AT_ONCE)):
            _store(apps.get_model(label), list(serializers.deserialize("python", batch)))
            counts[label] += len(batch)
    return dict(sorted(counts.items()))


def _store(model: type[models.Model], batch: list[Any]) -> None:
    """Many rows in one statement, unless they have lists beside the row, or instants that would be stamped anew."""
    stamped = any(getattr(field, "auto_now", False) or getattr(field, "auto_now_add", False) for field in model._meta.concrete_fields)
    if stamped or model._meta.many_to_many:
        for row in batch:
            row.save()
    else:
        model._base_manager.bulk_create(row.object for row in batch)


def _reset_sequences() -> None:
    """Let the database's own numbering go on after the highest restored key."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), _models()):
            cursor.execute(statement)


def _write_files(members: dict[str, bytes]) -> None:
    var = Path(settings.LOFT_VAR)
    (var / "mail").mkdir(parents=True, exist_ok=True)
    for name, content in members.items():
        if name == _ROWS:
            continue
        draft = var / f".restored.{secrets.token_hex(6)}"
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(content)
        draft.replace(var / name)
