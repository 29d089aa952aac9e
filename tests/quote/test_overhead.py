"""Overhead by the hour and as a share, in the cost or beside it; and the rate of a paid hour that holds on a day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from costing import quote
from costing.errors import InputError
from costing.quote import House, Overhead, PricedBatch
from costing.quote.exposure import at_lists, cost_rows
from costing.quote.ladder import ladder
from loft.catalogue import formats
from tests import skerling

ON = skerling.PRICED_ON
HOUSE_FILE = skerling.text("larkfield_2026.toml")


def house(overhead: Overhead | None) -> House:
    return replace(skerling.house("STANDARD"), overhead=overhead)


def priced(overhead: Overhead | None, sails: int = 1) -> PricedBatch:
    boats = skerling.batch().sails[:sails]
    return quote.price_batch(quote.BatchRequest("C", "trade", boats), house(overhead), on=ON).batch


def minutes(batch: PricedBatch) -> Decimal:
    (sail,) = batch.sails
    return sum((o.own_min + o.order_min + o.lay_min for o in sail.operations), Decimal(0))


def test_by_the_hour_in_the_cost_by_hand() -> None:
    """6.50 an hour on all minutes of the sail, set-up included: hours to three places x 6.5000, rounded to the cent."""
    without, batch = priced(None), priced(Overhead(per_hour=Decimal("6.50")))
    (line,) = [line for line in batch.sails[0].cost_lines if line.group == "overhead"]
    hours = (minutes(without) / 60).quantize(Decimal("0.001"))
    assert (line.quantity, line.unit, line.unit_cost) == (hours, "h", Decimal("6.5000"))
    assert line.amount == (hours * Decimal("6.50")).quantize(Decimal("0.01"))
    assert batch.cost == without.cost + line.amount
    assert batch.margin_basis == "after overhead of 6.5 an hour"
    # the price follows: cost / (1 - 0.42)
    item = batch.sails[0].items[0]
    assert item.unit_price == (batch.cost / Decimal("0.58")).quantize(Decimal("0.01"))


def test_as_a_share_beside_the_margin_by_hand() -> None:
    """12 % of the cost, shown and in no margin: cost, price and margin are those without it."""
    without, batch = priced(None), priced(Overhead(fraction=Decimal("0.12"), in_margin=False))
    (line,) = [line for line in batch.sails[0].cost_lines if line.code == "overhead"]
    assert (line.group, line.amount) == ("overhead outside", (without.cost * Decimal("0.12")).quantize(Decimal("0.01")))
    assert (batch.cost, batch.margin, batch.totals) == (without.cost, without.margin, without.totals)
    assert batch.margin_basis == "before overhead of 12 % of cost"


@pytest.mark.parametrize("overhead", [
    None, Overhead(per_hour=Decimal("6.50")), Overhead(fraction=Decimal("0.12")), Overhead(fraction=Decimal("0.12"), in_margin=False),
])  # fmt: skip
def test_at_the_same_lists_nothing_is_exposed(overhead: Overhead | None) -> None:
    batch = priced(overhead, sails=3)
    found = at_lists(batch, house(overhead).lists, on=ON)
    assert (found.lost, found.new_cost, found.missing) == (0, found.cost, 0)
    assert "overhead" not in {row.material for row in cost_rows(batch)}


@pytest.mark.parametrize("overhead", [Overhead(per_hour=Decimal("6.50")), Overhead(fraction=Decimal("0.12"))])
def test_the_ladder_bears_the_overhead_of_the_set_up_too(overhead: Overhead) -> None:
    boats = tuple(replace(s, sail_number=None) for s in (skerling.batch().sails[0],) * 4)
    batch = quote.price_batch(quote.BatchRequest("C", "trade", boats), house(overhead), on=ON).batch
    rung = ladder(boats[0], house(overhead), buyer="trade", on=ON, most=4)[3]
    assert abs(rung.cost * 4 - batch.cost) <= Decimal("0.05")  # rounded to the cent once a sail


def with_text(extra: str) -> formats.HouseFile:
    return formats.read_house(HOUSE_FILE.replace("[margins]", f"{extra}\n[margins]", 1))


def test_the_rate_of_a_paid_hour_begins_on_its_day() -> None:
    row = "[[labour_rates]]\nvalid_from = {}\nrate_per_paid_hour = {}\n"
    own = with_text(row.format("2026-07-01", 31) + row.format("2026-10-01", "32.5"))
    days = (date(2026, 1, 1), date(2026, 6, 30), date(2026, 7, 1), date(2026, 9, 30), date(2026, 10, 1))
    assert [own.labour_on(day).rate_per_paid_hour for day in days] == [
        Decimal("29.5"), Decimal("29.5"), Decimal(31), Decimal(31), Decimal("32.5"),
    ]  # fmt: skip


@pytest.mark.parametrize(("label", "extra", "problem"), [
    ("both kinds", '[overhead]\nper_hour = 5\nof_cost = 0.1\nmargin = "after"', ("overhead.per_hour", "one_of_two")),
    ("neither", '[overhead]\nmargin = "after"', ("overhead.per_hour", "one_of_two")),
    ("no such word", '[overhead]\nper_hour = 5\nmargin = "beside"', ("overhead.margin", "unknown")),
    ("before or after unsaid", "[overhead]\nper_hour = 5", ("overhead.margin", "missing")),
    ("a rate before the file's day", "[[labour_rates]]\nvalid_from = 2026-01-01\nrate_per_paid_hour = 31",
     ("labour_rates[0].valid_from", "not_rising")),
])  # fmt: skip
def test_wrong_words_are_refused(label: str, extra: str, problem: tuple[str, str]) -> None:
    with pytest.raises(InputError) as caught:
        with_text(extra)
    assert problem in [(p.path, p.code) for p in caught.value.problems], label


def test_a_house_file_says_it() -> None:
    own = with_text('[overhead]\nof_cost = 0.12\nmargin = "before"')
    assert own.overhead == Overhead(fraction=Decimal("0.12"), in_margin=False)
    assert with_text("").overhead is None
