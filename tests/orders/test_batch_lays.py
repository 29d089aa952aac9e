"""Laying a batch together: by cloth and colour, never shorter than its bound, and never longer than the sails one by one."""

from __future__ import annotations

from costing import quote
from loft.orders.batch_lays import batch_lays
from tests import skerling


def test_the_associations_batch_by_colour() -> None:
    result = quote.price_batch(skerling.batch(), skerling.house(), on=skerling.PRICED_ON)
    found = batch_lays(result.batch, result.designs)
    # one sail is red: a lay of one saves nothing and is left out
    assert [(lay.material, lay.sails) for lay in found] == [("DW170 light grey", 2), ("DW170 white", 9)]
    for lay in found:
        assert lay.bound_mm < lay.together_mm <= lay.one_by_one_mm
        assert lay.together_mm / lay.bound_mm < 1.15
    assert found[1].together_mm < found[1].one_by_one_mm, "nine sails give the planner enough to choose from"
