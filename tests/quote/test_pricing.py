"""Unit prices, discounts, margins, tax and totals."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.errors import CostingBug, InputError
from costing.quote import BatchTier, House, PriceItem, TaxLine, TaxRate, Terms, Totals, pricing
from tests import skerling


def _house(*, target: str = "0.42", point: str = "0", taxes: tuple[TaxRate, ...] = (), deposit: str = "0.5") -> House:
    house = skerling.house()
    return replace(
        house,
        margins=replace(house.margins, target=Decimal(target)),
        terms=replace(house.terms, price_point=Decimal(point), deposit_fraction=Decimal(deposit)),
        taxes=taxes or house.taxes,
    )


def _item(net: str, tax: str = "S", *, passed: bool = False) -> PriceItem:
    return PriceItem("", 1, Decimal(net), Decimal(net), Decimal(0), Decimal(net), tax, passed)


@pytest.mark.parametrize(
    ("label", "cost", "buyer", "point", "net", "shown"),
    [
        ("trade, no point: 450.95 / 0.58 = 777.5", "450.95", "trade", "0", "777.50", "777.50"),
        ("trade, up to the next 5", "450.95", "trade", "5", "780.00", "780.00"),
        ("trade, never down to the nearer 5: 441 / 0.58 = 760.34", "441", "trade", "5", "765.00", "765.00"),
        ("trade, already on the point", "452.40", "trade", "5", "780.00", "780.00"),
        ("private: 777.50 x 1.2 = 933 to the cent", "450.95", "private", "0", "777.50", "933.00"),
        ("private, up to the next 5: 935 / 1.2 = 779.1666", "450.95", "private", "5", "779.17", "935.00"),
        ("the cent is rounded once: 100 / 0.58 = 172.4137.. x 1.2 = 206.8965..", "100", "private", "0", "172.42", "206.90"),
    ],
)
def test_unit_price(label: str, cost: str, buyer: str, point: str, net: str, shown: str) -> None:
    """A private buyer's price is made first and the net worked back from it: 206.90 / 1.2 = 172.41666.. is 172.42, not 172.41."""
    price = pricing.unit_price(Decimal(cost), _house(point=point), buyer)
    assert (str(price.net), str(price.shown)) == (net, shown), label


@pytest.mark.parametrize(
    ("label", "cost", "point", "shown"),
    [
        ("10.65 / 0.7 x 1.19 is 18.105, half a cent: up", "10.65", "0", "18.11"),
        ("100 / 0.7 x 1.19 is 170, on the point: not up to the next", "100.00", "5", "170.00"),
    ],
)
def test_a_price_is_rounded_from_its_exact_value(label: str, cost: str, point: str, shown: str) -> None:
    taxes = (TaxRate("S", "tax", Decimal("0.19")),)
    assert str(pricing.unit_price(Decimal(cost), _house(target="0.3", point=point, taxes=taxes), "private").shown) == shown, label


def test_the_way_to_the_price_is_told() -> None:
    price = pricing.unit_price(Decimal("450.95"), _house(point="5"), "private")
    assert price.how == "450.95 / (1 - 0.42) = 777.50 x 1.2 tax = 933.00, up to the next 5: 935.00; net 779.17"


TIERS = (BatchTier(5, Decimal("0.05")), BatchTier(10, Decimal("0.10")), BatchTier(20, Decimal("0.15")))


@pytest.mark.parametrize(
    ("label", "sails", "early", "fraction", "reason"),
    [
        ("below every tier", 4, "0", "0", ""),
        ("on a tier", 5, "0", "0.05", "batch of 5 sails: 5 % from 5"),
        ("the highest that is reached", 19, "0", "0.10", "batch of 19 sails: 10 % from 10"),
        ("early beats the tier, they do not stack", 7, "0.08", "0.08", "early order: 8 %"),
        ("the tier beats early", 20, "0.08", "0.15", "batch of 20 sails: 15 % from 20"),
    ],
)
def test_best_single_discount(label: str, sails: int, early: str, fraction: str, reason: str) -> None:
    terms = Terms("T", TIERS, Decimal(early), Decimal("0.5"), 30, 0, None, "", ())
    found = pricing.best_discount(terms, sails)
    assert (found.fraction, found.reason) == (Decimal(fraction), reason), label


