"""Sail numbers."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.measurements import SailKind
from costing.rules import NumberStyle
from costing.sail import Outline
from costing.takeoff import number_plan
from costing.takeoff.numbers import character_height

# luff 5 m up the y axis, head 0.1 m, foot 2.4 m: straight edges, so that every position can be worked with a pencil
SAIL = Outline(
    SailKind.MAINSAIL,
    luff=((0.0, 0.0), (0.0, 5000.0)),
    head=((0.0, 5000.0), (100.0, 5000.0)),
    leech=((100.0, 5000.0), (2400.0, 0.0)),
    foot=((2400.0, 0.0), (0.0, 0.0)),
)


@pytest.mark.parametrize(
    ("hull_mm", "height", "gap"),
    [
        ("3499", 230, 45), ("3500", 300, 60), ("3960", 300, 60), ("8499", 300, 60), ("8500", 375, 75), ("10999", 375, 75),
        ("11000", 450, 90), ("11001", 450, 90), ("2300", 230, 45),
    ],
)  # fmt: skip
def test_heights(hull_mm: str, height: float, gap: float) -> None:
    """RRS Appendix G1.2: under 3.5 m 230/45, 3.5-8.5 m 300/60, 8.5-11 m 375/75, over 11 m 450/90; on a border the larger serves both."""
    assert character_height(Decimal(hull_mm)) == (height, gap)


def test_hull_must_have_a_length() -> None:
    with pytest.raises(InputError, match="hull"):
        character_height(Decimal(0))


def test_rows_worked_by_hand() -> None:
    """Three 300 mm characters: 3 x 200 + 2 x 60 = 720 mm.

    The leech is sqrt(2400^2 + 5000^2) = 5546.2 mm (head point to clew), 60 % of it 3327.7 mm: no row below y = 1672.3, so from 1680 in
    steps of 10. At y = 1680 the top of the row, 1980, decides: the leech there is at 100 + (5000 - 1980) x 2300 / 5000 = 1489.2, less
    60 = 1429.2; from 60 on there are 1369.2 mm, the row stands in the middle: 60 + (1369.2 - 720) / 2 = 384.6 to 1104.6. Its far lower
    corner is sqrt(1104.6^2 + 3320^2) = 3498.9 from the head: outside the arc, so higher: at y = 1880 (span to 1397.2 - 60, row from
    338.6 to 1058.6) the corner is sqrt(1058.6^2 + 3120^2) = 3294.7 away; at 1870 still 3304.9, at 1850 3325.2, at 1840 3335.4.
    """
    plan = number_plan(SAIL, "214", Decimal(3960))
    (x0, y0), (x1, y1) = plan.port_base
    assert (y0, y1) == (1850.0, 1850.0)
    # at 1850 the top is 2150: leech 100 + 2850 x 0.46 = 1411, less 60 = 1351; 60 + (1351 - 60 - 720) / 2 = 345.5
    assert (x0, x1) == (pytest.approx(345.5), pytest.approx(1065.5))
    # starboard uppermost: 300 mm of characters and 60 mm of gap higher
    assert plan.starboard_base[0][1] == 2210.0
    assert (plan.text, plan.height_mm, plan.gap_mm, plan.edge_mm) == ("214", 300.0, 60.0, 60.0)


def test_every_corner_is_inside_the_arc_and_off_the_edges() -> None:
    plan = number_plan(SAIL, "1234", Decimal(3960))
    for (x0, y), (x1, _) in (plan.port_base, plan.starboard_base):
        for x, h in ((x0, y), (x1, y), (x0, y + 300), (x1, y + 300)):
            assert math.dist((x, h), (0, 5000)) <= 0.6 * math.hypot(2400, 5000)
            assert x >= 60
            assert 100 + (5000 - h) * 0.46 - x >= 60 - 1e-6
    assert plan.starboard_base[0][1] - (plan.port_base[0][1] + 300) >= 60


@pytest.mark.parametrize("text", ["", "   ", "12;4", "<b>7</b>", "-1", "½", "١٢", "12 - 4", "7-"])
def test_no_number(text: str) -> None:
    with pytest.raises(InputError) as refused:
        number_plan(SAIL, text, Decimal(3960))
    assert [(p.path, p.code) for p in refused.value.problems] == [("sail_number", "characters")]


def test_does_not_fit() -> None:
    """Seven characters of 450 mm: 7 x 300 + 6 x 90 = 2640 mm, wider than the foot."""
    with pytest.raises(InputError) as refused:
        number_plan(SAIL, "1234567", Decimal(12000))
    (problem,) = refused.value.problems
    assert (problem.path, problem.code) == ("sail_number", "does_not_fit")
    assert "'1234567' in 450 mm characters takes 2640 mm" in problem.message


def test_a_class_s_own_style_takes_the_place_of_the_racing_rules() -> None:
    style = NumberStyle(SailKind.MAINSAIL, "C.6.6 (a)", 250.0, 50.0, 80.0)
    plan = number_plan(SAIL, "214", Decimal(3960), style)
    assert (plan.height_mm, plan.gap_mm, plan.edge_mm, plan.source) == (250.0, 50.0, 80.0, "class rule C.6.6 (a), starboard uppermost")
    (x0, y0), (x1, _) = plan.port_base
    assert x1 - x0 == pytest.approx(3 * 250 * 2 / 3 + 2 * 50)
    assert plan.starboard_base[0][1] - y0 >= 250 + 50
    # 80 mm from the luff on the left; the leech at the top of the row on the right, in a sail whose luff is the y axis
    assert x0 >= 80 and x1 <= 100 + (5000 - (y0 + 250)) * 0.46 - 80


def test_a_class_may_put_both_sides_back_to_back() -> None:
    style = NumberStyle(SailKind.MAINSAIL, "C.6.6 (a)", 300.0, 60.0, 60.0, back_to_back=True)
    plan = number_plan(SAIL, "214", Decimal(3960), style)
    assert plan.starboard_base == plan.port_base
    assert plan.source == "class rule C.6.6 (a), back to back"
