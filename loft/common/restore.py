"""Fills a new database from a backup, also from one that an earlier release made. Reads the file twice, a part at a time."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import secrets
import shutil
import tarfile
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import IO, Any

from django.apps import apps
from django.apps.registry import Apps
from django.conf import settings
from django.core.management import call_command
from django.core.management.color import no_style
from django.core.management.sql import emit_post_migrate_signal
from django.core.serializers import python
from django.db import connection, models, transaction
from django.db.migrations.executor import MigrationExecutor

from loft.common import backup
from loft.common.errors import Refused

_MEMBER = re.compile(r"manifest\.json|rows\.jsonl|link\.key|mail/[A-Za-z0-9@_-][A-Za-z0-9@._-]*\.eml")
# How much is stored in one statement at most: rows, and characters of their text.
_MOST_ROWS, _MOST_TEXT = 200, 4_000_000

Row = dict[str, Any]


def restore(source: Path) -> dict[str, int]:
    """Fill the database and the files from a backup; returns how many rows of each model.

    A database without tables gets them: those of the release that made the backup, which are brought up to this one's when the
    rows are in. One with tables must be this release's and empty, for what is recorded is never deleted to make room. Refused,
    with no row stored, otherwise, or if the file is damaged. Stop the service first.
    """
    with _opened(source) as archive:
        manifest = _checked(source, archive)
        registry = _tables_for(manifest["migrations"])
        with transaction.atomic():
            counts = _load(_content(archive, backup.ROWS), registry)
            if counts != manifest["rows"]:
                raise Refused("the backup does not hold the rows that its manifest counts")
            connection.check_constraints()
            _reset_sequences(registry)
        if registry is not apps:
            call_command("migrate", verbosity=0, interactive=False)
        _write_files(archive)
    return counts


@contextmanager
def _opened(source: Path) -> Iterator[tarfile.TarFile]:
    try:
        archive = tarfile.open(source, mode="r:")  # noqa: SIM115  # closed below; only its opening is caught
    except (OSError, tarfile.TarError) as error:
        raise Refused(f"{source} is not a backup, or it is damaged: {error}") from error
    with archive:
        yield archive


def _checked(source: Path, archive: tarfile.TarFile) -> dict[str, Any]:
    """The manifest, when every member is there once and is what the manifest says; Refused says what is damaged."""
    try:
        hashes = dict(_hashed(archive))
        hashes.pop(backup.MANIFEST)
        manifest: dict[str, Any] = json.load(_content(archive, backup.MANIFEST))
        said: dict[str, str] = manifest["sha256"]
    except (OSError, tarfile.TarError, KeyError, ValueError) as error:
        raise Refused(f"{source} is not a backup, or it is damaged: {error}") from error
    if manifest.get("format") != backup.FORMAT:
        raise Refused(f"{source} is of format {manifest.get('format')}; this release reads format {backup.FORMAT}")
    wrong = [name for name in sorted({*said, *hashes}) if hashes.get(name) != said.get(name)]
    if wrong or backup.ROWS not in hashes:
        raise Refused(f"{source} is damaged: {', '.join(wrong) or backup.ROWS}")
    return manifest


def _hashed(archive: tarfile.TarFile) -> Iterator[tuple[str, str]]:
    names = set()
    for entry in archive:
        if not entry.isfile() or not _MEMBER.fullmatch(entry.name) or entry.name in names:
            raise ValueError(f"a member {entry.name!r} that no backup has")
        names.add(entry.name)
        # extractfile's reader has no fileno: read in parts by hand
        digest, content = hashlib.sha256(), _content(archive, entry.name)
        while part := content.read(1 << 20):
            digest.update(part)
        yield entry.name, digest.hexdigest()


def _content(archive: tarfile.TarFile, name: str) -> IO[bytes]:
    content = archive.extractfile(name)
    if content is None:
        raise ValueError(f"{name} is no file")
    return content


def _tables_for(made_by: list[str]) -> Apps:
    """The models to store the rows with: today's, or those of the release that made the backup, in tables made for them now."""
    if not connection.introspection.table_names():
        return _make_tables({(app, name) for app, _, name in (each.partition(".") for each in made_by)})
    if made_by != backup.migrations():
        raise Refused(
            "the backup was made by another release: restore it into a database without tables (leave manage.py migrate out),"
            " where they are made as that release had them and then brought up to this one"
        )
    filled = [model._meta.label for model in backup.stored_models() if model._default_manager.exists()]
    if filled:
        raise Refused(f"the database is not empty ({', '.join(filled[:5])} ...): restore into a new one")
    return apps