def test_discount_is_on_what_the_loft_makes_and_the_line_adds_up() -> None:
    house = _house()
    price, discount = pricing.UnitPrice(Decimal("777.45"), Decimal("777.45"), ""), pricing.Discount(Decimal("0.1"), "")
    sail = pricing.sail_item("main", price, discount, house)
    label = pricing.passed_item("label", Decimal("18.0000"), "S", house, "trade")
    assert (str(sail.unit_price), str(sail.discount), str(sail.net)) == ("777.45", "77.75", "699.70")  # 77.745 half up
    assert (str(label.unit_price), str(label.discount), str(label.net), label.pass_through) == ("18.00", "0", "18.00", True)
    shown = pricing.passed_item("label", Decimal("18.0000"), "S", house, "private").shown_unit_price
    assert str(shown) == "21.60"


@pytest.mark.parametrize(
    ("label", "net", "passed", "cost", "margin"),
    [
        # (730.25 - 30.50 - 420.95) / (730.25 - 30.50) = 278.80 / 699.75
        ("a sail", "730.25", "30.50", "420.95", "0.3984"),
        ("at a loss", "100", "0", "120", "-0.2000"),
        ("given away: nothing to divide by", "30.50", "30.50", "420.95", None),
    ],
)
def test_margin(label: str, net: str, passed: str, cost: str, margin: str | None) -> None:
    found = pricing.margin(Decimal(net), Decimal(passed), Decimal(cost))
    assert (None if found is None else str(found)) == margin, label


def test_tax_once_per_rate_on_the_sum_of_nets() -> None:
    """The order of EN 16931 (from memory): sum of line nets a rate; tax = taxable x rate to two decimals; total = net + sum of taxes.

    Worked: three lines of 10.03 at 20 % are 30.09, tax 6.018 = 6.02. (Line by line it would be 3 x 2.01 = 6.03: wrong.) Two lines at 5 %:
    7.10 + 0.20 = 7.30, tax 0.365 = 0.37. One at 0 %: 12.50. Net 49.89, tax 6.39, gross 56.28; half of it 28.14.
    """
    taxes = tuple(TaxRate(code, code, Decimal(f)) for code, f in (("S", "0.20"), ("AA", "0.05"), ("Z", "0")))
    items = [_item("10.03")] * 3 + [_item("7.10", "AA"), _item("0.20", "AA"), _item("12.50", "Z", passed=True)]
    total = pricing.totals(items, _house(taxes=taxes))
    assert {t.code: (str(t.taxable), str(t.tax)) for t in total.taxes} == {
        "S": ("30.09", "6.02"), "AA": ("7.30", "0.37"), "Z": ("12.50", "0.00"),
    }  # fmt: skip
    assert (str(total.net), str(total.tax), str(total.gross), str(total.deposit)) == ("49.89", "6.39", "56.28", "28.14")


def test_deposit_is_rounded_half_up() -> None:
    assert str(pricing.totals([_item("10.01", "Z")], _house()).deposit) == "5.01"  # 5.005


LINE = TaxLine("S", "VAT", Decimal("0.20"), Decimal("100.00"), Decimal("20.00"))


@pytest.mark.parametrize(
    ("label", "net", "tax", "gross", "told"),
    [
        ("gross a cent over", "100.00", "20.00", "120.01", "is not gross"),
        ("tax not that of its lines", "100.00", "20.01", "120.01", "do not add up to 20.01"),
        ("net not what was taxed", "99.00", "20.00", "119.00", "taxable amounts"),
    ],
)
def test_totals_refuse_to_exist_unless_they_add_up(label: str, net: str, tax: str, gross: str, told: str) -> None:
    with pytest.raises(CostingBug, match=told):
        Totals(Decimal(net), (LINE,), Decimal(tax), Decimal(gross), Decimal(0))


def test_an_unknown_tax_is_named() -> None:
    with pytest.raises(InputError, match="there is no tax rate 'X'; there are S, Z"):
        pricing.totals([_item("1.00", "X")], _house())


def test_margin_warnings_name_the_sail_and_the_bound() -> None:
    house = skerling.house()
    margins = {"row 2, Heron 214": Decimal("0.3499"), "row 3, Dipper 187": Decimal("0.2"), "row 4": Decimal("0.35"), "gift": None}
    assert list(pricing.margin_warnings(margins, house)) == [
        "row 2, Heron 214: margin 34.99 % is below the warning of 35 %",
        "row 3, Dipper 187: margin 20 % is below the floor of 25 %; the owner must agree",
    ]
