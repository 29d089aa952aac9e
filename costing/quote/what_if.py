"""What a batch would cost and be sold for if something were otherwise: dearer cloth, another cloth, exchange or labour rate.

The change is made to what the house brings, and the batch goes through the calculation that prices it: nothing is estimated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costing import money
from costing.errors import Collector
from costing.prices.lists import Break, SupplierList, SupplierRow
from costing.prices.rates import DayRates
from costing.quote import batch
from costing.quote.cloth_rules import check_cloth
from costing.quote.ladder import Rung, first_affordable, first_at_most, ladder
from costing.quote.priced import Design, PricedBatch
from costing.quote.request import BatchRequest, House, SailRequest

#: No price, rate or wage is tried at more than this times what it is.
MOST_RISE = Decimal(5)


@dataclass(frozen=True, slots=True)
class WhatIf:
    """What is otherwise. Rises are fractions (0.08 is 8 % dearer); labour_rate: a paid hour, None as it is; cloth: empty as it is."""

    cloth_rise: Decimal = Decimal(0)
    cloth: str = ""
    foreign_rise: Decimal = Decimal(0)
    labour_rate: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Figures:
    """A batch in five figures; kept_margin: what would be left of the offered net at this cost."""

    cost: Decimal
    net: Decimal
    gross: Decimal
    margin: Decimal | None
    kept_margin: Decimal | None


@dataclass(frozen=True, slots=True)
class ClothReach:
    """A permitted cloth: its price alone, and the batch sizes at which it is sold, or can be offered at target, for the asked price."""

    cloth: str
    name: str
    alone: Decimal
    reached: Rung | None
    affordable: Rung | None


def check(what: WhatIf, wrong: Collector) -> None:
    """Add what cannot be tried."""
    for field, rise in (("cloth_rise", what.cloth_rise), ("foreign_rise", what.foreign_rise)):
        if not -1 < rise <= MOST_RISE:
            wrong.add(field, "out_of_range", f"{rise * 100:f} % is not above -100 % and at most {MOST_RISE * 100:f} %")
    if what.labour_rate is not None and not 0 < what.labour_rate < 10_000:
        wrong.add("labour_rate", "out_of_range", f"{what.labour_rate} is no rate for an hour: above 0 and below 10,000")
    if what == WhatIf():
        wrong.add("", "nothing", "say what should be otherwise: a rise, another cloth or a rate")


def what_if(request: BatchRequest, house: House, what: WhatIf, *, offered: PricedBatch, on: date, known: Mapping[str, Design]) -> Figures:
    """The figures of a batch if things were as `what` says; InputError when it cannot be tried, made or priced so."""
    wrong = Collector()
    check(what, wrong)
    if what.cloth and what.cloth not in house.cloths:
        wrong.add("cloth", "unknown_cloth", f"there is no sailcloth {what.cloth!r}; there are {', '.join(house.cloths)}")
    wrong.raise_if_any()
    sails = tuple(_in_cloth(sail, what.cloth, house) for sail in request.sails)
    found = batch.price_batch(replace(request, sails=sails), changed(house, what), on=on, known=known).batch
    passed = sum((sail.pass_through for sail in offered.sails), Decimal(0))
    made = offered.totals.net - passed
    kept = None if made == 0 else ((made - found.cost) / made).quantize(Decimal("0.0001"))
    return Figures(found.cost, found.totals.net, found.totals.gross, found.margin, kept)


def figures(offered: PricedBatch) -> Figures:
    """A batch as it stands."""
    return Figures(offered.cost, offered.totals.net, offered.totals.gross, offered.margin, offered.margin)


def changed(house: House, what: WhatIf) -> House:
    """The house with dearer cloth, dearer currencies and another labour rate."""
    labour = house.labour if what.labour_rate is None else replace(house.labour, rate_per_paid_hour=what.labour_rate)
    lists = tuple(_dearer(listed, house, what.cloth_rise) for listed in house.lists)
    return replace(house, lists=lists, labour=labour, rates=tuple(_moved(r, house.currency.code, what.foreign_rise) for r in house.rates))


def _dearer(listed: SupplierList, house: House, rise: Decimal) -> SupplierList:
    """Cloth and film at another price, in the list's own currency and to four places."""
    if not rise:
        return listed
    return replace(listed, rows=tuple(_row(row, rise) if row.material in house.cloths else row for row in listed.rows))


def _row(row: SupplierRow, rise: Decimal) -> SupplierRow:
    return replace(row, breaks=tuple(Break(b.from_quantity, money.unit_cost_4(b.unit_cost * (1 + rise))) for b in row.breaks))


def _moved(rates: DayRates, ours: str, rise: Decimal) -> DayRates:
    """Every other currency dearer in ours; ours itself may be the base of the rates."""
    if not rise:
        return rates
    if rates.base == ours:
        return replace(rates, per_base={code: rate / (1 + rise) for code, rate in rates.per_base.items()})
    return replace(rates, per_base={code: rate * (1 + rise) if code == ours else rate for code, rate in rates.per_base.items()})


def _in_cloth(sail: SailRequest, cloth: str, house: House) -> SailRequest:
    """The sail in another cloth, in the colour that it wants where the cloth comes in it."""
    if not cloth:
        return sail
    comes_in = {colour.casefold() for colour in house.cloths[cloth].colours}
    return replace(sail, cloth=cloth, colour=sail.colour if sail.colour.casefold() in comes_in else "")


def cloths_at(
    sail: SailRequest, house: House, price: Decimal, *, buyer: str, on: date, known: Mapping[str, Design] | None = None, joined: int = 0
) -> tuple[ClothReach, ...]:
    """For every cloth that class and pattern permit and somebody sells: at which batch size the sail reaches a price, the least first."""
    house = house.making(sail.pattern)
    found = []
    for cloth in house.cloths.values():
        wrong = Collector()
        check_cloth(cloth, house, "cloth", wrong)
        if wrong or cloth.role != "body":
            continue
        with wrong.under(""):
            rungs = ladder(_in_cloth(sail, cloth.code, house), house, buyer=buyer, on=on, known=known, joined=joined)
        if not wrong:
            found.append(ClothReach(cloth.code, cloth.name, rungs[0].net, first_at_most(rungs, price), first_affordable(rungs, price)))
    return tuple(sorted(found, key=lambda c: (c.reached.sails if c.reached else 1_000, c.alone)))
