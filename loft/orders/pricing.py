"""From a customer's list of boats to a priced batch: reads the house and the known designs, writes nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from costing import quote
from costing.errors import Collector, InputError, Problem, problem
from costing.prices.retail import RetailList
from costing.quote.exempt import exempted
from costing.quote.wanted import patterns_used
from loft import documents
from loft.catalogue import selectors as catalogue
from loft.customers import boats_csv
from loft.customers import selectors as customers
from loft.orders import believing
from loft.orders.joining import Joined
from loft.workshop import selectors as workshop


@dataclass(frozen=True, slots=True)
class Priced:
    """A priced batch with its designs; fresh_keys are those that are not stored yet, rows what the list said of each boat.

    doubts: what in a row is hard to believe, by its path.
    """

    rows: tuple[boats_csv.BoatRow, ...]
    house: quote.House
    result: quote.BatchResult
    fresh_keys: frozenset[str]
    doubts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # by path of the row


def price(
    *, customer: str, buyer: str, pattern: str, boats: bytes, terms: str, on: date, version: int | None = None, at_list: bool = False,
    exempt: str = "", joined: Joined | None = None,
) -> Priced:  # fmt: skip
    """Read a list of boats and price it on a day; InputError carries every problem of every row.

    version: of the pattern, the newest when left out. at_list: sold at the loft's list price of the day, not costed.
    exempt: why no tax is charged. joined: the batch of an order that these sails join: its tiers count on from its sails.

    What the loft's paper cannot print is among the batch's warnings.
    """
    nearest, unready = catalogue.nearest_house(pattern=pattern, on=on, terms=terms, version=version)
    if nearest is None:
        raise InputError(unready)
    house = exempted(nearest, exempt)
    if at_list:
        house = replace(house, retail=_retail(house, on))
    rows, wrong = boats_csv.readable_rows(boats, pattern=house.pattern, others=house.others)
    wrong.extend(unready)
    wrong.extend(customers.numbers_taken(class_code=house.class_rule.code, sails=[row.sail for row in rows]))
    request = quote.BatchRequest(customer=customer, buyer=buyer, sails=tuple(row.sail for row in rows), terms=terms)
    if joined is not None:
        request = replace(request, joins=joined.order, joined=joined.sails)
    known = workshop.known_designs(*(p.code for p in patterns_used(request, house)))
    if wrong:
        raise _all_of_it(wrong, request, house, on, known)
    record = believing.on_record(rows, house)
    doubts = believing.found_in(rows, house, record)
    request = replace(request, sails=tuple(believing.with_record(sail, record) for sail in request.sails))
    try:
        computed = quote.price_batch(request, house, on=on, known=known)
    except InputError as error:
        raise believing.beside(error, doubts) from error
    said = believing.in_words(doubts, computed.batch.sails)
    batch = replace(computed.batch, warnings=(*computed.batch.warnings, *_unprintable(computed.batch)), doubts=said)
    return Priced(rows, house, replace(computed, batch=batch), frozenset(computed.designs) - frozenset(known), _messages(doubts))


def _retail(house: quote.House, on: date) -> RetailList:
    code = house.class_rule.code
    found = catalogue.retail_list(class_code=code, on=on)
    if found is None:
        raise problem("at_list", "no_list", f"the loft has no list of prices for class {code} on {on}: load one, or have the sails costed")
    return found


def with_batch(priced: Priced, batch: quote.PricedBatch) -> Priced:
    """The same with another batch of the same designs."""
    return replace(priced, result=replace(priced.result, batch=batch))


def _messages(doubts: Mapping[str, tuple[Problem, ...]]) -> dict[str, tuple[str, ...]]:
    return {path: tuple(p.message for p in several) for path, several in doubts.items()}


def _unprintable(batch: quote.PricedBatch) -> Iterator[str]:
    """A sentence for each text of the list or the customer's that papers show with substitutes."""
    texts = [("the customer's name", batch.customer)]
    texts += [(f"{s.path}, {what}", text) for s in batch.sails for what, text in (("boat", s.boat), ("owner", s.owner), ("note", s.note))]
    for where, text in texts:
        missing = documents.missing_characters(text)
        if missing:
            shown = ", ".join(f"{c} as [U+{ord(c):04X}]" for c in missing)
            yield f"{where}: the papers cannot print {shown}"


_WITHOUT_LISTS = ("no_price", "unknown_cloth")  # what is wrong with every sail of a day on which no list is in force


def _all_of_it(wrong: Collector, request: quote.BatchRequest, house: quote.House, on: date, known: workshop.KnownDesigns) -> InputError:
    """The problems of the rows that could not be read, and with them those of the rows that could, in the order of the list."""
    computed = Collector()
    if request.sails:
        with computed.under(""):
            quote.price_batch(request, house, on=on, known=known)
    said = {(p.path, p.code) for p in wrong}
    follows = _WITHOUT_LISTS if any(p.code == "no_list" for p in wrong) else ()
    more = (p for p in computed if (p.path, p.code) not in said and p.code not in follows)
    return InputError(sorted((*wrong, *more), key=_row_number))


def _row_number(problem: Problem) -> int:
    found = re.match(r"row (\d+)", problem.path)
    return int(found[1]) if found else 0
