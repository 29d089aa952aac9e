"""Other people's names for sizes and kinds of sail lead to ours, and to every one that may be meant."""

from __future__ import annotations

import pytest

from costing import measurements


@pytest.mark.parametrize(
    ("written", "ours"),
    [
        ("upper_quarter_girth", "three_quarter_width"),
        ("mid_girth", "half_width"),
        ("cross_width", "half_width"),
        ("Half-height width", "half_width"),
        ("MHW", "half_width"),
        ("mgu", "three_quarter_width"),  # the rating rule's forerunner: three quarters up, from memory
        ("lower quarter cross width", "quarter_width"),
        ("lp", "luff_perpendicular"),
        ("upper_girth", "three_quarter_width or upper_width or width"),  # a rule may mean 3/4, 7/8 or a station of its own
        ("headboard_width", "top_width or headboard_size"),
        ("quater_width", "quarter_width"),
        ("leach_lenght", "leech_length"),
    ],
)
def test_a_name_of_theirs(written: str, ours: str) -> None:
    assert measurements.did_you_mean(written) == f"; did you mean {ours}?"


@pytest.mark.parametrize("written", ["hull_length", "panel_width", "MG", "favourite"])
def test_what_is_no_size_of_a_sail_is_not_guessed_at(written: str) -> None:
    assert measurements.did_you_mean(written) == ""


def test_each_of_our_names_is_found_by_itself_alone() -> None:
    assert all(measurements.meant(name) == (name,) for name in measurements.MEASUREMENTS if name != "width")
