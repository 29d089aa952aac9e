"""Propose seam heights for a pattern's file, which keeps them."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from costing.errors import InputError
from loft.catalogue import formats, loading, selectors, trying
from loft.common.errors import NotFound


class Command(BaseCommand):
    help = (
        "Propose seam heights for the width of the pattern's first cloth, with up to 20 mm to spare where that takes no panel more, for a "
        "pattern file to keep; its own seams may be missing or wrong. The class must be loaded; the cloth is as wide as its list says, or "
        "as the pattern's roll_width. Stores nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="a pattern file")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        text = loading.read(path)
        try:
            pattern = formats.read_pattern(text)
            found = trying.proposed(pattern, selectors.class_rule(code=pattern.class_code, edition=pattern.edition))
        except InputError as error:
            raise CommandError(loading.refusal(path, text, error)) from error
        except NotFound as error:
            raise CommandError(f"{path.name}: {error} Load the class first.") from error
        for name in ("seams", "foot_seams"):
            if seams := getattr(found, name):
                self.stdout.write(f"{name} = [")
                for seam in seams:
                    run_out = "" if pattern.make.gores else f", run_out = {seam.run_out:g}"
                    self.stdout.write(f'    {{ height = "{seam.height_mm:g} mm", broadseam = "{seam.broadseam_mm:g} mm"{run_out} }},')
                self.stdout.write("]")
        if not found.seams and not found.foot_seams:
            self.stdout.write("No seam is needed: the sail fits on one width.")
