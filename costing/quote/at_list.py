"""Sails at the loft's list prices: what the list asks, as net and as the buyer sees it, and what an offer takes off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costing.errors import Collector
from costing.money import to_cents
from costing.prices.retail import RetailList, list_price
from costing.quote.pricing import PRIVATE, UnitPrice, tax_rate
from costing.quote.request import House
from costing.quote.wanted import Wanted


@dataclass(frozen=True, slots=True)
class Listed:
    """A sail's list price and the net that an offer takes off it."""

    price: UnitPrice
    off: Decimal


def check_listed(wanted: Sequence[Wanted], house: House, on: date, wrong: Collector) -> None:
    """Add every sail that the list has no price for, and a list that does not hold on the day; nothing where prices are costed."""
    retail = house.retail
    if retail is None:
        return
    if on < retail.valid_from or (retail.valid_to is not None and on > retail.valid_to):
        until = f" to {retail.valid_to}" if retail.valid_to else ""
        wrong.add("at_list", "not_in_force", f"{retail.reference} holds from {retail.valid_from}{until}, and the batch is priced for {on}")
    if retail.currency != house.currency.code:
        wrong.add("at_list", "currency", f"{retail.reference} is in {retail.currency}, the loft sells in {house.currency.code}")
    for sail in wanted:
        pattern = house.making(sail.request.pattern).pattern.code
        if sail.cloth is not None and retail.entry(pattern, sail.cloth.code) is None:
            there_are = ", ".join(f"{e.pattern} in {e.cloth}" for e in retail.entries)
            message = f"{retail.reference} has no price for {pattern} in {sail.cloth.code}; it has {there_are}"
            wrong.add(f"{sail.request.path}.cloth", "no_list_price", message)


def listed(sail: Wanted, variant: bool, house: House, buyer: str, on: date) -> Listed | None:
    """What the list asks for a sail that `check_listed` found in it; None where prices are costed."""
    retail = house.retail
    if retail is None or sail.cloth is None:
        return None
    entry = retail.entry(house.making(sail.request.pattern).pattern.code, sail.cloth.code)
    assert entry is not None  # checked before
    found = list_price(entry, options=sail.options, variant=variant, on=on)
    tax = tax_rate(house, house.sail_tax).fraction
    net, shown = _both(found.price, retail, tax, house, buyer)
    less = _both(found.price - found.off, retail, tax, house, buyer)[0]
    how = f"{retail.reference}: {found.how} = {found.price}"
    if retail.with_tax:
        how += f" with tax; net {net}"
    if found.offer is not None:
        how += f"; {found.offer.name} until {found.offer.until.day} {found.offer.until:%b %Y}: {found.offer.price} instead of {entry.price}"
    return Listed(UnitPrice(net, shown, how), net - less)


def _both(price: Decimal, retail: RetailList, tax: Decimal, house: House, buyer: str) -> tuple[Decimal, Decimal]:
    """Net, and the price that the buyer sees; the one that the list does not give is worked out and rounded once."""
    cur = house.currency
    net = to_cents(price / (1 + tax), cur) if retail.with_tax else price
    if buyer != PRIVATE:
        return net, net
    return net, price if retail.with_tax else to_cents(price * (1 + tax), cur)


def basis(house: House, wanted_on: date) -> str:
    """What the prices of a batch rest on, in words; empty where they are costed."""
    if house.retail is None:
        return ""
    offers = {o.name: o for e in house.retail.entries if (o := e.offer_on(wanted_on)) is not None}
    words = "".join(f"; {o.name} until {o.until.day} {o.until:%b %Y}" for o in offers.values())
    return f"{house.retail.reference}{words}"
