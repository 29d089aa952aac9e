"""What must be bought for a batch, where that is more than what is laid, and what suppliers say of when and how much they sell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from costing import money, units
from costing.prices.lookup import row_in_force, supplier_unit, to_buy
from costing.quote import colours
from costing.quote.costs import Made
from costing.quote.priced import PricedSail
from costing.quote.request import House
from costing.takeoff import plain

_THOUSANDTH = Decimal("0.001")


def as_bought(sails: Sequence[Made], house: House, on: date) -> tuple[Made, ...]:
    """The sails, each with its share of the special cloth that must be bought for them, where the owner charges it so.

    Cloth of one colour is one purchase; it is shared in the ratio of what is laid, to the millimetre and without a rest.
    """
    if not house.special_as_bought:
        return tuple(sails)
    laid: dict[tuple[str, str], dict[tuple[int, str], Decimal]] = {}
    for i, made in enumerate(sails):
        for lay in made.design.lays:
            colour = colours.of_slot(made.wanted.colour, lay.colour)
            laid.setdefault((lay.material, colour), {})[i, lay.colour] = units.metres(lay.length_mm)
    charged: list[dict[tuple[str, str], Decimal]] = [dict(made.bought) for made in sails]
    for (material, _), taken in laid.items():
        found = row_in_force(house.lists, material, on)
        if found is None or not found[1].special:
            continue
        bought = to_buy(found[1], sum(taken.values(), Decimal(0)))
        for (i, slot), part in zip(taken, money.shares(bought, list(taken.values()), _THOUSANDTH), strict=True):
            charged[i][material, slot] = part
    return tuple(replace(made, bought=own) for made, own in zip(sails, charged, strict=True))


def supply_warnings(sails: Sequence[PricedSail], house: House, on: date) -> Iterator[str]:
    """A sentence for each material that is on back order, and for each cloth of which more must be bought than is laid."""
    needed: dict[str, tuple[str, Decimal]] = {}
    for sail in sails:
        for line in sail.cost_lines:
            if line.group != "labour":
                needed[line.code] = (line.group, needed.get(line.code, ("", Decimal(0)))[1] + line.quantity)
    for material, (group, amount) in needed.items():
        found = row_in_force(house.lists, material, on)
        if found is None:
            continue
        listed, row = found
        if row.expected is not None and row.expected > on:
            yield f"{material} is on back order: {listed.supplier} expects it on {row.expected.day} {row.expected:%b %Y}"
        bought = to_buy(row, amount)
        if group == "cloth" and bought > amount:
            unit = supplier_unit(row.unit)[0]
            charged = "; the rest is not charged" if not (row.special and house.special_as_bought) else ""
            yield f"{material}: {plain(amount)} {unit} are laid, {plain(bought)} {unit} must be bought from {listed.supplier}{charged}"
