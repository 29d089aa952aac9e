"""The price of things on a day.

Which list: of each supplier the newest list in force on the day that has the material; between suppliers the cheaper at the quantity.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import ROUND_CEILING, Decimal

from costing import money
from costing.errors import Collector, InputError, problem
from costing.prices.lists import Break, SupplierList, SupplierRow, UnitCost
from costing.prices.rates import DayRates, Exchange, exchange
from costing.units import INCH_MM, YARD_MM

#: Units of supplier lists -> the unit that we count in and how many of those one of theirs is; all exact.
SUPPLIER_UNITS: dict[str, tuple[str, Decimal]] = {
    "m": ("m", Decimal(1)),
    "yd": ("m", YARD_MM / 1000),
    "ft": ("m", 12 * INCH_MM / 1000),
    "m2": ("m2", Decimal(1)),
    "piece": ("piece", Decimal(1)),
    "pair": ("piece", Decimal(2)),
    "100 pieces": ("piece", Decimal(100)),
}
_ROLL = re.compile(r"roll of ([1-9][0-9]{0,4}(?:\.[0-9]{1,3})?) (m|yd)")


def supplier_unit(unit: str) -> tuple[str, Decimal]:
    """The unit that we count in and how many of those one of theirs is; exact. "roll of 50 m" is 50 m; any other word is itself."""
    if roll := _ROLL.fullmatch(unit):
        ours, each = SUPPLIER_UNITS[roll[2]]
        return ours, Decimal(roll[1]) * each
    return SUPPLIER_UNITS.get(unit, (unit, Decimal(1)))


def unit_costs(
    lists: tuple[SupplierList, ...], quantities: Mapping[str, tuple[Decimal, str]], *, on: date, currency: str,
    rates: tuple[DayRates, ...] = (),
) -> dict[str, UnitCost]:  # fmt: skip
    """The unit cost of each material on a day, at the break that its quantity reaches.

    quantities: material -> (amount, unit). Raises InputError (paths "prices.<material>") with every material that has no price on the day,
    another unit, or another currency without a rate for the day. rates: what lists in other currencies are converted with; the rate
    stands in the source.
    """
    found: dict[str, UnitCost] = {}
    wrong = Collector()
    for material, (amount, unit) in quantities.items():
        with wrong.under(f"prices.{material}"):
            found[material] = _cheapest(lists, material, amount, unit, on, currency, rates)
    wrong.raise_if_any()
    return found


def _cheapest(
    lists: tuple[SupplierList, ...], material: str, amount: Decimal, unit: str, on: date, currency: str, rates: tuple[DayRates, ...]
) -> UnitCost:
    newest: dict[str, tuple[SupplierList, SupplierRow]] = {}
    for listed, row in _rows(lists, material):
        held = newest.get(listed.supplier)
        if _in_force(listed, on) and (held is None or listed.valid_from > held[0].valid_from):
            newest[listed.supplier] = (listed, row)
    if not newest:
        raise _no_price(lists, material, on)
    costs, wrong = [], Collector()
    for listed, row in newest.values():
        with wrong.under(""):
            costs.append(_unit_cost(listed, row, amount, unit, _exchange(listed, currency, on, rates)))
    if not costs:
        raise InputError(wrong)
    return min(costs, key=lambda c: (c.amount, c.source))


def _rows(lists: tuple[SupplierList, ...], material: str) -> list[tuple[SupplierList, SupplierRow]]:
    return [(listed, row) for listed in lists for row in listed.rows if row.material == material]


def _in_force(listed: SupplierList, on: date) -> bool:
    return listed.valid_from <= on and (listed.valid_to is None or on <= listed.valid_to)


def _exchange(listed: SupplierList, currency: str, on: date, rates: tuple[DayRates, ...]) -> Exchange | None:
    if listed.currency == currency:
        return None
    if not rates:
        where = f"{listed.supplier} {listed.version}"
        message = f"{where} is in {listed.currency}, the quote is in {currency}, and no exchange rate is loaded for {_day(on)}"
        raise problem("", "currency", message)
    return exchange(rates, theirs=listed.currency, ours=currency, on=on)


def _unit_cost(listed: SupplierList, row: SupplierRow, amount: Decimal, unit: str, at: Exchange | None) -> UnitCost:
    where = f"{listed.supplier} {listed.version}, row {row.row}"
    ours, each = supplier_unit(row.unit)
    if ours != unit:
        raise problem("", "unit", f"{where} sells {row.material} by the {row.unit}; it is needed in {unit}")
    reached = reached_break(row, amount / each)
    source = f"{where} ({row.their_code}), {_break_words(row, reached)}"
    if each != 1:
        source += f", {_plain(reached.unit_cost)} a {row.unit} of {_plain(each)} {ours}"
    cost, currency = reached.unit_cost, listed.currency
    if at is not None:
        source += f", {_plain(cost)} {at.theirs}, {at.words}"
        cost, currency = at.converted(cost), at.ours
    landed, how = _landed(cost, listed, currency)
    return UnitCost(row.material, unit, money.unit_cost_4(landed / each), source + how)


def _landed(cost: Decimal, listed: SupplierList, currency: str) -> tuple[Decimal, str]:
    """A price with the carriage on it, and the duty on both; the way there in words, to four places."""
    how = ""
    for what, fraction, on in (("carriage", listed.carriage, ""), ("duty", listed.duty, " on that")):
        if fraction:
            cost *= 1 + fraction
            how += f", + {_plain(fraction * 100)} % {what}{on} = {_plain(money.unit_cost_4(cost))} {currency}"
    return cost, how


def to_buy(row: SupplierRow, needed: Decimal) -> Decimal:
    """How much must be bought where this much is needed, both in the unit that we count in: the minimum, then whole packs."""
    each = supplier_unit(row.unit)[1]
    amount = max(needed / each, row.minimum)
    if row.pack:
        amount = (amount / row.pack).to_integral_value(rounding=ROUND_CEILING) * row.pack
    return max(money.quantity_3(amount * each), needed)


def row_in_force(lists: tuple[SupplierList, ...], material: str, on: date) -> tuple[SupplierList, SupplierRow] | None:
    """The row that a material is bought by on a day, of the cheapest supplier at its first break; None when nobody sells it."""
    found = [(listed, row) for listed, row in _rows(lists, material) if _in_force(listed, on)]
    return min(found, key=lambda pair: (pair[1].breaks[0].unit_cost, pair[0].supplier), default=None)


def reached_break(row: SupplierRow, amount: Decimal) -> Break:
    """The break that an amount in the row's own unit reaches; InputError when the row starts above it."""
    reached = [b for b in row.breaks if b.from_quantity <= amount]
    if not reached:
        lowest = min((_plain(b.from_quantity) for b in row.breaks), default="no quantity")
        raise problem("", "no_break", f"row {row.row} sells {row.material} only from {lowest} {row.unit}; {_plain(amount)} is needed")
    return max(reached, key=lambda b: b.from_quantity)


def _break_words(row: SupplierRow, reached: Break) -> str:
    return "single price" if len(row.breaks) == 1 else f"from {_plain(reached.from_quantity)} {row.unit}"


def _no_price(lists: tuple[SupplierList, ...], material: str, on: date) -> InputError:
    return problem("", "no_price", f"no price for {material} on {_day(on)}; {_nearest(lists, material, on)}")


def _nearest(lists: tuple[SupplierList, ...], material: str, on: date) -> str:
    dated = [listed for listed, _ in _rows(lists, material)]
    if not dated:
        return "no list names it" if lists else "no supplier list is loaded"

    def days_away(listed: SupplierList) -> int:
        if on < listed.valid_from:
            return (listed.valid_from - on).days
        return 0 if listed.valid_to is None else (on - listed.valid_to).days

    near = min(dated, key=days_away)
    until = "without end" if near.valid_to is None else f"to {_day(near.valid_to)}"
    return f"the nearest list is {near.supplier} {near.version}, {_day(near.valid_from)} {until}"


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"
