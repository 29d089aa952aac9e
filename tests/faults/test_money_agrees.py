"""Generated quotes: the Decimal engine, a second calculation in whole minor units, the stored integers and the printed text agree."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor
from random import Random

import pytest
from django.contrib.auth.models import User

from costing import money
from costing.money import Currency
from costing.quote import BatchTier, House, PricedBatch, PricedSail, PriceItem, TaxRate, Totals, pricing, snapshot
from loft.documents import wording
from loft.orders import api_shapes, paper
from loft.orders.models import Quote, Revision
from tests import desk, skerling
from tests.faults.counts import SEED, count

QUOTES = count(full=100_000, short=1_500)
#: One quote in so many is also frozen, stored and read back; the other steps are done for every one.
STORED_ONE_IN = 100

CURRENCIES = ("GBP", "EUR", "JPY", "KWD")
RATES = ("0.2", "0.05", "0.19", "0.25", "0.077", "0.081", "0.0", "0.175")
DISCOUNTS = ("0", "0.03", "0.05", "0.075", "0.1", "0.125", "0.15", "0.333")
DEPOSITS = ("0", "0.25", "0.3", "0.5", "0.3333", "1")
TARGETS = ("0.3", "0.35", "0.4", "0.42", "0.45", "0.475", "0.55")
POINTS = ("0", "0", "1", "5", "10", "0.5")


@dataclass(frozen=True, slots=True)
class Case:
    """One generated quote: the house, the buyer, each sail's cost made alone and what is charged on with it."""

    house: House
    buyer: str
    costs: tuple[Decimal, ...]
    passed: tuple[tuple[Decimal, str], ...]


@dataclass(frozen=True, slots=True)
class Figures:
    """A quote in whole minor units."""

    nets: tuple[int, ...]
    shown: tuple[int, ...]
    net: int
    taxes: tuple[int, ...]
    gross: int
    deposit: int


@pytest.mark.figure(f"{QUOTES:,} generated quotes: engine, integers, store and print", "0 differ")
def test_money_agrees(loft: None, manager: User, record_property: Callable[[str, object], None]) -> None:
    random, house, base = Random(SEED), skerling.house(), paper.thaw(desk.draft(desk.ONE_BOAT))
    differ: list[str] = []
    kept: dict[int, tuple[Case, Figures]] = {}
    rows: list[Revision] = []
    for number in range(QUOTES):
        case = _case(random, house)
        items, totals = _engine(case)
        expected = _in_integers(case)
        if _stored(items, totals, case.house.currency) != expected:
            differ.append(f"quote {number}: {_stored(items, totals, case.house.currency)} is not {expected}: {_told(case)}")
        if _printed(items, totals, case.house.currency) != expected:
            differ.append(f"quote {number}: the printed text differs: {_told(case)}")
        if number % STORED_ONE_IN == 0:
            kept[number] = (case, expected)
            rows.append(_row(number, _batch(base, case, items, totals), case))
    differ += _read_back(rows, kept)
    record_property("measured", f"{len(differ)} differ, {len(rows):,} of them stored and read back")
    assert not differ, differ[:3]


def _case(random: Random, house: House) -> Case:
    cur = money.currency(random.choice(CURRENCIES))
    taxes = (TaxRate("S", "tax", Decimal(random.choice(RATES))), TaxRate("Z", "other tax", Decimal(random.choice(RATES))))
    terms = replace(
        house.terms, tiers=(BatchTier(1, Decimal(random.choice(DISCOUNTS))),), early_discount=Decimal(0),
        deposit_fraction=Decimal(random.choice(DEPOSITS)), price_point=money.to_cents(Decimal(random.choice(POINTS)), cur),
    )  # fmt: skip
    own = replace(
        house, currency=cur, taxes=taxes, sail_tax="S", terms=terms, margins=replace(house.margins, target=Decimal(random.choice(TARGETS)))
    )
    sails = random.randint(1, 6)
    costs = tuple(Decimal(random.randint(1, 250_000)).scaleb(-cur.digits) for _ in range(sails))
    passed = tuple((Decimal(random.randint(0, 400_000)).scaleb(-4), random.choice("SZ")) for _ in range(random.randint(0, sails)))
    return Case(own, random.choice(pricing.BUYERS), costs, passed)


def _engine(case: Case) -> tuple[list[PriceItem], Totals]:
    """The quote by the functions that price every quote."""
    discount = pricing.best_discount(case.house.terms, len(case.costs))
    items = [pricing.sail_item("Main", pricing.unit_price(cost, case.house, case.buyer), discount, case.house) for cost in case.costs]
    items += [pricing.passed_item("Label", cost, tax, case.house, case.buyer) for cost, tax in case.passed]
    return items, pricing.totals(items, case.house)


