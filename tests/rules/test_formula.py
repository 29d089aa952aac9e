"""The formula language: what it computes, that it keeps units, and that it refuses everything else with position and reason."""

from decimal import Decimal

import pytest

from costing.errors import CannotDetermine, InputError
from costing.rules import formula

D = Decimal
SIZES = {
    "luff_length": D(6000), "leech_length": D(6500), "foot_length": D(2500), "half_width": D(1500), "window_area": D("0.3"),
    "cloth_weight": D(160), "mast_band_distance": D(6100), "headsail.luff_perpendicular": D(1800), "batten_count": D(4),
}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("foot_length", "mm", "2500"),
        ("foot_length + 19 mm", "mm", "2519"),
        ("foot_length - 1 in", "mm", "2474.6"),
        ("0.5 m + 2 * foot_length", "mm", "5500"),
        ("1 mm + 2 mm * 3", "mm", "7"),
        ("(1 mm + 2 mm) * 3", "mm", "9"),
        ("10 mm - 4 mm - 3 mm", "mm", "3"),
        ("-foot_length + luff_length", "mm", "3500"),
        ("half_width / foot_length", "ratio", "0.6"),
        ("luff_length * foot_length / 2", "m2", "7.5"),
        ("0.05 * luff_length ^ 2", "m2", "1.8"),
        ("window_area + 0.1 m2", "m2", "0.4"),
        ("sqrt(luff_length ^ 2 + foot_length ^ 2)", "mm", "6500"),
        ("min(luff_length, mast_band_distance - 200 mm, 6 m)", "mm", "5900"),
        ("max(half_width, headsail.luff_perpendicular)", "mm", "1800"),
        ("abs(foot_length - luff_length)", "mm", "3500"),
        ("cloth_weight * 1.1", "g/m2", "176"),
        ("batten_count * 2", "count", "8"),
    ],
)
def test_values(text, unit, value):
    read = formula.parse(text)
    formula.check_unit(read, unit)
    assert formula.evaluate(read, SIZES, unit) == D(value)


# IRC notice of 20 November 2002 on what is a headsail and what a spinnaker (ircrating.org): half width over LP or foot, as printed; the
# second is cut off after the decimal, not rounded.
@pytest.mark.parametrize(
    ("text", "sizes", "printed", "tolerance"),
    [
        ("100 * half_width / luff_perpendicular", {"half_width": D(6000), "luff_perpendicular": D(8470)}, 71, 0.5),
        ("100 * half_width / foot_length", {"half_width": D(6700), "foot_length": D(8910)}, 75.1, 0.15),
    ],
)
def test_published_ratios(text, sizes, printed, tolerance):
    assert float(formula.evaluate(formula.parse(text), sizes, "ratio")) == pytest.approx(printed, abs=tolerance)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "character 1: a number, a name or a bracket is needed here, not 'the end'"),
        ("foot_length +", "character 14: a number, a name or a bracket is needed here, not 'the end'"),
        ("foot_length 3", "character 13: '3' stands where the formula should end"),
        ("foot_length + 19", "character 13: a length and a plain number cannot be added; a number takes a unit: 19 mm"),
        ("foot_length + half_width * 2 mm", "character 13: a length and an area cannot be added; a number takes a unit: 19 mm"),
        ("(foot_length", "character 13: ')' is needed here, not 'the end'"),
        ("foot_lenght", "character 1: 'foot_lenght' is not a measurement; did you mean foot_length?"),
        ("E + 20 mm", "character 1: 'E' is not a measurement; did you mean boom_band_distance?"),
        ("genoa.foot_length", "character 1: 'genoa' is no kind of sail; did you mean headsail?"),
        ("sail.foot_length", "character 1: 'sail' is no kind of sail; there are mainsail, headsail"),
        ("open(foot_length)", "character 1: there is no function 'open'; there are min, max, sqrt, abs"),
        ("foot_length.__class__", "character 1: 'foot_length' is no kind of sail"),
        ("__import__", "character 1: '__import__' is not a measurement"),
        ("foot_length; 1", "character 12: ';' is not part of the formula language"),
        ("2 ** 3", "character 4: a number, a name or a bracket is needed here, not '*'"),
        ("foot_length ^ 9", "character 15: a power is a whole number from 1 to 4, not '9'"),
        ("min(foot_length)", "character 1: min takes 2 to 9 values, not 1"),
        ("min(foot_length, 3)", "character 1: min compares values of one unit only"),
        ("sqrt(foot_length)", "character 1: a length has no square root with a unit"),
        ("(" * 40 + "1" + ")" * 40, "character 22: brackets stand in more than 20 brackets"),
        ("1+" * 200 + "1", "has 401 characters; at most 300 are read"),
        ("1,5 * foot_length", "character 2: ',' stands where the formula should end"),
    ],
)
def test_a_wrong_formula_is_refused_with_position_and_reason(text, message):
    with pytest.raises(InputError) as refused:
        formula.parse(text)
    assert refused.value.problems[0].message.startswith(message)


def test_a_formula_that_gives_another_unit_is_refused():
    with pytest.raises(InputError, match="gives an area, not a length"):
        formula.check_unit(formula.parse("luff_length * foot_length"), "mm")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("half_width / mainsail.foot_median", "needs mainsail.foot_median, not given"),
        ("half_width / (foot_length - 2500 mm)", "divides by nothing"),
        ("sqrt((half_width - foot_length) * foot_length) / half_width", "roots less than nothing"),
    ],
)
def test_what_has_no_value_cannot_be_determined(text, reason):
    with pytest.raises(CannotDetermine, match=reason):
        formula.evaluate(formula.parse(text), SIZES, "ratio")
