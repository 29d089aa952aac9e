"""What has changed since a draft was priced, so that it cannot go out as it is: a cloth that is gone, a tax rate that is another."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date

from costing.cloth import Cloth
from costing.errors import Problem
from costing.quote import House, PricedBatch, colours
from costing.quote.exempt import EXEMPT, exempt_reason
from costing.takeoff import plain
from loft.catalogue import selectors as catalogue
from loft.orders import paper
from loft.orders.models import Revision


def no_longer_sold(cloth: Cloth, colours: Collection[str], house: House) -> Iterator[Problem]:
    """A problem for a cloth that is discontinued, or does not come any more in one of these colours."""
    wanted = {colour.casefold() for colour in colours} | {""}
    return (Problem("supply", "discontinued", g.words) for g in house.gone if g.material == cloth.code and g.colour.casefold() in wanted)


def other_tax_rates(batch: PricedBatch, *, on: date) -> Iterator[str]:
    """A sentence for each rate of a batch's totals that is another on a day, or is not there any more."""
    today = {rate.code: rate for rate in catalogue.tax_rates(on=on)}
    for line in batch.totals.taxes:
        now = today.get(line.code)
        if line.code == EXEMPT and exempt_reason(batch):
            continue  # it is the customer's, not the loft's
        if now is None:
            yield f"{line.label} (code {line.code}), which it was priced with, is no tax rate of the loft today"
        elif now.fraction != line.fraction:
            yield f"{line.label} was {plain(line.fraction * 100)} % when it was priced and is {plain(now.fraction * 100)} % today"


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
        for colour in ("", *(c.casefold() for c in colours.all_in(sail.colour)))
    }
    return tuple(g.words for g in gone if (g.material, g.colour.casefold()) in wanted)
