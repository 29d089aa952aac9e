"""The length that no lay can pass, beside lengths worked out by hand and lays of boxes from seeds."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from costing import cloth
from costing.cloth import Part, Table
from costing.cloth.bound import least_length_mm
from tests.cloth.test_lay import ROLL, TABLE, TOUCHING, box

WIDE = replace(ROLL, width_mm=1000, usable_width_mm=1000)
HOLE = ((100.0, 100.0), (500.0, 100.0), (500.0, 300.0), (100.0, 300.0))
#: A panel over the whole width with a hole of 0.08 m2.
PANEL = replace(box("P1", 2000, 1000), holes=(HOLE,))
FILLED = replace(TOUCHING, window_holes=True)


def test_boxes_side_by_side_need_their_area_and_the_gaps_between_them() -> None:
    four = [box(f"P{n}", 500, 498) for n in range(4)]  # two and two, 4 mm apart: 1,004 mm
    bound = least_length_mm(four, WIDE, TABLE)
    assert 4 * 500 * 498 / 1000 == 996.0 < bound <= 1004.0
    assert bound == pytest.approx(1004.0, abs=0.1)  # only the round corners are missing


def test_each_section_ends_without_a_gap() -> None:
    four = [box(f"P{n}", 500, 498) for n in range(4)]
    assert least_length_mm(four, WIDE, TABLE, 2) == pytest.approx(1000.0, abs=0.1)


@pytest.mark.parametrize(
    ("table", "more", "length"),
    [
        (TOUCHING, [], 2000.0),  # nothing may lie in the hole
        (FILLED, [], 2000.0),  # nothing is there to lie in it
        (FILLED, [box("CLEW-1", 390, 190)], 2000.0),  # lies in it
        (FILLED, [box("CLEW-1", 390, 190), box("TACK-1", 410, 100)], 2041.0),  # the other is too long for it
        (FILLED, [box("POCKET", 190, 390)], 2074.1),  # too high as it lies
        (FILLED, [box("POCKET", 190, 390, angles=(0, 90))], 2000.0),  # but not when it is turned
    ],
)
def test_what_a_hole_must_waste(table: Table, more: list[Part], length: float) -> None:
    assert least_length_mm([PANEL, *more], WIDE, table) == pytest.approx(length, abs=0.2)


@pytest.mark.parametrize("seed", range(6))
def test_no_lay_is_shorter(seed: int) -> None:
    chance = random.Random(seed)
    parts = [PANEL, *(box(f"B{n}", chance.uniform(50, 400), chance.uniform(50, 400), angles=(0, 90)) for n in range(chance.randint(1, 20)))]
    for table in (TABLE, replace(TABLE, window_holes=True), replace(TABLE, length_mm=2100)):
        lay = cloth.plan_lay({"": parts}, WIDE, table)
        assert lay.bound_mm == least_length_mm(parts, WIDE, table, len(lay.sections)) <= lay.length_mm
