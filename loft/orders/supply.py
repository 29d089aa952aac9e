"""What suppliers no longer sell, as far as a quote's sails want it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date

from costing.cloth import Cloth
from costing.errors import Problem
from costing.quote import House
from loft.catalogue import selectors as catalogue
from loft.orders import paper
from loft.orders.models import Revision


def no_longer_sold(cloth: Cloth, colours: Collection[str], house: House) -> Iterator[Problem]:
    """A problem for a cloth that is discontinued, or does not come any more in one of these colours."""
    wanted = {colour.casefold() for colour in colours} | {""}
    return (Problem("supply", "discontinued", g.words) for g in house.gone if g.material == cloth.code and g.colour.casefold() in wanted)


def discontinued(revision: Revision, *, on: date) -> tuple[str, ...]:
    """A sentence for each cloth, or colour of it, in a revision's sails that no supplier sells on a day."""
    gone = catalogue.assortment_of(on=on).gone
    if not gone:
        return ()
    wanted = {
        (line.code, colour)
        for sail in paper.thaw(revision).sails
        for line in sail.cost_lines
        if line.group == "cloth"
        for colour in ("", sail.colour.casefold())
    }
    return tuple(g.words for g in gone if (g.material, g.colour.casefold()) in wanted)
