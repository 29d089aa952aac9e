"""From a retail list to the show sheet: what the catalogue says of its patterns, cloths and options, in the list's own terms."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from costing import prices as costing_prices
from costing import quote
from costing.errors import InputError
from costing.money import to_cents
from costing.prices.retail import RetailEntry, RetailList
from costing.quote import lead_times
from costing.quote.pricing import tax_rate
from costing.rules import Choice
from loft import documents
from loft.catalogue import selectors as catalogue
from loft.common.models import LoftProfile
from loft.documents import wording
from loft.workshop.paper import letterhead


def show_sheet_pdf(listed: RetailList, profile: LoftProfile, *, on: date) -> bytes:
    """The sheet of a list as it is printed on a day; offers that are over are not on it."""
    house = catalogue.house(pattern=listed.entries[0].pattern, on=on)
    houses = [catalogue.house(pattern=entry.pattern, on=on) for entry in listed.entries]
    sails = tuple(_sail(entry, own, on) for entry, own in zip(listed.entries, houses, strict=True))
    tax = tax_rate(house, house.sail_tax)
    return documents.show_sheet_pdf(
        documents.ShowSheet(
            letterhead=letterhead(profile), class_name=house.class_rule.name, season=listed.season, reference=listed.reference,
            printed_on=on, valid_to=listed.valid_to, currency=listed.currency, sails=sails, included=house.pattern.included,
            tax_words=f"with {wording.rate(tax.fraction)} {tax.label}" if listed.with_tax else "without tax",
            not_included=house.pattern.not_included, passed_on=_passed_on(house, listed, on),
            lead_time=lead_times.longest(house.terms.lead_time, [own.pattern for own in houses]),
        )
    )  # fmt: skip


def _sail(entry: RetailEntry, house: quote.House, on: date) -> documents.ShowSail:
    labels = {o.code: o.label for o in house.pattern.options}
    priced = {o.option for o in entry.options}
    included = [o.label for o in house.pattern.options if o.code not in priced and o.choice is not Choice.FORBIDDEN]
    offers = [documents.ShowPrice(o.name, o.price, o.until, o.valid_from) for o in entry.offers if o.until >= on]
    cloth = house.cloths.get(entry.cloth)
    colours = f"; in {', '.join(cloth.colours)}" if cloth and cloth.colours else ""
    return documents.ShowSail(
        name=entry.name, cloth=(cloth.name if cloth else entry.cloth) + colours, price=entry.price, variant=entry.variant,
        options=tuple((labels.get(o.option, o.option).lower(), o.price) for o in entry.options), included=tuple(included),
        offers=tuple(sorted(offers, key=lambda o: o.until)),
    )  # fmt: skip


def _passed_on(house: quote.House, listed: RetailList, on: date) -> tuple[tuple[str, Decimal], ...]:
    """What is charged on at cost, at the price of one; what has no price on the day is left to the quote."""
    found = []
    for passed in house.pass_through:
        needed = {passed.material: (Decimal(1), "piece")}
        try:
            cost = costing_prices.unit_costs(house.lists, needed, on=on, currency=house.currency.code, rates=house.rates)
        except InputError:
            continue
        tax = tax_rate(house, passed.tax).fraction if listed.with_tax else Decimal(0)
        found.append((passed.label, to_cents(cost[passed.material].amount * (1 + tax), house.currency)))
    return tuple(found)
