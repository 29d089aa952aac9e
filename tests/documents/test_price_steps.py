"""The price by the number of sails: by hand in the calculation, and drawing and table saying the same."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing import quote
from costing.quote import PricedBatch
from costing.quote.ladder import ladder
from costing.quote.priced import PriceStep
from loft.documents import price_steps
from tests import skerling

ON = skerling.PRICED_ON


@pytest.fixture(scope="module")
def batch() -> PricedBatch:
    return quote.price_batch(skerling.batch(), skerling.house(), on=ON).batch


def test_the_steps_are_those_of_the_terms_by_hand(batch: PricedBatch) -> None:
    """The sail of which there are most stands at 912.05: 5 % is 45.6025 -> 45.60; 10 % is 91.205 -> 91.21; 15 % is 136.8075 -> 136.81."""
    assert batch.steps == (
        PriceStep(1, Decimal(0), Decimal("912.05")),
        PriceStep(5, Decimal("0.05"), Decimal("866.45")),
        PriceStep(10, Decimal("0.10"), Decimal("820.84")),
        PriceStep(20, Decimal("0.15"), Decimal("775.24")),
    )


def test_they_are_the_ladders_net_prices(batch: PricedBatch) -> None:
    rungs = {r.sails: r.net for r in ladder(replace(skerling.batch().sails[0], sail_number=None), skerling.house(), buyer="trade", on=ON)}
    for step in batch.steps:
        assert abs(rungs[step.from_sails] - step.net) < 20  # the ladder's sail has no number yet: the class's longest is reckoned for it
    assert {n: rungs[n] != rungs[n - 1] for n in range(2, 61)} == {n: n in (5, 10, 20) for n in range(2, 61)}


def test_drawing_and_table_say_the_same(batch: PricedBatch) -> None:
    texts = price_steps.drawing(batch).texts
    assert [t for t in texts if "." in t] == ["912.05", "866.45", "820.84", "775.24"]
    assert {"1", "5", "10", "20", "this quote: 12"} <= set(texts)
    drawn = price_steps.drawing(batch)
    assert all(0 <= x <= drawn.width for item in drawn.items if hasattr(item, "line") for x, _ in item.line)


def test_terms_without_tiers_have_no_steps() -> None:
    one = quote.BatchRequest("C", "trade", skerling.batch().sails[:1])
    assert quote.price_batch(one, skerling.house("STANDARD"), on=ON).batch.steps == ()
    assert price_steps.price_steps(quote.price_batch(one, skerling.house("STANDARD"), on=ON).batch) == []


def test_a_quote_of_more_than_the_last_step_fits_its_drawing(batch: PricedBatch) -> None:
    many = replace(batch, sails=batch.sails * 5)
    drawn = price_steps.drawing(many)
    assert "this quote: 60" in drawn.texts
    assert all(0 <= item.at[0] <= drawn.width for item in drawn.items if hasattr(item, "at"))
