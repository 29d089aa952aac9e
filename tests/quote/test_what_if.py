"""What-if against the calculation with the change made by hand to its inputs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from costing import quote
from costing.errors import InputError
from costing.prices.rates import DayRates
from costing.quote import Design, House, PricedBatch
from costing.quote.ladder import ladder
from costing.quote.what_if import Figures, WhatIf, changed, cloths_at, figures, what_if
from tests import skerling
from tests.quote.test_supply import house as with_special_cloth

ON = skerling.PRICED_ON
REQUEST = quote.BatchRequest("C", "trade", skerling.batch().sails[:2])


@pytest.fixture(scope="module")
def offered() -> quote.BatchResult:
    return quote.price_batch(REQUEST, skerling.house("STANDARD"), on=ON)


def tried(what: WhatIf, offered: quote.BatchResult, house: House | None = None) -> Figures:
    return what_if(REQUEST, house or skerling.house("STANDARD"), what, offered=offered.batch, on=ON, known=offered.designs)


def cloth_cost(batch: PricedBatch) -> Decimal:
    return sum((line.amount for sail in batch.sails for line in sail.cost_lines if line.group == "cloth"), Decimal(0))


def test_cloth_at_ten_per_cent_more_by_hand(offered: quote.BatchResult) -> None:
    """Every metre of cloth and film and the roll ends on them cost a tenth more; nothing else moves.

    16.40 a metre is 18.04 and 7.80 is 8.58, both exact to four places, so the cloth's cost rises by 10 % up to a cent a line.
    """
    found = tried(WhatIf(cloth_rise=Decimal("0.10")), offered)
    lines = sum(1 for sail in offered.batch.sails for line in sail.cost_lines if line.group == "cloth")
    assert abs(found.cost - offered.batch.cost - cloth_cost(offered.batch) / 10) <= Decimal("0.01") * lines
    # the offered net at that cost: (net - passed - cost) / (net - passed)
    passed = sum((s.pass_through for s in offered.batch.sails), Decimal(0))
    made = offered.batch.totals.net - passed
    assert found.kept_margin == ((made - found.cost) / made).quantize(Decimal("0.0001"))
    assert found.net > offered.batch.totals.net


def test_a_labour_rate_moves_labour_alone_by_its_ratio(offered: quote.BatchResult) -> None:
    """29.50 a paid hour to 35.40 is 20 % more: a minute from 0.6556 to 0.7867 (29.50 / 0.75 / 60, 35.40 / 0.75 / 60, to four places)."""
    found = tried(WhatIf(labour_rate=Decimal("35.40")), offered)
    labour = [line for sail in offered.batch.sails for line in sail.cost_lines if line.group == "labour" and line.unit == "min"]
    assert {line.unit_cost for line in labour} == {Decimal("0.6556")}
    ratio = Decimal("0.7867") / Decimal("0.6556")
    whole = sum((line.amount for sail in offered.batch.sails for line in sail.cost_lines if line.group == "labour"), Decimal(0))
    assert abs(found.cost - offered.batch.cost - whole * (ratio - 1)) < Decimal("0.60")


def test_another_cloth_is_the_batch_priced_in_it(offered: quote.BatchResult) -> None:
    house = priced_185()
    found = tried(WhatIf(cloth="DW185"), offered, house)
    boats = tuple(replace(sail, cloth="DW185", colour="") for sail in REQUEST.sails)
    batch = quote.price_batch(replace(REQUEST, sails=boats), house, on=ON).batch
    assert (found.cost, found.net, found.gross, found.margin) == (batch.cost, batch.totals.net, batch.totals.gross, batch.margin)


def priced_185() -> House:
    """The loft with DW185 at 18.90 a metre."""
    house = skerling.house("STANDARD")
    lists = tuple(
        replace(listed, rows=(*listed.rows, *(replace(r, material="DW185", row=13) for r in listed.rows if r.material == "DW170")))
        for listed in house.lists
    )
    return replace(house, lists=lists)


@pytest.mark.parametrize(("base", "rates", "moved"), [
    ("EUR", {"USD": Decimal("1.08"), "GBP": Decimal("0.864")}, {"USD": Decimal("1.08"), "GBP": Decimal("0.9504")}),
    ("GBP", {"USD": Decimal("1.32")}, {"USD": Decimal("1.2")}),
])  # fmt: skip
def test_foreign_money_at_ten_per_cent_more(base: str, rates: dict[str, Decimal], moved: dict[str, Decimal]) -> None:
    """0.864 x 1.1 = 0.9504 GBP a EUR; with pounds as the base, 1.32 / 1.1 = 1.2 USD a GBP."""
    house = replace(skerling.house("STANDARD"), rates=(DayRates(date(2026, 3, 2), rates, base),))
    assert changed(house, WhatIf(foreign_rise=Decimal("0.1"))).rates[0].per_base == moved


@pytest.mark.parametrize(("label", "what", "paths"), [
    ("nothing", WhatIf(), [""]),
    ("free cloth", WhatIf(cloth_rise=Decimal(-1)), ["cloth_rise"]),
    ("six times", WhatIf(cloth_rise=Decimal("5.01"), foreign_rise=Decimal(6)), ["cloth_rise", "foreign_rise"]),
    ("no wage", WhatIf(labour_rate=Decimal(0)), ["labour_rate"]),
    ("no cloth of the house", WhatIf(cloth="XX"), ["cloth"]),
])  # fmt: skip
def test_what_cannot_be_tried_is_refused_at_once(label: str, what: WhatIf, paths: list[str], offered: quote.BatchResult) -> None:
    with pytest.raises(InputError) as caught:
        tried(what, offered)
    assert [p.path for p in caught.value.problems] == paths, label


def test_a_cloth_that_the_class_refuses_is_refused_under_its_sails(offered: quote.BatchResult) -> None:
    with pytest.raises(InputError) as caught:
        tried(WhatIf(cloth="DW150"), offered)
    assert {p.path for p in caught.value.problems} == {"row 2.cloth", "row 3.cloth"}


def test_as_it_stands(offered: quote.BatchResult) -> None:
    now = figures(offered.batch)
    assert (now.cost, now.margin, now.kept_margin) == (offered.batch.cost, offered.batch.margin, offered.batch.margin)


def test_the_search_over_cloths_agrees_with_each_cloths_ladder() -> None:
    own = replace(priced_185(), terms=skerling.house().terms)
    sail = replace(skerling.batch().sails[0], sail_number=None)
    known: dict[str, Design] = {}
    rungs = ladder(sail, own, buyer="trade", on=ON, known=known)
    price = rungs[9].net  # that of ten sails
    found = {c.cloth: c for c in cloths_at(sail, own, price, buyer="trade", on=ON)}
    assert found.keys() == {"DW170", "DW185"}  # the only ones that class and pattern permit
    assert found["DW170"].reached == rungs[9]
    assert rungs[8].net > price
    assert found["DW170"].affordable == next((r for r in rungs if r.at_target <= price), None)
    dear = {c.cloth: c for c in cloths_at(sail, own, rungs[5].at_target, buyer="trade", on=ON)}
    assert dear["DW170"].affordable == rungs[5]


def test_a_special_cloth_moves_with_the_rise_too() -> None:
    house = with_special_cloth()
    (row,) = [r for listed in changed(house, WhatIf(cloth_rise=Decimal("0.5"))).lists for r in listed.rows if r.material == "DW170"]
    assert [b.unit_cost for b in row.breaks] == [Decimal("24.6000")]
