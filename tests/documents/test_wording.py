"""Figures on paper: one way for each, and no rounding that flatters."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

import pytest

from costing.rules import Headroom, Limit
from loft.documents import wording


def _limit(low: str | None, high: str | None, measurement: str = "luff_length") -> Limit:
    return Limit(measurement, "C.1", Decimal(low) if low else None, Decimal(high) if high else None, "as printed")


@pytest.mark.parametrize(
    ("label", "value", "currency", "printed"),
    [
        ("thousands", "1234.5", "GBP", "1,234.50"),
        ("millions", "1234567.89", "EUR", "1,234,567.89"),
        ("a refund", "-12.00", "GBP", "−12.00"),
        ("no minor unit", "98000", "JPY", "98,000"),
        ("three digits (ISO 4217)", "5.125", "KWD", "5.125"),
    ],
)
def test_amount(label: str, value: str, currency: str, printed: str) -> None:
    assert wording.amount(Decimal(value), currency) == printed, label


@pytest.mark.parametrize(
    ("label", "limit", "printed"),
    [
        # 4876.8 mm is 16 ft exactly (1 ft = 304.8 mm)
        ("a maximum is never rounded up", _limit(None, "4876.8"), "max 4,876.8"),
        ("a minimum is never rounded down", _limit("160.05", None), "min 160.05"),
        ("both", _limit("1380", "1460"), "1,380 to 1,460"),
        ("one number", _limit("3", "3"), "exactly 3"),
        # 7 sailmaker's ounces: 28.349523125 g on 28.5 x 36 in
        ("a computed minimum never down", _limit("299.7981881989592439223864802", None, "cloth_weight"), "min 299.8"),
        ("a computed maximum never up", _limit(None, "3475.6666666666666666666666667"), "max 3,475.6"),
        ("a computed ratio", _limit("0.6543219876543219876543219877", None, "ratio"), "min 0.6544"),
        ("only some are permitted", Limit("half_width", "C.1", None, None, "", permitted=(Decimal(1400), Decimal(1450))), "1,400 or 1,450"),
    ],
)
def test_limit_text(label: str, limit: Limit, printed: str) -> None:
    assert wording.limit_text(limit) == printed, label


@pytest.mark.parametrize(
    ("label", "limit", "value", "designed", "room"),
    [
        ("under a maximum", _limit(None, "5230"), "5220.0", "5,220.0", "10.0"),
        ("towards a maximum", _limit(None, "5230"), "5219.96", "5,220.0", "10.0"),
        ("up to a maximum and not over it", _limit(None, "81"), "80.95", "81.0", "0.0"),
        ("as finely as its limit", _limit(None, "4876.83"), "4876.814", "4,876.82", "0.01"),
        ("under a computed maximum", _limit(None, "6172.5826118"), "6172.54", "6,172.5", "0.0"),
        ("towards a minimum", _limit("150", None), "304.12", "304.1", "154.1"),
        ("towards the nearer of two", _limit("1380", "1475"), "1381.26", "1,381.2", "1.2"),
        ("area keeps its digits", _limit(None, "0.35", "window_area"), "0.2016", "0.2016", "0.1484"),
        ("a count has no decimals", _limit("3", "3", "batten_pocket_count"), "3", "3", "0"),
        ("a computed ratio", _limit("0.65", None, "ratio"), "0.9096385542168674698795180723", "0.9096", "0.2596"),
        ("a ratio at its edge", _limit(None, "0.2023", "ratio"), "0.20225", "0.2023", "0"),
        ("a computed area", _limit(None, "89", "area"), "87.106249999999999999999999999", "87.1063", "1.8937"),
        ("a computed weight", _limit("299.7981881989592439223864802", None, "cloth_weight"), "305", "305", "5.2"),
        ("a breach is negative", _limit(None, "60"), "60.04", "60.04", "−0.04"),
        ("a breach of a computed maximum", _limit(None, "59.9666666"), "60", "60.0", "−0.1"),
    ],
)
def test_designed_beside_the_limit(label: str, limit: Limit, value: str, designed: str, room: str) -> None:
    exact = Decimal(value)
    left = min(side for side in (limit.maximum and limit.maximum - exact, limit.minimum and exact - limit.minimum) if side is not None)
    headroom = Headroom(limit, exact, left, Decimal(0))
    assert (wording.designed_text(headroom), wording.room_text(headroom)) == (designed, room), label


@pytest.mark.parametrize(
    ("low", "high"), [(None, "1475"), ("900", None), ("1380.5", "1475"), (None, "1474.96666666"), ("1399.99999", None)]
)
def test_limit_size_and_headroom_agree_as_they_are_printed(low: str | None, high: str | None) -> None:
    """The printed room is the printed difference, and never more than there is; a hundred sizes, each 0.037 mm from the next."""
    limit = _limit(low, high)
    printed = {side: Decimal(text.replace(",", "")) for side, text in re.findall(r"(max|min|to) ([\d,.]+)", wording.limit_text(limit))}
    if low is not None and high is not None:
        printed = {"min": Decimal(low), "max": Decimal(high)}
    for value in (Decimal("1400") + Decimal("0.037") * i for i in range(100)):
        sides = [bound for bound in (limit.maximum and limit.maximum - value, limit.minimum and value - limit.minimum) if bound is not None]
        room = Headroom(limit, value, min(sides), Decimal(0))
        shown, left = (Decimal(text(room).replace(",", "").replace("−", "-")) for text in (wording.designed_text, wording.room_text))
        assert left in [abs(bound - shown) for bound in printed.values()], value
        assert 0 <= left <= min(sides), value


def test_size_shows_all_its_digits() -> None:
    assert [wording.size(Decimal(v)) for v in ("5190", "5190.0", "1985.25")] == ["5,190.0", "5,190.0", "1,985.25"]


def test_metres_to_pull_are_never_short() -> None:
    assert [wording.metres_to_pull(v) for v in (7520.0, 7520.1, 7529.9)] == ["7.52", "7.53", "7.53"]


def test_time_and_days() -> None:
    assert wording.hours(Decimal("394.6")) == "6 h 35 min"
    assert [wording.minutes(Decimal(v)) for v in ("13.78", "7.5", "7.74", "20")] == ["14", "7.5", "7.5", "20"]
    assert wording.day(date(2026, 3, 2), "%d %b %Y") == "02 Mar 2026"
    assert wording.day(None, "%d %b %Y") == "–"


def test_shares() -> None:
    assert [wording.rate(Decimal(v)) for v in ("0.20", "0.075")] == ["20 %", "7.5 %"]
    assert wording.percent(Decimal("0.41225"), 1) == "41.2 %"


def test_signs_of_a_sum() -> None:
    assert wording.spelled("1.2 x 10.9 m2 - 5 of 170 g/m2") == "1.2 × 10.9 m² − 5 of 170 g/m²"


@pytest.mark.parametrize(
    ("label", "printed", "said"),
    [
        ("the bound as it stands in the file", "max 12.65 m", ""),
        ("both bounds", "min 1 ft 3 in, max 2 ft", ""),
        ("a weight", "min 160 g/m2", ""),
        ("two units", "7 oz (300 g/m2)", "as printed: 7 oz (300 g/m²)"),
        ("another word", "mid girth 2890 mm", "as printed: mid girth 2890 mm"),
    ],
)
def test_a_limit_is_quoted_where_the_document_says_more(label: str, printed: str, said: str) -> None:
    assert wording.as_printed(Limit("cloth_weight", "C.1", Decimal(300), None, printed)) == said, label


def test_a_rule_s_formula_reads_with_the_labels_of_its_sizes() -> None:
    assert wording.formula("0.25 * foot_length * sqrt(luff_length - 1)") == "0.25 × foot length × sqrt(luff length − 1)"
