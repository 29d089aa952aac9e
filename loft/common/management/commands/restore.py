"""Fill an empty database from a backup: `manage.py restore FILE`."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from loft.common import restore
from loft.common.errors import Refused


class Command(BaseCommand):
    help = "Restore a backup, also an earlier release's, into a new database of either kind. Stop the service first; start it afterwards."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            counts = restore.restore(options["file"])
        except Refused as error:
            raise CommandError(f"Nothing was restored: {error}") from error
        self.stdout.write(f"{sum(counts.values())} rows restored. Start the service again; links that were sent stay good.")
