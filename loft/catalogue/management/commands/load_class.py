"""Load a class's rule edition from a file."""

from __future__ import annotations

from loft.catalogue import services
from loft.catalogue.loading import LoadCommand


class Command(LoadCommand):
    help = "Load a class's rule edition from a file."
    load = staticmethod(services.load_class)
