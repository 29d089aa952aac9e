"""The price ladder: every rung is what a real batch of so many sails comes to, and each jump says why."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_CEILING, Decimal
from itertools import pairwise
from time import perf_counter

import pytest

from costing import quote
from costing.errors import InputError
from costing.quote import BatchRequest, SailRequest
from costing.quote.ladder import Rung, first_affordable, first_at_most, ladder
from tests import skerling

CENT = Decimal("0.01")


@pytest.fixture(scope="module")
def sail() -> SailRequest:
    return SailRequest(path="sail", boat="Any", owner="anybody", sail_number=None)


@pytest.fixture(scope="module")
def designs(sail: SailRequest) -> dict[str, quote.Design]:
    request = BatchRequest("c", "trade", (sail,))
    return dict(quote.price_batch(request, skerling.house(), on=skerling.PRICED_ON).designs)


@pytest.fixture(scope="module")
def rungs(sail: SailRequest, designs: dict[str, quote.Design]) -> tuple[Rung, ...]:
    return ladder(sail, skerling.house(), buyer="trade", on=skerling.PRICED_ON, known=designs)


@pytest.mark.parametrize("count", [1, 2, 4, 5, 7, 10, 11, 20, 33, 60])
def test_a_rung_is_the_batch_of_so_many_sails(
    count: int, rungs: tuple[Rung, ...], sail: SailRequest, designs: dict[str, quote.Design]
) -> None:
    sails = tuple(replace(sail, path=f"row {i}", boat=f"Boat {i}") for i in range(count))
    batch = quote.price_batch(BatchRequest("c", "trade", sails), skerling.house(), on=skerling.PRICED_ON, known=designs).batch
    made = [item for s in batch.sails for item in s.items if not item.pass_through]
    rung = rungs[count - 1]
    assert rung.sails == count
    assert rung.cost == (batch.cost / count).quantize(CENT, rounding="ROUND_HALF_UP")
    assert {item.net for item in made} == {rung.net}
    assert rung.margin == batch.margin
    assert rung.at_target == (batch.cost / count / (1 - Decimal("0.42"))).quantize(CENT, rounding=ROUND_CEILING)


def test_the_ladder_jumps_where_the_terms_and_the_lists_say(rungs: tuple[Rung, ...]) -> None:
    """The terms of the fixture: 5, 10 and 15 % off from 5, 10 and 20 sails; DW170 has breaks at 50 and 80 m."""
    told = {rung.sails: "; ".join(rung.jumps) for rung in rungs if rung.jumps}
    for sails, words in ((5, "discount 5 % instead of 0 %"), (10, "discount 10 % instead of 5 %"), (20, "discount 15 % instead of 10 %")):
        assert words in told[sails]
    cloth = [(n, words) for n, words in told.items() if "DW170" in words]
    moves = [words.partition("DW170: ")[2].partition(";")[0] for _, words in cloth]
    assert moves == ["15.2 a m instead of 16.4", "13.95 a m instead of 15.2"]
    # One sail lays about seven and a half metres: 50 m are reached by the seventh, 80 m by the eleventh.
    assert [n for n, _ in cloth] == [7, 11]
    assert rungs[0].jumps == ()


def test_cost_never_rises_with_the_batch_on_these_lists(rungs: tuple[Rung, ...]) -> None:
    assert all(later.cost <= earlier.cost for earlier, later in pairwise(rungs))
    assert rungs[-1].cost < rungs[0].cost


def test_the_batch_that_reaches_a_price_is_the_first_that_does(rungs: tuple[Rung, ...]) -> None:
    tier = rungs[9].net
    found = first_at_most(rungs, tier)
    assert found is not None and found.sails == 10
    assert first_at_most(rungs, rungs[-1].net - CENT) is None
    price = rungs[24].at_target
    affordable = first_affordable(rungs, price)
    assert affordable is not None and affordable.at_target <= price
    assert all(rung.at_target > price for rung in rungs[: affordable.sails - 1])
    assert first_affordable(rungs, Decimal("1.00")) is None


def test_sixty_rungs_take_at_most_two_seconds_with_the_design_computed_afresh(sail: SailRequest) -> None:
    begun = perf_counter()
    assert len(ladder(sail, skerling.house(), buyer="trade", on=skerling.PRICED_ON)) == 60
    assert perf_counter() - begun <= 2


def test_a_sail_that_cannot_be_made_has_no_ladder(sail: SailRequest) -> None:
    with pytest.raises(InputError) as caught:
        ladder(replace(sail, cloth="DW150"), skerling.house(), buyer="trade", on=skerling.PRICED_ON)
    assert [(p.path, p.code) for p in caught.value.problems] == [("sail.cloth", "cloth_too_light")]
