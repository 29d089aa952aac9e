"""Designs against limits: which value is compared, and what stands on paper."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from costing import cloth, sail
from costing.errors import Collector
from costing.measurements import Corner, SailKind
from costing.quote import compliance
from costing.rules import Limit, SailRule, Station
from tests.cloth import skerling_main


def _limit(measurement: str, low: str | None, high: str | None, corner: Corner | None = None) -> Limit:
    return Limit(measurement, "C.1", low and Decimal(low), high and Decimal(high), "", corner)  # type: ignore[arg-type]


def _rule(*limits: Limit) -> SailRule:
    return SailRule(SailKind.MAINSAIL, limits)


@pytest.mark.parametrize(
    ("label", "limit", "measured", "paper"),
    [
        ("a maximum is never rounded up", _limit("luff_length", None, "5230"), 5219.96, "5219.9"),
        ("nor by float noise down", _limit("luff_length", None, "5230"), 5219.9999999, "5220.0"),
        ("a minimum alone is never rounded down", _limit("luff_length", "5000", None), 5219.91, "5220.0"),
        ("no limit: half up", _limit("half_width", "1", None), 5219.95, "5220.0"),
    ],
)
def test_on_paper(label: str, limit: Limit, measured: float, paper: str) -> None:
    assert dict(compliance.on_paper({"luff_length": measured}, _rule(limit))) == {"luff_length": Decimal(paper)}, label


VALUES = {
    ("primary_reinforcement_size", Corner.HEAD): (Decimal(300),), ("primary_reinforcement_size", Corner.CLEW): (Decimal(325),),
    ("batten_pocket_length", None): (Decimal(612), Decimal(967)),
}  # fmt: skip


@pytest.mark.parametrize(
    ("label", "limit", "value", "room"),
    [
        ("one limit for all corners: the largest patch", _limit("primary_reinforcement_size", None, "330"), 325, 5),
        ("a limit of one corner: that patch", _limit("primary_reinforcement_size", None, "330", Corner.HEAD), 300, 30),
        ("several pockets, a maximum: the longest", _limit("batten_pocket_length", None, "1000"), 967, 33),
        ("several pockets, a minimum: the shortest", _limit("batten_pocket_length", "600", None), 612, 12),
    ],
)
def test_the_value_with_the_least_room_is_compared(label: str, limit: Limit, value: int, room: int) -> None:
    (found,) = compliance.compare_all(_rule(limit), VALUES)
    assert (found.value, found.room) == (value, room), label


def test_a_limit_without_a_value_is_left_out() -> None:
    assert compliance.compare_all(_rule(_limit("primary_reinforcement_size", None, "330", Corner.TACK)), VALUES) == ()


FOOT = {**VALUES, ("foot_length", None): (Decimal(2000),), ("half_width", None): (Decimal(1250),), ("leech_length", None): (Decimal(5000),)}
RATIO = Limit("ratio", "C.2", Decimal("0.65"), None, "", formula="half_width / foot_length", name="half width over foot")
FOLLOWS = Limit("half_width", "C.3", None, None, "", maximum_formula="0.6 * foot_length")
BY_P = Limit("leech_length", "C.4", None, None, "", maximum_formula="mast_band_distance")


def test_limits_by_formula_are_compared_with_the_design_s_own_sizes() -> None:
    ratio, follows = compliance.compare_all(_rule(RATIO, FOLLOWS), FOOT)
    assert (ratio.value, ratio.room) == (Decimal("0.625"), Decimal("-0.025"))
    assert (follows.limit.maximum, follows.room) == (Decimal("1200.0"), Decimal("-50.0"))
    wrong = Collector()
    compliance.check_headroom(_rule(RATIO, FOLLOWS), (ratio, follows), wrong)
    ways = "; ask for a size inside the limit, measure the boat again, or have the owner sell it as NON-CLASS"
    assert [p.message for p in wrong] == [
        f"the design's half width over foot 0.625 is 0.025 under the minimum of 0.65 (C.2){ways}",
        f"the design's half width 1,250 mm is 50 mm over the maximum of 1,200 mm (C.3){ways}",
    ]


def test_a_limit_that_nobody_can_determine_is_said_and_not_passed_in_silence() -> None:
    somewhere = Limit("width", "3", None, Decimal(1066), "42 in", station=Station(), name="upper girth")
    assert compliance.compare_all(_rule(somewhere, BY_P), FOOT) == ()
    assert list(compliance.left_open(_rule(somewhere, BY_P, FOLLOWS), FOOT)) == [
        "upper girth (3): cannot determine; the rule does not say at which point of the leech the width is taken",
        "Leech length (C.4): cannot determine; mast_band_distance needs mast_band_distance, not given",
    ]


def test_a_breach_is_told_with_its_rule() -> None:
    wrong = Collector()
    rule = _rule(_limit("batten_pocket_length", None, "950"))
    compliance.check_headroom(rule, compliance.compare_all(rule, VALUES), wrong)
    assert [(p.path, p.code) for p in wrong] == [("batten_pocket_length", "outside_maximum")]
    (problem,) = wrong
    assert "967 mm is 17 mm over the maximum of 950 mm (C.1)" in problem.message


def test_equal_to_the_limit_is_inside() -> None:
    rule = _rule(_limit("batten_pocket_length", None, "967"))
    wrong = Collector()
    compliance.check_headroom(rule, compliance.compare_all(rule, VALUES), wrong)
    assert not wrong


def test_a_batten_lies_in_each_pocket() -> None:
    values = compliance.design_values({}, skerling_main.built().cut, skerling_main.MAKE, skerling_main.BODY, {})
    assert values["batten_count", None] == values["batten_pocket_count", None] == (Decimal(3),)


STRAIGHT = sail.SailShape(SailKind.TRYSAIL, 4000.0, 4000.0, 2400.0, (), 0.0, 0.0, sail.LuffCurve(()))
PLACED = tuple(cloth.Pocket(name, part, 300, 25, full_length, "") for name, part, full_length in (
    ("low", 0.26, False), ("mid", 0.5, False), ("top", 0.77, True),
))  # fmt: skip


def test_where_pockets_meet_the_leech_is_worked_out_from_the_pattern() -> None:
    """A triangle of 4,000, 4,000 and 2,400 mm: pockets at 1,040, 2,000 and 3,080 mm of the leech, 40, 0 and 80 mm off its quarters."""
    triangle = sail.outline(STRAIGHT)
    values = compliance.design_values({}, triangle, replace(skerling_main.MAKE, pockets=PLACED), skerling_main.BODY, {})
    assert [float(v) for v in values["batten_pocket_position_error", None]] == pytest.approx([40, 0, 80], abs=0.01)
    assert [float(v) for v in values["top_pocket_to_head", None]] == pytest.approx([920], abs=0.01)
    # square to the leech; the luff is away from it by the tangent of the angle at the head: 2 asin(0.3) = 34.92 degrees, its edges 19.5 mm
    # above the centreline: low (2,960 - 19.5) x 0.698 - 312 mm along, and across that the cosine of 34.92 degrees; mid (2,000 - 19.5)
    tangent, cosine = math.tan(2 * math.asin(0.3)), math.cos(2 * math.asin(0.3))
    by_hand = [((4000 - at - 19.5) * tangent - 312) * cosine for at in (1040, 2000)]
    assert [float(v) for v in values["batten_pocket_to_luff", None]] == pytest.approx([*by_hand, 0], abs=0.5)
    lengths = [312, 312, 920 * tangent]
    assert float(values["batten_pocket_length_total", None][0]) == pytest.approx(sum(lengths), abs=0.5)


def test_equal_parts_are_those_of_the_leech_length_up_to_the_head_point() -> None:
    """The Skerling 13's pockets stand at quarters of it, whatever its headboard takes off the edge."""
    values = compliance.design_values({}, skerling_main.built().cut, skerling_main.MAKE, skerling_main.BODY, {})
    assert [p.leech_fraction for p in skerling_main.MAKE.pockets] == [0.25, 0.5, 0.75]
    assert values["batten_pocket_position_error", None] == (0, 0, 0)


def test_a_limit_on_pockets_is_compared_and_no_longer_open() -> None:
    make = replace(skerling_main.MAKE, pockets=PLACED)
    values = compliance.design_values({}, sail.outline(STRAIGHT), make, skerling_main.BODY, {})
    rule = _rule(_limit("batten_pocket_position_error", None, "75"), _limit("top_pocket_to_head", "900", None))
    rooms = compliance.compare_all(rule, values)
    assert [float(r.room) for r in rooms] == pytest.approx([-5, 20], abs=0.01)
    assert compliance.open_limits(rule, rooms, values, make) == ()
    bare = compliance.design_values({}, sail.outline(STRAIGHT), replace(make, pockets=()), skerling_main.BODY, {})
    assert compliance.compare_all(rule, bare) == ()
