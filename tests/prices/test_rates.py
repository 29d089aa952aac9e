"""Exchange rates on a cost line, units of supplier lists, and the reference-rate layout. The rates are invented."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.prices import Break, SupplierList, SupplierRow, UnitCost, unit_costs
from costing.prices.lookup import supplier_unit
from costing.prices.rates import DayRates, exchange
from loft.catalogue.formats.rates import read_rates

MONDAY, SATURDAY = date(2026, 3, 2), date(2026, 3, 7)
RATES = (
    DayRates(MONDAY, {"USD": Decimal("1.25"), "GBP": Decimal("0.85")}),
    DayRates(date(2026, 3, 6), {"USD": Decimal("1.20"), "GBP": Decimal("0.84")}),
)


def cost(currency: str, *, unit: str = "m", on: date = MONDAY, rates: tuple[DayRates, ...] = RATES) -> UnitCost:
    row = SupplierRow(4, "X", "x-1", unit, (Break(Decimal(0), Decimal("10.00")),))
    listed = SupplierList("Far", "1", date(2026, 1, 1), None, currency, (row,))
    return unit_costs((listed,), {"X": (Decimal(3), "m")}, on=on, currency="GBP", rates=rates)["X"]


def test_the_rate_stands_on_the_cost_line() -> None:
    """10.00 USD x 0.85 / 1.25 = 6.80 GBP; 10.00 EUR x 0.85 = 8.50 GBP."""
    assert cost("USD") == UnitCost(
        "X", "m", Decimal("6.8000"),
        "Far 1, row 4 (x-1), single price, 10 USD, 1 USD = 0.680000 GBP on 2 Mar 2026 (1.25 USD and 0.85 GBP a EUR)",
    )  # fmt: skip
    assert cost("EUR").amount == Decimal("8.5000")
    assert cost("EUR").source.endswith("1 EUR = 0.850000 GBP on 2 Mar 2026 (0.85 GBP a EUR)")
    assert cost("GBP").source == "Far 1, row 4 (x-1), single price"


def test_a_yard_in_dollars_is_converted_and_rounded_once() -> None:
    """10 USD a yard of 0.9144 m: 6.80 / 0.9144 = 7.43657... -> 7.4366. A roll of 50 m at 10 USD: 6.80 / 50 = 0.1360."""
    assert cost("USD", unit="yd").amount == Decimal("7.4366")
    assert cost("USD", unit="roll of 50 m").amount == Decimal("0.1360")


def test_fridays_rate_holds_on_saturday_and_not_for_ever() -> None:
    assert cost("USD", on=SATURDAY).amount == Decimal("7.0000")  # 10 x 0.84 / 1.20
    assert exchange(RATES, theirs="USD", ours="GBP", on=date(2026, 3, 13)).on == date(2026, 3, 6)
    for on, near in ((date(2026, 3, 14), "6 Mar 2026"), (date(2026, 3, 1), "2 Mar 2026")):
        with pytest.raises(InputError) as caught:
            cost("USD", on=on)
        (found,) = caught.value.problems
        assert (found.path, found.code) == ("prices.X", "no_rate")
        assert found.message.endswith(f"the nearest is of {near}")


def test_another_currency_without_any_rate_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        cost("USD", rates=())
    assert [p.code for p in caught.value.problems] == ["currency"]
    with pytest.raises(InputError) as caught:
        cost("SEK")
    assert "from SEK to GBP for 2 Mar 2026; none is loaded" in caught.value.problems[0].message


@pytest.mark.parametrize(
    ("unit", "ours", "each"),
    [
        ("m", "m", "1"), ("yd", "m", "0.9144"), ("100 pieces", "piece", "100"), ("roll of 50 m", "m", "50"),
        ("roll of 54.5 yd", "m", "49.83480"), ("roll", "roll", "1"), ("roll of 0 m", "roll of 0 m", "1"),
    ],
)  # fmt: skip
def test_a_unit_of_theirs_is_so_many_of_ours(unit: str, ours: str, each: str) -> None:
    assert supplier_unit(unit) == (ours, Decimal(each))


def test_both_layouts_of_the_reference_rates_are_read() -> None:
    history = "Date,USD,GBP,XYZ,\n2026-03-03,1.2600,0.8510,9,\n2026-03-02,1.25,N/A,9,\n"
    first, second = read_rates(history)
    assert (first.on, dict(first.per_base)) == (MONDAY, {"USD": Decimal("1.25")})
    assert (second.on, dict(second.per_base)) == (date(2026, 3, 3), {"USD": Decimal("1.2600"), "GBP": Decimal("0.8510")})
    (today,) = read_rates("Date, USD, GBP, \n02 March 2026, 1.25, 0.85, \n")
    assert today == RATES[0]


def test_everything_wrong_in_a_table_of_rates_is_said_at_once() -> None:
    table = "Date,USD,GBP,\n2.3.2026,1.25,0.85,\n2026-03-03,-1,0,\n2026-03-04,1.25,0.85,\n2026-03-04,1.25,0.85,\n"
    with pytest.raises(InputError) as caught:
        read_rates(table)
    assert [(p.path, p.code) for p in caught.value.problems] == [
        ("row 2", "not_a_day"), ("row 3.USD", "not_a_rate"), ("row 3.GBP", "not_a_rate"), ("row 5", "twice"),
    ]  # fmt: skip
    for text in ("", "Day,USD\n", "Date\n", "Date,US dollar\n"):
        with pytest.raises(InputError):
            read_rates(text)
