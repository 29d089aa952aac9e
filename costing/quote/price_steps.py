"""What a customer reads of the price ladder: the net price of a sail from each number of sails at which the terms lower it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from costing.quote import pricing
from costing.quote.priced import PricedSail, PriceStep
from costing.quote.request import House


def price_steps(sails: Sequence[PricedSail], house: House, *, joined: int = 0) -> tuple[PriceStep, ...]:
    """The steps of the sail that the batch has most of; empty where the terms have no tiers, or more than they move its price.

    joined: sails of the batch that these join; the steps begin with the first one after them.

    Its unit price is that of one sail made alone, so that the discount alone depends on the number; not so where special cloth is charged
    by what is bought, or the list has offers.
    """
    tiers = house.terms.tiers
    charged = any("its share of what must be bought" in line.how for sail in sails for line in sail.cost_lines)
    if not tiers or charged or (house.retail is not None and any(e.offers for e in house.retail.entries)):
        return ()
    prices = Counter(item.unit_price for sail in sails for item in sail.items if not item.pass_through)
    ((price, _),) = prices.most_common(1)
    unit = pricing.UnitPrice(price, price, "")
    found: list[PriceStep] = []
    for count in (joined + 1, *(tier.from_sails for tier in tiers if tier.from_sails > joined + 1)):
        discount = pricing.best_discount(house.terms, count)
        net = pricing.sail_item("", unit, discount, house).net
        if not found or net < found[-1].net:
            found.append(PriceStep(count, discount.fraction, net))
    return tuple(found) if len(found) > 1 and price > Decimal(0) else ()
