"""The loft's list prices beside what the sails cost today, and which supplier row has moved that since the list began."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from costing import quote
from costing.errors import InputError
from costing.money import to_cents
from costing.prices.retail import Offer, RetailEntry, RetailList
from costing.quote import CostLine, PricedSail
from costing.quote.costs import OUTSIDE, OVERHEAD
from costing.quote.pricing import margin, tax_rate
from loft.catalogue import selectors as catalogue
from loft.workshop import selectors as workshop

#: How many supplier rows are named, those first that moved the cost most.
MOST_MOVES = 3


@dataclass(frozen=True, slots=True)
class Move:
    """A bought cost line that changed since the list's first day: by how much the sail's cost did, and the row that it stands on now."""

    material: str
    change: Decimal
    was: Decimal
    now: Decimal
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class PriceNow:
    """A price of an entry, list or offer: net of tax, and the margin that is left of it at today's cost."""

    name: str
    price: Decimal
    net: Decimal
    margin: Decimal | None
    verdict: str
    offer: Offer | None = None


@dataclass(frozen=True, slots=True)
class EntryNow:
    """An entry today: the cost of the sail made alone with the options it has by default. told: why it cannot be costed, else empty."""

    entry: RetailEntry
    prices: tuple[PriceNow, ...]
    cost: Decimal | None
    cost_then: Decimal | None
    moves: tuple[Move, ...]
    told: tuple[str, ...]

    @property
    def thin(self) -> bool:
        """Whether one of its prices that can still be sold at is below the warning."""
        return any(p.verdict in ("warning", "floor") for p in self.prices)


def entries_now(listed: RetailList, *, on: date) -> tuple[EntryNow, ...]:
    """Every entry of a list at the supplier lists of a day."""
    return tuple(_entry_now(listed, entry, on) for entry in listed.entries)


def _entry_now(listed: RetailList, entry: RetailEntry, on: date) -> EntryNow:
    try:
        house, sail = _costed(entry, on)
    except InputError as error:
        return EntryNow(entry, (), None, None, (), tuple(p.message for p in error.problems))
    offers = [o for o in entry.offers if o.until >= on]
    added = sum((o.price for o in entry.options if o.option in _defaults(house)), Decimal(0))
    prices = [_price("list price", entry.price + added, None, listed, house, sail.cost)]
    prices += [_price(o.name, o.price + added, o, listed, house, sail.cost) for o in offers]
    try:
        then = _costed(entry, listed.valid_from)[1]
    except InputError:
        return EntryNow(entry, tuple(prices), sail.cost, None, (), ())
    return EntryNow(entry, tuple(prices), sail.cost, then.cost, tuple(_moves(then, sail))[:MOST_MOVES], ())


def _costed(entry: RetailEntry, on: date) -> tuple[quote.House, PricedSail]:
    """One sail of the entry, made alone, as the house costs it on a day."""
    house = catalogue.house(pattern=entry.pattern, on=on)
    sail = quote.SailRequest(path="entry", boat=entry.name, owner="", sail_number=None, cloth=entry.cloth)
    request = quote.BatchRequest(customer="", buyer="trade", sails=(sail,))
    return house, quote.price_batch(request, house, on=on, known=workshop.known_designs(entry.pattern)).batch.sails[0]


def _defaults(house: quote.House) -> frozenset[str]:
    return frozenset(o.code for o in house.pattern.options if o.default)


def _price(name: str, price: Decimal, offer: Offer | None, listed: RetailList, house: quote.House, cost: Decimal) -> PriceNow:
    tax = tax_rate(house, house.sail_tax).fraction if listed.with_tax else Decimal(0)
    net = to_cents(price / (1 + tax), house.currency)
    left = margin(net, Decimal(0), cost)
    return PriceNow(name, price, net, left, _verdict(left, house), offer)


def _verdict(left: Decimal | None, house: quote.House) -> str:
    if left is None or left < house.margins.floor:
        return "floor"
    if left < house.margins.warning:
        return "warning"
    return "target" if left >= house.margins.target else "below"


def _moves(then: PricedSail, now: PricedSail) -> Iterator[Move]:
    """The bought lines whose unit cost changed, the largest change of the sail's cost first."""
    before = {line.code: line for line in _bought(then)}
    moved = [(line, before[line.code]) for line in _bought(now) if line.code in before and line.unit_cost != before[line.code].unit_cost]
    for line, was in sorted(moved, key=lambda pair: -abs(pair[0].amount - pair[1].amount)):
        yield Move(line.code, line.amount - was.amount, was.unit_cost, line.unit_cost, line.unit, line.source)


def _bought(sail: PricedSail) -> Iterator[CostLine]:
    return (line for line in sail.cost_lines if line.group not in ("labour", OVERHEAD, *OUTSIDE) and line.code != "end-of-roll")


def season_lists(*, on: date) -> Mapping[str, RetailList]:
    """The list that holds on a day for each class that has one."""
    codes = dict.fromkeys(listed.class_code for listed in catalogue.retail_lists())
    found = ((code, catalogue.retail_list(class_code=code, on=on)) for code in codes)
    return {code: listed for code, listed in found if listed is not None}
