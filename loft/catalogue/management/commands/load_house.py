"""Load labour standards, terms, margins, tax and the loft's profile from a file."""

from __future__ import annotations

from loft.catalogue import services
from loft.catalogue.loading import LoadCommand


class Command(LoadCommand):
    help = "Load labour standards, terms, margins, tax and the loft's profile from a file."
    load = staticmethod(services.load_house)
