"""The loft's own price list for a class and season, from its file."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from costing import money
from costing.prices.retail import Offer, OptionPrice, RetailEntry, RetailList
from loft.catalogue.formats.reader import Reader, open_file

#: No price of a sail is higher.
MOST = Decimal(1_000_000)


def read_retail(text: str) -> RetailList:
    """The list that a retail file holds; InputError carries every problem with its path."""
    top = open_file(text)
    head = top.table("retail")
    listed = RetailList(
        class_code=head.code("class"),
        season=head.code("season"),
        version=head.integer("version", least=1),
        valid_from=head.day("valid_from"),
        valid_to=head.optional_day("valid_to"),
        currency=head.code("currency"),
        with_tax=head.flag("with_tax"),
        entries=tuple(_entry(r) for r in top.tables("entries", least=1)),
    )
    _check(top, head, listed)
    top.finish()
    return listed


def _entry(r: Reader) -> RetailEntry:
    entry = RetailEntry(
        pattern=r.code("pattern"),
        name=r.text("name"),
        cloth=r.code("cloth"),
        price=_price(r, "price"),
        variant=_price(r, "variant", free=True),
        options=tuple(OptionPrice(o.code("option"), _price(o, "price", free=True)) for o in r.tables("options")),
        offers=tuple(Offer(o.text("name"), _price(o, "price"), o.day("until"), o.optional_day("valid_from")) for o in r.tables("offers")),
    )
    codes = [o.option for o in entry.options]
    for i, code in enumerate(codes):
        if code and code in codes[:i]:
            r.wrong(f"options[{i}].option", "twice", f"{code} has a price already")
    for i, offer in enumerate(entry.offers):
        if offer.price >= entry.price > 0:
            r.wrong(f"offers[{i}].price", "no_offer", f"{offer.price} is not below the list price of {entry.price}")
        if offer.valid_from is not None and date.min < offer.until < offer.valid_from:
            r.wrong(f"offers[{i}].until", "ends_before_start", f"{offer.until} is before {offer.valid_from}")
    return entry


def _price(r: Reader, key: str, *, free: bool = False) -> Decimal:
    """A price; only what may be free may be 0 or left out."""
    price = r.number(key, Decimal(0) if free else None, most=MOST)
    if price == 0 and not free and r.has(key):
        r.wrong(key, "zero", "a price should be above 0: what is given away is no entry of the list")
    return price


def _check(top: Reader, head: Reader, listed: RetailList) -> None:
    if listed.valid_to is not None and listed.valid_to < listed.valid_from:
        head.wrong("valid_to", "ends_before_start", f"{listed.valid_to} is before valid_from {listed.valid_from}")
    seen: list[tuple[str, str]] = []
    for i, entry in enumerate(listed.entries):
        if (entry.pattern, entry.cloth) in seen:
            top.wrong(f"entries[{i}]", "twice", f"{entry.pattern} in {entry.cloth} has a price already")
        seen.append((entry.pattern, entry.cloth))
    if not listed.currency:
        return
    with top.problems.under("retail"):
        cur = money.currency(listed.currency)
        for i, entry in enumerate(listed.entries):
            prices = (entry.price, entry.variant, *(o.price for o in entry.options), *(o.price for o in entry.offers))
            if any(money.to_cents(price, cur) != price for price in prices):
                top.wrong(f"entries[{i}]", "too_fine", f"a price has more decimals than {cur.code} has, which are {cur.digits}")
