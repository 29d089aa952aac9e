"""The price ladder: what a sail costs and is sold for as one of 1, 2, 3 ... alike, from the calculation that prices a batch.

A sail's list price rests on its being made alone, so that only the discount tiers move it; the cost falls with shared set-up, learning
and the breaks of the supplier lists. Both are shown, with the price at which the batch's own cost would reach the target margin.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_CEILING, Decimal

from costing import money
from costing.errors import Collector
from costing.prices.lists import UnitCost
from costing.prices.lookup import unit_costs
from costing.quote import batch, costs, pricing
from costing.quote.checks import check_prices, check_request
from costing.quote.costs import Made
from costing.quote.designs import design_sails
from costing.quote.numbering import numbering
from costing.quote.priced import Design
from costing.quote.request import BatchRequest, House, SailRequest
from costing.quote.supply import as_bought
from costing.quote.wanted import wanted_sails
from costing.takeoff import plain

MOST = 60


@dataclass(frozen=True, slots=True)
class Rung:
    """A batch of so many sails alike. Money a sail, to the cent, net of tax and without what is passed on.

    net: as the terms have it; at_target: the lowest price that reaches the target margin at this batch's cost, raised to the cent;
    jumps: why this rung differs by more than set-up and learning from the one below it.
    """

    sails: int
    cost: Decimal
    net: Decimal
    at_target: Decimal
    margin: Decimal | None
    jumps: tuple[str, ...]


def ladder(
    sail: SailRequest, house: House, *, buyer: str, on: date, most: int = MOST, known: Mapping[str, Design] | None = None, joined: int = 0
) -> tuple[Rung, ...]:
    """The rungs from 1 to `most` sails like this one; InputError when it cannot be made or priced.

    joined: sails of the batch that they join: the tiers count them, the cost does not, as their cloth is bought and their set-up done.
    """
    wrong = Collector()
    house = house.making(sail.pattern)
    request = BatchRequest("", buyer, (sail,))
    check_request(request, house, wrong)
    wanted = wanted_sails(request, house, wrong)
    check_prices(wanted, house, on, wrong)
    wrong.raise_if_any()
    designs = design_sails(wanted, house, known or {}, wrong)
    wrong.raise_if_any()
    (plan,) = numbering((sail,), wanted, designs, house, wrong)
    wrong.raise_if_any()
    made = batch.made_of(wanted[0], designs[0], plan.drivers, house)
    alone = batch.made_of(wanted[0], designs[0], plan.priced_drivers, house)
    rungs: list[Rung] = []
    before: Mapping[str, UnitCost] = {}
    for sails in range(1, most + 1):
        shared = _as_bought(made, sails, house, on)
        if sails == 1 or shared.bought:  # otherwise the price of one does not depend on how many there are
            own = costs.own_cost(batch.lines_alone(replace(alone, bought=shared.bought), house, on))
            price = pricing.unit_price(own, house, buyer)
        unit = _unit_costs(shared, sails, house, on)
        rungs.append(_rung(shared, sails, unit, before, price, house, joined))
        before = unit
    return tuple(rungs)


def first_at_most(rungs: tuple[Rung, ...], price: Decimal) -> Rung | None:
    """The smallest batch whose net price under the terms is at most this; None when even the largest is dearer."""
    return next((rung for rung in rungs if rung.net <= price), None)


def first_affordable(rungs: tuple[Rung, ...], price: Decimal) -> Rung | None:
    """The smallest batch that can be sold at this net price with the target margin kept; None when even the largest costs too much."""
    return next((rung for rung in rungs if rung.at_target <= price), None)


def _as_bought(made: Made, sails: int, house: House, on: date) -> Made:
    """The sail with its part of the special cloth that must be bought for so many."""
    if not house.special_as_bought:
        return made
    shares = [one.bought for one in as_bought([made] * sails, house, on)]
    whole = {material: sum((share[material] for share in shares), Decimal(0)) for material in shares[0]}
    return replace(made, bought={material: money.quantity_3(metres / sails) for material, metres in whole.items()})


def _unit_costs(made: Made, sails: int, house: House, on: date) -> dict[str, UnitCost]:
    together = {material: (amount * sails, unit) for material, (amount, unit) in costs.needs(made).items()}
    return unit_costs(house.lists, together, on=on, currency=house.currency.code, rates=house.rates)


def _rung(
    made: Made, sails: int, unit: Mapping[str, UnitCost], before: Mapping[str, UnitCost], price: pricing.UnitPrice, house: House,
    joined: int,
) -> Rung:  # fmt: skip
    learned = batch.learned_in(made, sails, house)
    # The shares of a set-up add up to the whole, however many share it: one sail that bears it all has the sum.
    (setups,) = costs.setup_shares([learned], house)
    shared, minutes = sum((s.amount for s in setups), Decimal(0)), sum((s.minutes for s in setups), Decimal(0))
    total = sails * costs.own_cost(costs.cost_lines(learned, house, unit, ())) + shared + costs.overhead_in_cost(shared, minutes, house)
    discount = pricing.best_discount(house.terms, sails + joined)
    net = pricing.sail_item("", price, discount, house).net
    target = total / sails / (1 - house.margins.target)
    return Rung(
        sails, money.to_cents(total / sails, house.currency), net, target.quantize(house.currency.quantum, rounding=ROUND_CEILING),
        pricing.margin(net * sails, Decimal(0), total), tuple(_jumps(sails, unit, before, house, joined)),
    )  # fmt: skip


def _jumps(sails: int, unit: Mapping[str, UnitCost], before: Mapping[str, UnitCost], house: House, joined: int) -> list[str]:
    told = [
        f"{material}: {plain(cost.amount)} a {cost.unit} instead of {plain(before[material].amount)}"
        for material, cost in unit.items()
        if before and cost.amount != before[material].amount
    ]
    now, then = (pricing.best_discount(house.terms, count + joined) for count in (sails, sails - 1))
    if sails > 1 and now.fraction != then.fraction:
        told.append(f"discount {plain(now.fraction * 100)} % instead of {plain(then.fraction * 100)} %")
    return told
