"""Load a version of a supplier's price list from a file."""

from __future__ import annotations

from loft.catalogue import services
from loft.catalogue.loading import LoadCommand


class Command(LoadCommand):
    help = "Load a version of a supplier's price list from a file."
    load = staticmethod(services.load_prices)
