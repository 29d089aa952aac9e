"""The only rounding of money."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing import money
from costing.errors import InputError

GBP, JPY, KWD = money.currency("GBP"), money.currency("JPY"), money.currency("KWD")


@pytest.mark.parametrize(
    ("label", "amount", "cur", "rounded"),
    [
        ("half goes up", "0.125", GBP, "0.13"),
        ("not to the even neighbour", "0.115", GBP, "0.12"),
        ("just under half goes down", "0.1249999", GBP, "0.12"),
        ("a negative half goes away from zero", "-0.125", GBP, "-0.13"),
        ("no minor unit", "10.5", JPY, "11"),
        ("three digits", "1.0005", KWD, "1.001"),
    ],
)
def test_to_cents(label: str, amount: str, cur: money.Currency, rounded: str) -> None:
    assert str(money.to_cents(Decimal(amount), cur)) == rounded, label


def test_stored_places() -> None:
    assert str(money.unit_cost_4(Decimal("0.61111111"))) == "0.6111"
    assert str(money.unit_cost_4(Decimal("16.2401574803"))) == "16.2402"
    assert str(money.quantity_3(Decimal("51.8275"))) == "51.828"


def test_minor_units_refuse_what_is_not_rounded() -> None:
    assert money.minor_units(Decimal("12.30"), GBP) == 1230
    with pytest.raises(ValueError, match=r"12\.305 has more than 2 decimals"):
        money.minor_units(Decimal("12.305"), GBP)


def test_unknown_currency_is_named() -> None:
    with pytest.raises(InputError) as refused:
        money.currency("XBT")
    (problem,) = refused.value.problems
    assert (problem.path, problem.code) == ("currency", "unknown_currency")
    assert "'XBT'" in problem.message


@pytest.mark.parametrize(
    ("label", "total", "weights", "shares"),
    [
        ("three equal shares: the first gets the cent", "10.00", (1, 1, 1), ("3.34", "3.33", "3.33")),
        # the seats of a textbook apportionment: quotas 4.16 3.38 2.46, so the third has the largest remainder
        ("largest remainder, not the largest weight", "0.10", (416, 338, 246), ("0.04", "0.03", "0.03")),
        ("nothing for weight 0", "5.01", (0, 1, 1), ("0.00", "2.51", "2.50")),
        ("a credit", "-10.00", (1, 1, 1), ("-3.34", "-3.33", "-3.33")),
    ],
)
def test_share(label: str, total: str, weights: tuple[int, ...], shares: tuple[str, ...]) -> None:
    assert tuple(map(str, money.share(Decimal(total), [Decimal(w) for w in weights], GBP))) == shares, label


@given(st.integers(-(10**9), 10**9), st.lists(st.integers(0, 10**6), min_size=1, max_size=60).filter(any))
def test_shares_add_up_and_stay_within_a_cent_of_their_quota(cents: int, weights: list[int]) -> None:
    shares = money.share(Decimal(cents) / 100, [Decimal(w) for w in weights], GBP)
    in_cents = [int(s * 100) for s in shares]
    assert sum(in_cents) == cents
    whole = sum(weights)
    for share, weight in zip(in_cents, weights, strict=True):
        assert abs(share * whole - cents * weight) < whole  # less than one cent from cents x weight / whole, in integers


@given(st.integers(0, 10**7), st.lists(st.integers(1, 1000), min_size=2, max_size=30))
def test_a_larger_weight_never_gets_less(cents: int, weights: list[int]) -> None:
    shares = money.share(Decimal(cents) / 100, [Decimal(w) for w in weights], GBP)
    by_weight = sorted(zip(weights, shares, strict=True), key=lambda pair: (pair[0], pair[1]))
    for (light, small), (heavy, large) in pairwise(by_weight):
        assert light == heavy or small <= large


@pytest.mark.parametrize(
    ("label", "total", "weights"),
    [
        ("no weights", "1.00", ()),
        ("all zero", "1.00", (0, 0)),
        ("one negative", "1.00", (2, -1)),
        ("a total that is not whole cents", "1.005", (1, 1)),
    ],
)
def test_share_refuses(label: str, total: str, weights: tuple[int, ...]) -> None:
    with pytest.raises(ValueError):
        money.share(Decimal(total), [Decimal(w) for w in weights], GBP)
