"""What the four load commands share: read a file, load it, say what happened."""

from __future__ import annotations

import re
import tomllib
from argparse import ArgumentParser
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Protocol

from django.core.management.base import BaseCommand, CommandError

from costing.errors import InputError
from loft.catalogue.services import LoadReport

MOST_BYTES = 1_000_000


class Loader(Protocol):
    """A service that loads a text."""

    def __call__(self, *, text: str, dry_run: bool = False) -> LoadReport: ...


class LoadCommand(BaseCommand):
    """Loads one file; exits with 1 and a list of problems when anything is wrong, and then nothing is stored."""

    load: Loader

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="a TOML file in UTF-8; annotated examples stand in fixtures/")
        parser.add_argument("--dry-run", action="store_true", help="check everything and store nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            report = type(self).load(text=read(path), dry_run=options["dry_run"])
        except InputError as error:
            raise CommandError(refusal(path, read(path), error)) from error
        would = " (dry run: nothing is stored)" if report.dry_run else ""
        count = len(report.warnings)
        told = f", {count} {'warning' if count == 1 else 'warnings'} below" if count else ""
        self.stdout.write(f"{report.subject}: {report.outcome}{would}{told}")
        for detail in (*report.details, *self.more(read(path))):
            self.stdout.write(f"  {detail}")
        for warning in report.warnings:
            self.stdout.write(self.style.WARNING(f"  WARNING: {warning}"))

    def more(self, text: str) -> Iterable[str]:
        """What else there is to say of a file that was accepted."""
        return ()


def refusal(path: Path, text: str, error: InputError) -> str:
    """Everything that is wrong with a file, a line each."""
    lines = [f"{path.name}: {len(error.problems)} wrong, nothing is stored"]
    return "\n".join((*lines, *(f"  {place(p.path, text)}: {p.message}" for p in error.problems)))


#: By what a row of a file is known to whoever wrote it, the words that go with it first.
_KNOWN_BY = {"rule": "rule ", "kind": "", "code": "", "material": "", "operation": "", "corner": "", "name": ""}


def place(path: str, text: str) -> str:
    """A problem's path with what the file itself calls the rows on the way: "sail[0].limits[2].maximum (mainsail, rule C.6.3 (b))"."""
    try:
        found: Any = tomllib.loads(text)
    except (ValueError, RecursionError):
        return path
    called = []
    for key, index in re.findall(r"(\w+)(?:\[(\d+)\])?", path):
        found = found.get(key) if isinstance(found, dict) else None
        if index and isinstance(found, list):
            found = found[int(index)] if int(index) < len(found) else None
            word = next((f"{words}{found[by]}" for by, words in _KNOWN_BY.items() if isinstance(found, dict) and found.get(by)), "")
            called.append(word)
    called = [word for word in called if word]
    return f"{path} ({', '.join(called)})" if called else path


def read(path: Path) -> str:
    """The text of a file; CommandError when it cannot be read."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise CommandError(f"{path.name}: more than {MOST_BYTES} bytes; nothing is read")
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise CommandError(f"{path.name}: cannot be read: {error.strerror}") from error
    except UnicodeDecodeError as error:
        raise CommandError(f"{path.name}: is not in UTF-8; save it as UTF-8") from error
