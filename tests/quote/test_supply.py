"""Special cloth charged by what must be bought, and what the desk is told of minimum orders and back orders."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from costing import money, quote
from costing.prices import Break, SupplierRow
from costing.quote import House, PricedBatch
from costing.quote.ladder import ladder
from tests import skerling

ON = skerling.PRICED_ON


def house(*, as_bought: bool = True, minimum: str = "30", pack: str = "10", expected: date | None = None, special: bool = True) -> House:
    """The loft with DW170 got in for each job: at least 30 m, then whole tens, 16.40 a metre whatever the quantity."""
    own = skerling.house("STANDARD")
    breaks = (Break(Decimal(0), Decimal("16.40")),)
    row = SupplierRow(12, "DW170", "TS 170 F", "m", breaks, Decimal(minimum), Decimal(pack), expected, special)
    lists = tuple(replace(listed, rows=tuple(row if r.material == "DW170" else r for r in listed.rows)) for listed in own.lists)
    return replace(own, lists=lists, special_as_bought=as_bought)


def priced(own: House, sails: int = 3) -> PricedBatch:
    boats = skerling.batch().sails[:sails]
    return quote.price_batch(quote.BatchRequest("C", "trade", boats), own, on=ON).batch


def metres(batch: PricedBatch) -> list[tuple[str, Decimal]]:
    return [(s.colour, line.quantity) for s in batch.sails for line in s.cost_lines if line.code == "DW170"]


def test_each_colour_is_bought_by_itself_and_shared_without_a_rest() -> None:
    """Rows 2 and 3 are white, row 4 light grey: 30 m of white for two sails, 30 m of grey for one."""
    laid, charged = metres(priced(house(as_bought=False))), metres(priced(house()))
    assert [colour for colour, _ in charged] == ["white", "white", "light grey"]
    assert sum(m for colour, m in charged if colour == "white") == 30
    assert charged[2] == ("light grey", Decimal("30.000"))
    assert all(bought > taken for (_, bought), (_, taken) in zip(charged, laid, strict=True))
    # in the ratio of what is laid, to the millimetre
    exact = 30 * laid[0][1] / (laid[0][1] + laid[1][1])
    assert abs(charged[0][1] - exact) <= Decimal("0.001")


def test_the_line_is_its_share_times_the_price_and_says_so() -> None:
    sail = priced(house(), sails=1).sails[0]
    (line,) = [line for line in sail.cost_lines if line.code == "DW170"]
    assert (line.quantity, line.amount) == (Decimal("30.000"), Decimal("492.00"))  # 30 x 16.40
    assert line.how.endswith("30 m charged, its share of what must be bought")
    assert line.amount == money.to_cents(line.quantity * line.unit_cost, skerling.house().currency)


def test_a_sail_of_a_batch_is_not_charged_a_whole_minimum() -> None:
    one, two = priced(house(), sails=1), priced(house(), sails=2)
    assert two.sails[0].items[0].unit_price < one.sails[0].items[0].unit_price


def test_without_the_owners_switch_or_for_a_cloth_in_stock_what_is_laid_is_charged() -> None:
    plain = metres(priced(house(as_bought=False)))
    assert metres(priced(house(special=False))) == plain
    assert max(m for _, m in plain) < 10


def test_the_desk_is_told_of_the_rest_and_of_a_back_order() -> None:
    told = priced(house(as_bought=False, expected=date(2026, 4, 20)), sails=1).warnings
    laid = metres(priced(house(as_bought=False), sails=1))[0][1].normalize()
    assert "DW170 is on back order: Tarnside Sailcloth expects it on 20 Apr 2026" in told
    assert f"DW170: {laid} m are laid, 30 m must be bought from Tarnside Sailcloth; the rest is not charged" in told
    assert not any("back order" in w for w in priced(house(expected=ON), sails=1).warnings)  # it is back


def test_the_ladder_of_a_special_cloth_is_the_batch_priced() -> None:
    """One rung against the calculation that prices a batch: the same price for two alike."""
    own = house()
    boats = tuple(replace(s, sail_number=None) for s in (skerling.batch().sails[0],) * 2)
    batch = quote.price_batch(quote.BatchRequest("C", "trade", boats), own, on=ON).batch
    rung = ladder(boats[0], own, buyer="trade", on=ON, most=2)[1]
    assert rung.net == batch.sails[0].items[0].net
    assert abs(rung.cost * 2 - batch.cost) <= Decimal("0.02")
