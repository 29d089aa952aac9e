"""Prices: from what a sail costs made alone to its unit price, the discount, the items, the tax and the totals."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal

from costing.errors import problem
from costing.money import Currency, to_cents
from costing.quote.priced import PriceItem, TaxLine, Totals
from costing.quote.request import House, TaxRate, Terms
from costing.takeoff import plain

PRIVATE, TRADE = "private", "trade"
BUYERS = (TRADE, PRIVATE)


@dataclass(frozen=True, slots=True)
class UnitPrice:
    """A price net of tax, the same as the buyer sees it, and the way to it in words."""

    net: Decimal
    shown: Decimal
    how: str


@dataclass(frozen=True, slots=True)
class Discount:
    """A fraction off what the loft makes, and why; from_sails: of its tier, 0 where it is no tier's."""

    fraction: Decimal
    reason: str
    from_sails: int = 0


def tax_rate(house: House, code: str) -> TaxRate:
    """The rate with this code; InputError when the house has none."""
    for rate in house.taxes:
        if rate.code == code:
            return rate
    raise problem("taxes", "unknown_tax", f"there is no tax rate {code!r}; there are {', '.join(r.code for r in house.taxes) or 'none'}")


def unit_price(one_off_cost: Decimal, house: House, buyer: str) -> UnitPrice:
    """The price at which a sail that is made alone reaches the target margin: cost / (1 - target).

    The price that the buyer sees (tax-inclusive for private buyers) is raised to the price point, the other worked back from it; each is
    rounded to the cent once.
    """
    target, point, cur = house.margins.target, house.terms.price_point, house.currency
    tax = tax_rate(house, house.sail_tax).fraction if buyer == PRIVATE else Decimal(0)
    # Divided once and last: a quotient cut to 28 digits and then multiplied can miss a half cent or pass a price point by a hair.
    with_tax = one_off_cost * (1 + tax) / (1 - target)
    shown = _raised(with_tax, point, cur)
    net = to_cents(shown / (1 + tax), cur)
    how = f"{one_off_cost} / (1 - {plain(target)}) = {to_cents(one_off_cost / (1 - target), cur)}"
    how += f" x {plain(1 + tax)} tax = {to_cents(with_tax, cur)}" if tax else ""
    how += f", up to the next {plain(point)}: {shown}" if point else ""
    return UnitPrice(net, shown, how + (f"; net {net}" if tax else ""))


def _raised(price: Decimal, point: Decimal, cur: Currency) -> Decimal:
    if not point:
        return to_cents(price, cur)
    return to_cents((price / point).to_integral_value(rounding=ROUND_CEILING) * point, cur)


def best_discount(terms: Terms, sails: int, *, joins: str = "", joined: int = 0) -> Discount:
    """The best single discount of the terms for this number of sails, and those of the order whose batch they join."""
    count = sails + joined
    batch = f"batch of {count} sails" + (f", {joined} of them in the batch of order {joins}" if joins else "")
    reached = [t for t in terms.tiers if count >= t.from_sails]
    options = [Discount(t.discount, f"{batch}: {plain(t.discount * 100)} % from {t.from_sails}", t.from_sails) for t in reached]
    if terms.early_discount:
        options.append(Discount(terms.early_discount, f"early order: {plain(terms.early_discount * 100)} %"))
    return max(options, key=lambda d: d.fraction, default=Discount(Decimal(0), ""))


def sail_item(label: str, price: UnitPrice, discount: Discount, house: House, *, offered_off: Decimal = Decimal(0)) -> PriceItem:
    """What the loft makes, less the discount or what an offer takes off, whichever is more."""
    off = max(to_cents(price.net * discount.fraction, house.currency), offered_off)
    return PriceItem(label, 1, price.net, price.shown, off, price.net - off, house.sail_tax, pass_through=False)


def given_item(item: PriceItem, given_as: str) -> PriceItem:
    """The item of a sail that is given away: its price is shown, and all of it comes off."""
    return replace(item, label=f"{item.label}, given as {given_as}", discount=item.unit_price, net=0 * item.unit_price)


def passed_item(label: str, cost: Decimal, tax: str, house: House, buyer: str) -> PriceItem:
    """Something charged on at cost, outside discount and margin."""
    net = to_cents(cost, house.currency)
    shown = to_cents(net * (1 + tax_rate(house, tax).fraction), house.currency) if buyer == PRIVATE else net
    return PriceItem(label, 1, net, shown, Decimal(0), net, tax, pass_through=True)


def margin(net: Decimal, pass_through: Decimal, cost: Decimal) -> Decimal | None:
    """Gross margin (net - pass-through - cost) / (net - pass-through), 4 places; None where nothing is charged: no price to divide by."""
    made = net - pass_through
    return None if made == 0 else ((made - cost) / made).quantize(Decimal("0.0001"))


def totals(items: Iterable[PriceItem], house: House) -> Totals:
    """Net, tax once for each rate on the sum of its nets (the order of EN 16931), gross and deposit."""
    nets: dict[str, Decimal] = {}
    for item in items:
        nets[item.tax] = nets.get(item.tax, Decimal(0)) + item.net
    taxes = tuple(_tax_line(tax_rate(house, code), net, house.currency) for code, net in sorted(nets.items()))
    net, tax = sum(nets.values(), Decimal(0)), sum((t.tax for t in taxes), Decimal(0))
    return Totals(net, taxes, tax, net + tax, to_cents((net + tax) * house.terms.deposit_fraction, house.currency))


def _tax_line(rate: TaxRate, net: Decimal, cur: Currency) -> TaxLine:
    return TaxLine(rate.code, rate.label, rate.fraction, net, to_cents(net * rate.fraction, cur))


def margin_warnings(margins: Mapping[str, Decimal | None], house: House) -> Sequence[str]:
    """A sentence for each margin (of a sail or of the batch) that is below the floor or the warning."""
    told = []
    for what, value in margins.items():
        if value is None:
            continue
        for name, bound, then in (("floor", house.margins.floor, "the owner must agree"), ("warning", house.margins.warning, "")):
            if value < bound:
                told.append(f"{what}: margin {_percent(value)} is below the {name} of {_percent(bound)}{'; ' + then if then else ''}")
                break
    return told


def _percent(fraction: Decimal) -> str:
    return f"{plain(fraction * 100)} %"
