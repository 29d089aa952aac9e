"""Sizes in another unit, in another column or of no boat of the class: one finding, where the size stands."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.quote import BatchRequest, SailRequest, price_batch
from loft.common import measures
from tests import skerling


def refused(**sizes: str) -> list[tuple[str, str, str]]:
    """What is said of a Skerling 13 main with these sizes, without the row."""
    asked = {name: measures.parse_length(text).mm for name, text in sizes.items()}
    sail = SailRequest("row 2", "Heron", "Maud Pellow", "214", sizes=asked)
    with pytest.raises(InputError) as raised:
        price_batch(BatchRequest("C", "trade", (sail,)), skerling.house(), on=skerling.PRICED_ON)
    return [(p.path.removeprefix("row 2."), p.code, p.message) for p in raised.value.problems]


@pytest.mark.parametrize(
    ("label", "written", "said"),
    [
        ("feet", "17.1", "looks like feet: was 5,212.1 mm meant?"),
        ("metres", "5.2", "looks like metres: was 5,200 mm meant?"),
        ("inches", "205.5", "looks like inches: was 5,219.7 mm meant?"),
        ("ten times", "52200", "looks like a digit too many: was 5,220 mm meant?"),
        ("a hundred times", "522000", "looks like two digits too many: was 5,220 mm meant?"),
        ("a hundredth", "52.2", "looks like two digits too few: was 5,220 mm meant?"),
    ],
)
@pytest.mark.parametrize("column", ["luff_length", "mast_band_distance"])
def test_a_slip_of_the_unit_is_one_finding(label: str, written: str, said: str, column: str) -> None:
    found = refused(**{column: written})
    assert [(path, code) for path, code, _ in found] == [(column, "looks_like_a_slip")], label
    assert found[0][2].endswith(said), label


def test_a_row_in_feet_is_a_finding_for_each_size_and_nothing_else() -> None:
    """Leech and widths follow from luff and foot: nothing is said of them."""
    assert [path for path, _, _ in refused(luff_length="17.1", foot_length="8.05")] == ["luff_length", "foot_length"]


@pytest.mark.parametrize(
    ("label", "sizes", "column", "code", "said"),
    [
        ("luff and foot", {"luff_length": "2450", "foot_length": "5220"}, "luff_length", "swapped", "5,230 mm and 2,460 mm are usual"),
        (
            "P and E", {"mast_band_distance": "2480", "boom_band_distance": "5250"}, "mast_band_distance", "swapped",
            "mast band distance (P) 2,480 mm and boom band distance (E) 5,250 mm look swapped",
        ),
        ("the foot's in the luff's", {"luff_length": "2450"}, "luff_length", "wrong_column", "near the foot length of 2,460 mm"),
        ("E as P", {"mast_band_distance": "2480"}, "mast_band_distance", "wrong_column", "near the foot length of 2,460 mm"),
        ("P as E", {"boom_band_distance": "5250"}, "boom_band_distance", "wrong_column", "near the luff length of 5,230 mm"),
        ("of another boat", {"luff_length": "2000"}, "luff_length", "not_believable", "0.38 times the usual 5,230 mm"),
        ("P too short", {"mast_band_distance": "2900"}, "mast_band_distance", "no_triangle", "distance (P) of 2,900 mm less 40 mm"),
    ],
)  # fmt: skip
def test_a_size_in_the_wrong_place_is_told_there(label: str, sizes: dict[str, str], column: str, code: str, said: str) -> None:
    found = refused(**sizes)
    assert [(path, c) for path, c, _ in found] == [(column, code)], label
    assert said in found[0][2], label


@pytest.mark.parametrize("column", ["reef_height", "width", "number_height"])
def test_a_size_that_would_change_nothing_is_refused(column: str) -> None:
    assert [(path, code) for path, code, _ in refused(**{column: "1900"})] == [(column, "no_effect")]


def test_it_is_said_beside_what_else_is_wrong() -> None:
    assert [path for path, _, _ in refused(reef_height="1900", luff_length="5500")] == ["luff_length", "reef_height"]


def test_a_small_rig_is_still_a_rig() -> None:
    sail = SailRequest("row 2", "Heron", "Maud Pellow", "214", sizes={"mast_band_distance": Decimal(4000)})
    (design,) = price_batch(BatchRequest("C", "trade", (sail,)), skerling.house(), on=skerling.PRICED_ON).designs.values()
    assert dict(design.sizes)["luff_length"] == pytest.approx(Decimal(3960), abs=Decimal("0.1"))
