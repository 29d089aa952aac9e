"""Numbers on a spinnaker: between two arcs round the head, square to the centreline, on both sides at one place."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest

from costing import sail
from costing.errors import InputError
from costing.measurements import SailKind
from costing.sail import LuffCurve, Outline, SailShape
from costing.takeoff import number_plan

HULL = Decimal(5500)  # characters of 300 mm, 60 mm apart (RRS Appendix G1.2)


def spinnaker(kind: SailKind = SailKind.SYMMETRIC_SPINNAKER, luff: float = 6500, leech: float = 6500) -> Outline:
    return sail.outline(SailShape(kind, luff, leech, 3800, (("half_width", 3900),), 0, 190, LuffCurve(())))


@pytest.mark.parametrize(
    ("label", "outline"),
    [("symmetric", spinnaker()), ("asymmetric", spinnaker(SailKind.ASYMMETRIC_SPINNAKER, 7200, 6500))],
)
def test_it_lies_between_the_arcs_in_the_middle(label: str, outline: Outline) -> None:
    plan = number_plan(outline, "1234", HULL)
    (x0, y0), (x1, y1) = plan.port_base
    head, foot = outline.head_point, sail.foot_middle(outline)
    median = math.dist(head, foot)
    # by hand: four characters two thirds as wide as high, three gaps
    assert math.dist(*plan.port_base) == pytest.approx(4 * 200 + 3 * 60), label
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    centre = ((outline.tack_point[0] + outline.clew_point[0]) / 2, (outline.tack_point[1] + outline.clew_point[1]) / 2)
    along = math.dist(head, middle)
    assert along + math.dist(middle, centre) == pytest.approx(math.dist(head, centre)), "the middle of the row lies on the centreline"
    assert (x1 - x0) * (centre[0] - head[0]) + (y1 - y0) * (centre[1] - head[1]) == pytest.approx(0, abs=1e-3)
    assert along - plan.height_mm >= 0.40 * median - 1e-6
    assert max(math.dist(head, p) for p in plan.port_base) <= 0.60 * median + 1e-6
    assert plan.starboard_base == plan.port_base
    assert "from memory" in plan.source


def test_a_row_that_is_too_wide_is_refused() -> None:
    with pytest.raises(InputError, match="finds no place on this sail"):
        number_plan(spinnaker(), "123456789012345", HULL)


def test_where_both_arcs_leave_no_room_the_upper_one_counts() -> None:
    """A small sail: 300 mm characters do not fit between 40 and 60 % of 1,400 mm, so they stand right below the upper arc."""
    small = sail.outline(SailShape(SailKind.SYMMETRIC_SPINNAKER, 1400, 1400, 1000, (("half_width", 1050),), 0, 60, LuffCurve(())))
    plan = number_plan(small, "7", HULL)
    median = math.dist(small.head_point, sail.foot_middle(small))
    middle = tuple((a + b) / 2 for a, b in zip(*plan.port_base, strict=True))
    assert math.dist(small.head_point, middle) - plan.height_mm == pytest.approx(0.40 * median)
    assert max(math.dist(small.head_point, p) for p in plan.port_base) > 0.60 * median
