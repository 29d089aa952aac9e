"""Text to exact measures: tables of what is taken, what is refused, and properties that hold for all of it."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing import units
from loft.common.measures import LENGTH_FORMS, MeasureError, parse_cloth_weight, parse_length

# The inch is 25.4 mm exactly (international yard and pound agreement, 1959), so a foot is 304.8 mm.
TAKEN = [
    ("metres", "5.2 m", "5200", "5.2", "m"),
    ("no space", "5.21m", "5210", "5.21", "m"),
    ("bare millimetres", "5200", "5200", "5200", "mm"),
    ("bare, as published", "4876.8", "4876.8", "4876.8", "mm"),
    ("millimetres", "5200 mm", "5200", "5200", "mm"),
    ("centimetres", "520 cm", "5200", "520", "cm"),
    ("capital letters", "520 CM", "5200", "520", "cm"),
    ("blanks around", "  5.2 m ", "5200", "5.2", "m"),
    ("zero", "0", "0", "0", "mm"),
    ("feet", "16 ft", "4876.8", "16", "ft"),
    ("feet with decimals", "12.5 ft", "3810", "12.5", "ft"),
    ("foot mark alone", "12'", "3657.6", "12", "ft"),
    ("inches", "148.5 in", "3771.9", "148.5", "in"),
    ("inches and a fraction", "6 1/2 in", "165.1", "6.5", "in"),
    ("a fraction alone", "1/64 in", "0.396875", "0.015625", "in"),
    ("feet and inches", "12 ft 6 in", "3810", None, "ft in"),
    ("feet and inches in full", "17 feet 1 inch", "5207", None, "ft in"),
    ("marks", "12'6\"", "3810", None, "ft in"),
    ("marks and a fraction", "12'6 1/2\"", "3822.7", None, "ft in"),
    ("marks, spaced", "12' 6 1/2 \"", "3822.7", None, "ft in"),
    ("typographic primes", "12′6″", "3810", None, "ft in"),
    ("typographic quotes", "12’6”", "3810", None, "ft in"),
    ("feet and a fraction only", "12 ft 1/2 in", "3670.3", None, "ft in"),
    ("feet and decimal inches", "12 ft 6.25 in", "3816.35", None, "ft in"),
]


@pytest.mark.parametrize(("label", "text", "mm", "value", "unit"), TAKEN, ids=[row[0] for row in TAKEN])
def test_length_is_taken(label: str, text: str, mm: str, value: str | None, unit: str) -> None:
    length = parse_length(text)
    assert length.mm == Decimal(mm)
    assert length.value == (None if value is None else Decimal(value))
    assert (length.unit, length.text) == (unit, text)


REFUSED = [
    ("comma decimals", "3,21 m", "write a point for the decimals"),
    ("comma thousands", "5,200", "nothing between the thousands"),
    ("blank thousands", "5 200", "not understood"),
    ("feet-inches without the last mark", "12'6", "not understood"),
    ("twelve inches after feet", "12 ft 12 in", "fewer than 12"),
    ("decimal feet and inches", "12.5 ft 6 in", "not understood"),
    ("improper fraction", "6 3/2 in", "3/2 is not a part of an inch"),
    ("thirds of an inch", "6 1/3 in", "halves, quarters"),
    ("zero below", "6 1/0 in", "1/0 is not"),
    ("negative", "-5 m", "without a sign"),
    ("exponent", "5e3", "not understood"),
    ("unknown unit", "5.2 km", "not understood"),
    ("two units", "5 m 20 cm", "not understood"),
    ("an expression", "2*3 m", "not understood"),
    ("point alone", ".5 m", "not understood"),
    ("point at the end", "5. m", "not understood"),
    ("a word", "about 5 m", "not understood"),
    ("not a number", "nan", "not understood"),
    ("other digits", "٥٢٠٠", "not understood"),
    ("too many digits", "12345678 mm", "not understood"),
    ("two lines", "5.2\nm", "not understood"),
    ("empty", "   ", "empty: write a length like"),
    ("very long", "5" * 50_000, "too long"),
]


@pytest.mark.parametrize(("label", "text", "reason"), REFUSED, ids=[row[0] for row in REFUSED])
def test_length_is_refused_and_says_what_is_taken(label: str, text: str, reason: str) -> None:
    with pytest.raises(MeasureError) as caught:
        parse_length(text)
    message = str(caught.value)
    if "fewer than 12" not in reason and "part of an inch" not in message:
        assert LENGTH_FORMS in message
    assert reason in message
    assert len(message) < 300


METRIC = {"mm": 1, "cm": 10, "m": 1000}


@given(st.decimals(min_value=0, max_value=99_999, places=3), st.sampled_from(sorted(METRIC)))
def test_metric_is_exact(value: Decimal, unit: str) -> None:
    assert parse_length(f"{value} {unit}").mm == value * METRIC[unit]


@given(st.integers(0, 300), st.integers(0, 11), st.sampled_from([2, 4, 8, 16, 32, 64]), st.data())
def test_feet_and_inches_are_exact(feet: int, inches: int, bottom: int, data: st.DataObject) -> None:
    top = data.draw(st.integers(1, bottom - 1))
    exact = (Fraction(feet * 12 + inches) + Fraction(top, bottom)) * Fraction("25.4")
    for text in (f"{feet} ft {inches} {top}/{bottom} in", f"{feet}'{inches} {top}/{bottom}\""):
        assert Fraction(parse_length(text).mm) == exact


@given(st.text(max_size=60))
def test_any_text_is_a_finite_length_or_a_clear_refusal(text: str) -> None:
    try:
        length = parse_length(text)
    except MeasureError as refusal:
        assert "length" in str(refusal)
    else:
        assert length.mm.is_finite() and length.mm >= 0
        assert "," not in text


# A published class rule prints 7 oz as 300 g/m2 and 6 oz as 257 g/m2 (read at the source).
@pytest.mark.parametrize(("text", "gsm"), [("7 oz", 300), ("6 oz", 257), ("170 g/m2", 170), ("170 gsm", 170)])
def test_cloth_weight(text: str, gsm: int) -> None:
    assert round(parse_cloth_weight(text).gsm) == gsm


def test_the_registry_and_the_calculation_agree_on_the_ounce() -> None:
    difference = parse_cloth_weight("1 oz").gsm - units.SAILMAKERS_OUNCE_GSM
    assert abs(difference) < Decimal("1e-20")


@pytest.mark.parametrize("text", ["170", "170 g", "4,5 oz", "170 lb", ""])
def test_cloth_weight_is_refused(text: str) -> None:
    with pytest.raises(MeasureError, match=r"sailmaker's ounce"):
        parse_cloth_weight(text)
