"""The loft's own prices: by class, season and sail, with what options add and offers that end on a day."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class OptionPrice:
    """What an option adds to the price of a sail that has it."""

    option: str
    price: Decimal


@dataclass(frozen=True, slots=True)
class Offer:
    """A show or early price of a sail, both days inclusive; valid_from None: from the list's first day on."""

    name: str
    price: Decimal
    until: date
    valid_from: date | None = None

    def holds(self, on: date) -> bool:
        return (self.valid_from is None or self.valid_from <= on) and on <= self.until


@dataclass(frozen=True, slots=True)
class RetailEntry:
    """A sail at its price: one pattern in one cloth. variant: what a sail to the boat's own measurements costs more.

    Options that have no price of their own are included.
    """

    pattern: str
    name: str
    cloth: str
    price: Decimal
    variant: Decimal = Decimal(0)
    options: tuple[OptionPrice, ...] = ()
    offers: tuple[Offer, ...] = ()

    def offer_on(self, on: date) -> Offer | None:
        """The lowest offer that holds on a day."""
        return min((o for o in self.offers if o.holds(on)), key=lambda o: o.price, default=None)


@dataclass(frozen=True, slots=True)
class RetailList:
    """A version of the loft's prices for a class and season; both dates inclusive. with_tax: its prices include the tax on sails."""

    class_code: str
    season: str
    version: int
    valid_from: date
    valid_to: date | None
    currency: str
    with_tax: bool
    entries: tuple[RetailEntry, ...]

    @property
    def reference(self) -> str:
        """How papers name it."""
        return f"list {self.season}, version {self.version}"

    def entry(self, pattern: str, cloth: str) -> RetailEntry | None:
        """The entry of a pattern in a cloth."""
        return next((e for e in self.entries if (e.pattern, e.cloth) == (pattern, cloth)), None)


@dataclass(frozen=True, slots=True)
class ListPrice:
    """What a list asks for one sail, in the list's own terms: before an offer, what the offer takes off, and the way there in words."""

    price: Decimal
    off: Decimal
    offer: Offer | None
    how: str


def list_price(entry: RetailEntry, *, options: Collection[str], variant: bool, on: date) -> ListPrice:
    """The price of one sail with these options on a day."""
    price, how = entry.price, f"{entry.price} {entry.name}"
    if variant and entry.variant:
        price, how = price + entry.variant, f"{how} + {entry.variant} to the boat's own measurements"
    for one in entry.options:
        if one.option in options and one.price:
            price, how = price + one.price, f"{how} + {one.price} {one.option}"
    offer = entry.offer_on(on)
    return ListPrice(price, max(entry.price - offer.price, Decimal(0)) if offer else Decimal(0), offer, how)
