"""Load the loft's own prices for a class and season from a file."""

from __future__ import annotations

from loft.catalogue import retail
from loft.catalogue.loading import LoadCommand


class Command(LoadCommand):
    help = "Load the loft's own prices for a class and season from a file."
    load = staticmethod(retail.load_retail)