def _in_integers(case: Case) -> Figures:
    """The same from the rules in words (design: price points act on the price shown; tax once a rate on the sum of nets; half up)."""
    scale = 10**case.house.currency.digits
    rates = {rate.code: Fraction(rate.fraction) for rate in case.house.taxes}
    tax = rates["S"] if case.buyer == pricing.PRIVATE else Fraction(0)
    off, point = Fraction(case.house.terms.tiers[0].discount), Fraction(case.house.terms.price_point) * scale
    nets, shown, by_rate = [], [], dict.fromkeys(sorted(rates), 0)
    used = set()
    for cost in case.costs:
        exact = Fraction(cost) * scale / (1 - Fraction(case.house.margins.target)) * (1 + tax)
        seen = _half_up(ceil(exact / point) * point) if point else _half_up(exact)
        net = _half_up(seen / (1 + tax))
        shown.append(seen)
        nets.append(net - _half_up(net * off))
        by_rate["S"] += nets[-1]
        used.add("S")
    for cost, code in case.passed:
        net = _half_up(Fraction(cost) * scale)
        nets.append(net)
        shown.append(_half_up(net * (1 + rates[code])) if case.buyer == pricing.PRIVATE else net)
        by_rate[code] += net
        used.add(code)
    taxes = tuple(_half_up(by_rate[code] * rates[code]) for code in sorted(used))
    gross = sum(nets) + sum(taxes)
    deposit = _half_up(gross * Fraction(case.house.terms.deposit_fraction))
    return Figures(tuple(nets), tuple(shown), sum(nets), taxes, gross, deposit)


def _half_up(value: Fraction | int) -> int:
    return floor(value + Fraction(1, 2))


def _figures(items: list[PriceItem], totals: Totals, number: Callable[[Decimal], int]) -> Figures:
    return Figures(
        tuple(number(i.net) for i in items), tuple(number(i.shown_unit_price) for i in items), number(totals.net),
        tuple(number(t.tax) for t in totals.taxes), number(totals.gross), number(totals.deposit),
    )  # fmt: skip


def _stored(items: list[PriceItem], totals: Totals, cur: Currency) -> Figures:
    """What the integer columns would hold."""
    return _figures(items, totals, lambda value: money.minor_units(value, cur))


def _printed(items: list[PriceItem], totals: Totals, cur: Currency) -> Figures:
    """What a reader of the paper would key in again: the digits of the printed amounts."""
    return _figures(items, totals, lambda value: int(wording.amount(value, cur.code).replace(",", "").replace(".", "")))


def _batch(base: PricedBatch, case: Case, items: list[PriceItem], totals: Totals) -> PricedBatch:
    """A real batch with the generated figures in it."""
    sail: PricedSail = replace(base.sails[0], items=tuple(items), net=totals.net)
    return replace(base, currency=case.house.currency.code, buyer=case.buyer, sails=(sail,), totals=totals)


def _row(number: int, batch: PricedBatch, case: Case) -> Revision:
    cur = case.house.currency
    return Revision(
        revision=number % 30_000, pattern_code="GENERATED", boats="", sails=1, currency=cur.code, below_floor=False,
        net_minor=money.minor_units(batch.totals.net, cur), gross_minor=money.minor_units(batch.totals.gross, cur),
        snapshot=snapshot.freeze_batch(batch), drafted_at=datetime(2026, 3, 2, tzinfo=UTC), reason=str(number),
    )  # fmt: skip


def _read_back(rows: list[Revision], kept: dict[int, tuple[Case, Figures]]) -> list[str]:
    """Store the rows, read them again, and compare the columns, the snapshot, and the text that the API gives."""
    template = Quote.objects.get()
    quotes = Quote.objects.bulk_create(Quote(customer=template.customer, created_at=template.created_at) for _ in rows)
    for quote, row in zip(quotes, rows, strict=True):
        row.quote = quote
    Revision.objects.bulk_create(rows, batch_size=200)
    differ = []
    for row in Revision.objects.filter(pattern_code="GENERATED").iterator(chunk_size=200):
        case, expected = kept[int(row.reason)]
        batch, cur = paper.thaw(row), case.house.currency
        told = Decimal(api_shapes.as_amount(row.gross_minor, row.currency))
        if _stored(list(batch.sails[0].items), batch.totals, cur) != expected:
            differ.append(f"quote {row.reason}: the snapshot that was read back differs")
        if (row.net_minor, row.gross_minor, told) != (expected.net, expected.gross, batch.totals.gross):
            differ.append(f"quote {row.reason}: the columns differ from the snapshot")
    return differ


def _told(case: Case) -> str:
    house = case.house
    return f"{house.currency.code} {case.buyer} {case.costs} {case.passed} {house.taxes} {house.margins.target} {house.terms.price_point}"
