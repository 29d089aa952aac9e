"""Load exchange rates from a table in the European Central Bank's layout."""

from __future__ import annotations

from loft.catalogue import rates
from loft.catalogue.loading import LoadCommand


class Command(LoadCommand):
    help = "Load euro reference rates from a table in the European Central Bank's layout; one typed by hand will do."
    load = staticmethod(rates.load_rates)
