"""Sails that join a batch: discount, price steps, ladder and what-if count on from the sails of the batch; the cost does not."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.quote import BatchRequest, PricedBatch, freeze_batch, ladder, price_batch, pricing, thaw_batch
from costing.quote.priced import PriceStep
from costing.quote.what_if import WhatIf, what_if
from tests import skerling

ON = skerling.PRICED_ON
TERMS = skerling.house().terms
ONE = BatchRequest("Isolde Marr", "trade", skerling.batch().sails[:1], skerling.TERMS)


def priced(joined: int, *, sails: int = 1) -> PricedBatch:
    request = replace(ONE, sails=skerling.batch().sails[:sails], joins="O-0007" if joined else "", joined=joined)
    return price_batch(request, skerling.house(), on=ON).batch


@pytest.mark.parametrize(
    ("label", "sails", "joined", "fraction", "from_sails"),
    [
        ("alone", 1, 0, "0", 0), ("the fifth", 1, 4, "0.05", 5), ("one short of ten", 1, 8, "0.05", 5), ("the tenth", 1, 9, "0.10", 10),
        ("two over the edge together", 2, 8, "0.10", 10), ("the twentieth", 1, 19, "0.15", 20),
    ],
)  # fmt: skip
def test_the_discount_counts_both(label: str, sails: int, joined: int, fraction: str, from_sails: int) -> None:
    found = pricing.best_discount(TERMS, sails, joins="O-0007", joined=joined)
    assert (found.fraction, found.from_sails) == (Decimal(fraction), from_sails), label
    counted = f"batch of {sails + joined} sails, {joined} of them in the batch of order O-0007: "
    assert found.reason.startswith(counted) == (from_sails > 0)


def test_an_early_discount_that_is_better_is_no_tiers() -> None:
    found = pricing.best_discount(replace(TERMS, early_discount=Decimal("0.12")), 1, joins="O-0007", joined=9)
    assert (found.fraction, found.from_sails) == (Decimal("0.12"), 0)


def test_a_joiner_costs_what_it_costs_alone_and_pays_the_tier() -> None:
    """912.05 less 10 %, 91.205 -> 91.21; its cloth is bought and its set-up done for it alone."""
    alone, tenth = priced(0), priced(9)
    assert (alone.sails[0].items[0].discount, tenth.sails[0].items[0].discount) == (Decimal("0.00"), Decimal("91.21"))
    assert (alone.cost, alone.sails[0].design_key) == (tenth.cost, tenth.sails[0].design_key)
    assert alone.cost == alone.sails[0].one_off_cost
    assert (tenth.joins, tenth.joined, tenth.counted, tenth.tier_from, tenth.minimum_sails, tenth.below_minimum) == (
        "O-0007", 9, 10, 10, 5, "STANDARD",
    )  # fmt: skip


def test_the_steps_begin_after_the_batch() -> None:
    assert [s.from_sails for s in priced(0).steps] == [1, 5, 10, 20]
    assert priced(12).steps == (PriceStep(13, Decimal("0.10"), Decimal("820.84")), PriceStep(20, Decimal("0.15"), Decimal("775.24")))
    assert [s.from_sails for s in priced(9).steps] == [10, 20]
    assert priced(25).steps == ()


def test_the_minimum_counts_both() -> None:
    assert [told for told in priced(3).warnings if "at least" in told] == ["terms ASSOC-2026 ask for at least 5 sails; there are 4"]
    assert not any("at least" in told for told in priced(4).warnings)


def test_the_ladder_counts_on() -> None:
    one = replace(skerling.batch().sails[0], sail_number=None)
    plain, joined = (ladder.ladder(one, skerling.house(), buyer="trade", on=ON, most=12, joined=n) for n in (0, 8))
    assert [r.sails for r in joined] == list(range(1, 13))
    assert [r.cost for r in joined] == [r.cost for r in plain]
    dropping = {r.sails for r in joined if any("discount" in told for told in r.jumps)}
    assert (dropping, joined[0].net, joined[1].net) == ({2, 12}, plain[4].net, plain[9].net)


def test_what_if_keeps_the_tier() -> None:
    offered = priced(9)
    known = price_batch(ONE, skerling.house(), on=ON).designs
    request = replace(ONE, joins="O-0007", joined=9)
    as_it_is = WhatIf(labour_rate=skerling.house().labour.rate_per_paid_hour)
    tried = what_if(request, skerling.house(), as_it_is, offered=offered, on=ON, known=known)
    assert (tried.net, tried.margin) == (offered.totals.net, offered.margin)


def test_it_is_in_the_snapshot_and_an_older_one_without_it_is_read() -> None:
    batch = priced(9)
    assert thaw_batch(freeze_batch(batch)) == batch
    new = (b'"joined":9,', b'"joins":"O-0007",', b'"minimum_sails":5,', b'"below_minimum":"STANDARD",', b'"tier_from":10,')
    old = freeze_batch(batch)
    for field in new:
        assert old.count(field) == 1, field
        old = old.replace(field, b"")
    read = thaw_batch(old)
    assert (read.joins, read.joined, read.minimum_sails, read.below_minimum, read.tier_from) == ("", 0, 0, "", 0)
    assert (read.totals, read.counted) == (batch.totals, 1)
