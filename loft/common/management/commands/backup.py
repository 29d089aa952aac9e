"""Write everything stored into one file: `manage.py backup FILE`."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from loft.common import backup
from loft.common.errors import Refused


class Command(BaseCommand):
    help = "Write the database, the mail files and the link key into one new file. The service may go on running."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            counts = backup.save(options["file"])
        except (Refused, OSError) as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{sum(counts.values())} rows written to {options['file']}. Keep it as safe as the database.")
