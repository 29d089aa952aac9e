"""Load a supplier's price list from a file, and say which prices move against the supplier's list before."""

from __future__ import annotations

from collections.abc import Iterable

from costing.prices.compare import Change
from loft.catalogue import formats, services
from loft.catalogue.loading import LoadCommand


class Command(LoadCommand):
    help = "Load a supplier's price list from a file; prints every price that moves, and warns of those that somebody must look at."
    load = staticmethod(services.load_prices)

    def more(self, text: str) -> Iterable[str]:
        changes = services.changes_since_the_list_before(formats.read_prices(text))
        moved = [c for c in changes if c.change is not Change.UNCHANGED]
        if any(c.old is not None for c in changes):
            yield f"against the list before: {len(moved)} of {len(changes)} materials change"
            yield from (f"  {change}" for change in moved)
