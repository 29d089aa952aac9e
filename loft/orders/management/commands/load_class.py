"""Load a class's rule edition from a file, and say what it changes and which sails would breach it."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils import timezone

from loft.catalogue import formats, services
from loft.catalogue.loading import LoadCommand
from loft.orders import new_edition


class Command(LoadCommand):
    help = "Load a class's rule edition from a file; prints what changes, and the open quotes, tickets and stock sails that would breach."
    load = staticmethod(services.load_class)

    def more(self, text: str) -> Iterable[str]:
        return new_edition.would_breach(formats.read_class(text), now=timezone.now()).lines()
