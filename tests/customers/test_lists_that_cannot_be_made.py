"""Lists of boats that read well and ask for what cannot be made: every problem of every row, at its row and column."""

from __future__ import annotations

import pytest

from costing import quote
from costing.errors import InputError
from loft.customers import boats_csv
from tests import skerling


def problems(file: str) -> list[tuple[str, str, str]]:
    data = (skerling.FIXTURES / "bad" / file).read_bytes()
    sails = boats_csv.read_boats(data, pattern=skerling.house().pattern)
    request = quote.BatchRequest(customer=skerling.CUSTOMER, buyer="trade", sails=sails, terms=skerling.TERMS)
    with pytest.raises(InputError) as raised:
        quote.price_batch(request, skerling.house(), on=skerling.PRICED_ON)
    return [(p.path, p.code, p.message) for p in raised.value.problems]


@pytest.mark.parametrize(
    ("file", "expected"),
    [
        (
            "over_limits.csv",  # the last boat asks for exactly the limits, and is no problem
            [
                ("row 2.luff_length", "outside_maximum", "5,231 mm is 1 mm over the maximum of 5,230 mm (C.6.3 (a))"),
                ("row 3.leech_length", "outside_maximum", "5,600 mm is 30 mm over the maximum of 5,570 mm (C.6.3 (b))"),
                ("row 3.half_width", "outside_minimum", "1,379.9 mm is 0.1 mm under the minimum of 1,380 mm (C.6.3 (f))"),
            ],
        ),
        (
            "ten_and_thousand_times_off.csv",
            [
                ("row 2.luff_length", "looks_like_a_slip", "was 5,210 mm meant?"),
                ("row 3.half_width", "looks_like_a_slip", "was 1,445 mm meant?"),
                ("row 4.luff_length", "looks_like_a_slip", "was 5,210 mm meant?"),
                ("row 4.half_width", "looks_like_a_slip", "was 1,445 mm meant?"),
            ],
        ),
        (
            "width_larger_than_below.csv",
            [("row 2.upper_width", "wider_than_below", "upper width 490 mm is larger than the three-quarter width 480 mm")],
        ),
        ("no_triangle.csv", [("row 2.leech_length", "no_triangle", "no triangle with luff length 2,800 mm and foot length 2,400 mm")]),
        (
            "unknown_cloth_option_colour.csv",
            [
                ("row 2.options", "unknown_option", "did you mean window?"),
                ("row 3.cloth", "unknown_cloth", "did you mean DW170?"),
                ("row 4.colour", "unknown_colour", "DW170 comes in white, light grey, red, not in 'mauve'"),
            ],
        ),
        (
            "required_option_left_out.csv",
            [
                ("row 2.options", "required_option", "Sail numbers on both sides is required (C.6.6 (a)) and cannot be left out"),
                ("row 3.options", "forbidden_option", "Reef is forbidden (C.6.5 (b))"),
            ],
        ),
        (
            "same_number_two_owners.csv",
            [
                ("row 2.sail_number", "duplicate_number", "214 is asked for by more than one owner: Maud Pellow (Heron, row 2)"),
                ("row 4.sail_number", "duplicate_number", "214 is asked for by more than one owner: Maud Pellow (Heron, row 2)"),
            ],
        ),
        ("cloth_without_price.csv", [("row 2.cloth", "no_price", "no price for DW185 on 2 Mar 2026")]),
        (
            "cloth_too_light_or_warp.csv",
            [
                ("row 2.cloth", "cloth_too_light", "the class asks for at least 160 g/m2 (C.6.2 (c))"),
                ("row 3.cloth", "orientation", "WP175 is warp-oriented and does not suit a cross-cut sail"),
            ],
        ),
    ],
)
def test_a_list_that_cannot_be_made_is_refused_with_every_problem(file: str, expected: list[tuple[str, str, str]]) -> None:
    found = problems(file)
    assert sorted((path, code) for path, code, _ in found) == sorted((path, code) for path, code, _ in expected)
    for path, code, words in expected:
        assert any((path, code) == (p, c) and words in message for p, c, message in found), path