def _make_tables(wanted: set[tuple[str, str]]) -> Apps:
    """The tables as they are after these migrations, and the models of that time; Refused when this release lacks one of them."""
    executor = MigrationExecutor(connection)
    nodes = executor.loader.graph.node_map
    unknown = sorted(f"{app}.{name}" for app, name in wanted - set(nodes))
    if unknown:
        raise Refused(f"the backup was made by a later release, with {', '.join(unknown)}: install that release")
    # Only the last ones of each app: Django takes an earlier one as the wish to go back to it.
    last = sorted(key for key in wanted if not any(child.key in wanted and child.key[0] == key[0] for child in nodes[key].children))
    registry = executor.migrate(last).apps
    emit_post_migrate_signal(verbosity=0, interactive=False, db=connection.alias, apps=registry, plan=[])
    return registry


class _Rows(python.Deserializer):
    """Rows as the models of one release; people and the like, which are written by name, are found by today's models."""

    def __init__(self, rows: Iterable[Row], registry: Apps, named: dict[tuple[str, ...], Any]) -> None:
        super().__init__(rows)
        self.registry, self.named = registry, named

    def _get_model_from_node(self, model_identifier: str) -> type[models.Model]:
        return self.registry.get_model(model_identifier)

    def _handle_fk_field_node(self, field: Any, field_value: Any) -> Any:
        return self._key(field.related_model, field_value) if isinstance(field_value, list) else field_value

    def _handle_m2m_field_node(self, field: Any, field_value: Any) -> list[Any]:
        return [self._key(field.related_model, value) if isinstance(value, list) else value for value in field_value]

    def _key(self, model: type[models.Model], name: list[str]) -> Any:
        label = model._meta.label
        known = (label, *name)
        if known not in self.named:
            manager: Any = apps.get_model(label)._default_manager
            self.named[known] = manager.get_by_natural_key(*name).pk
        return self.named[known]


def _load(rows: IO[bytes], registry: Apps) -> dict[str, int]:
    """Store every row. Lines end at a newline alone: a name may hold other characters that count as the end of a line."""
    counts: Counter[str] = Counter()
    named: dict[tuple[str, ...], Any] = {}
    for label, batch in _batches(io.TextIOWrapper(rows, encoding="utf-8", newline="\n")):
        _store(registry.get_model(label), list(_Rows(batch, registry, named)))
        counts[label] += len(batch)
    return dict(sorted(counts.items()))


def _batches(lines: Iterable[str]) -> Iterator[tuple[str, list[Row]]]:
    """Rows of one model together, no more at a time than one statement should hold."""
    read = ((len(line), json.loads(line)) for line in lines)
    for label, same in groupby(read, key=lambda pair: itemgetter("model")(pair[1])):
        batch: list[Row] = []
        text = 0
        for size, row in same:
            batch.append(row)
            text += size
            if len(batch) == _MOST_ROWS or text >= _MOST_TEXT:
                yield label, batch
                batch, text = [], 0
        if batch:
            yield label, batch


def _store(model: type[models.Model], batch: list[Any]) -> None:
    """Many rows in one statement, unless they have lists beside the row, or instants that would be stamped anew."""
    stamped = any(getattr(field, "auto_now", False) or getattr(field, "auto_now_add", False) for field in model._meta.concrete_fields)
    if stamped or model._meta.many_to_many:
        for row in batch:
            row.save()
    else:
        model._base_manager.bulk_create(row.object for row in batch)


def _reset_sequences(registry: Apps) -> None:
    """Let the database's own numbering go on after the highest restored key."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), backup.stored_models(registry)):
            cursor.execute(statement)


def _write_files(archive: tarfile.TarFile) -> None:
    """The link key and the mail files, each put into its place whole."""
    var = Path(settings.LOFT_VAR)
    (var / "mail").mkdir(parents=True, exist_ok=True)
    for name in archive.getnames():
        if name in (backup.MANIFEST, backup.ROWS):
            continue
        draft = var / f".restored.{secrets.token_hex(6)}"
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            shutil.copyfileobj(_content(archive, name), file)
        draft.replace(var / name)
