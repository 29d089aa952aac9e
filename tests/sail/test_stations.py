"""Widths at a class's own stations, on a triangle where they can be worked by hand."""

from dataclasses import replace
from decimal import Decimal

import pytest
import shapely

from costing import rules
from costing.errors import CannotDetermine
from costing.measurements import Corner, SailKind
from costing.rules import LeechPoint
from costing.sail import Outline, leech_points, leech_round, measure, measure_for, outline, station_width

D = Decimal
BETWEEN = rules.Station(between=(LeechPoint.AFT_HEAD, LeechPoint.HALF))
#: Luff 6 m, foot 2.5 m, leech 6.5 m: a width is 2.5 / 6.5 of the way down the leech.
TRIANGLE = Outline(
    kind=SailKind.MAINSAIL,
    luff=((0.0, 0.0), (0.0, 6000.0)),
    head=((0.0, 6000.0),),
    leech=((0.0, 6000.0), (1250.0, 3000.0), (2500.0, 0.0)),
    foot=((2500.0, 0.0), (0.0, 0.0)),
)


@pytest.mark.parametrize(
    ("station", "down_mm"),
    [
        (rules.Station(Corner.HEAD, distance_mm=D(1250)), 1250),
        (rules.Station(Corner.HEAD, distance_mm=D("4000.5")), 4000.5),
        (rules.Station(Corner.CLEW, distance_mm=D(1300)), 5200),
        (rules.Station(Corner.HEAD, part=(1, 3)), 6500 / 3),
        (rules.Station(Corner.CLEW, part=(1, 3)), 2 * 6500 / 3),
    ],
    ids=str,
)
def test_width_at_a_station(station, down_mm):
    assert station_width(TRIANGLE, station) == pytest.approx(down_mm * 2500 / 6500, abs=1e-6)


def test_the_half_of_a_straight_leech_is_the_fold_s_half_width():
    assert station_width(TRIANGLE, rules.Station(Corner.HEAD, part=(1, 2))) == measure(TRIANGLE)["half_width"]


def test_a_station_on_a_round_leech_is_as_far_from_the_head_as_asked(shape_of):
    """Checked apart: where the leech is as far from the straight luff as the width found, it is 1,250 mm from the head point."""
    sail = outline(shape_of(luff_curve=()))
    width = station_width(sail, rules.Station(Corner.HEAD, distance_mm=D(1250)))
    below = next((a, b) for a, b in zip(sail.leech, sail.leech[1:], strict=False) if a[0] <= width <= b[0])
    part = (width - below[0][0]) / (below[1][0] - below[0][0])
    y = below[0][1] + part * (below[1][1] - below[0][1])
    assert ((width - sail.head_point[0]) ** 2 + (y - sail.head_point[1]) ** 2) ** 0.5 == pytest.approx(1250, abs=1e-3)


# A leech bent at half its height: its middle point lies 130 mm aft of the chord of the triangle's, and straight pieces above and below.
BENT = replace(TRIANGLE, leech=((0.0, 6000.0), (1370.0, 3050.0), (2500.0, 0.0)))


@pytest.mark.parametrize(
    ("sail", "between", "outside"),
    [
        (TRIANGLE, (LeechPoint.AFT_HEAD, LeechPoint.CLEW), 0.0),
        # the cross product of chord (2500, -6000) and (1370, -2950), over 6,500 mm
        (BENT, (LeechPoint.AFT_HEAD, LeechPoint.CLEW), (1370 * 6000 - 2950 * 2500) / 6500),
        (BENT, (LeechPoint.AFT_HEAD, LeechPoint.THREE_QUARTER), 0.0),
        (replace(TRIANGLE, leech=((0.0, 6000.0), (1100.0, 3000.0), (2500.0, 0.0))), (LeechPoint.AFT_HEAD, LeechPoint.CLEW), 0.0),
    ],
    ids=["straight", "convex", "straight above the bend", "hollow"],
)
def test_how_far_a_leech_lies_outside_a_straight_line(sail, between, outside):
    assert leech_round(sail, *between) == pytest.approx(outside, abs=1e-6)


def test_the_round_of_a_fair_leech_is_that_of_its_points_farthest_from_the_line(shape_of):
    """Checked apart: the polygon between chord and leech is as high above the chord as shapely measures it."""
    sail = outline(shape_of())
    chord = shapely.LineString((sail.aft_head_point, leech_points(sail)["half_width"]))
    above = [shapely.Point(p) for p in sail.leech if p[1] > leech_points(sail)["half_width"][1]]
    rule = rules.SailRule(SailKind.MAINSAIL, (rules.Limit("leech_round", "9", None, D(20), "20 mm", station=BETWEEN),))
    (name,) = (x.value_name for x in rule.limits)
    assert name == "leech_round@aft head point to half leech point"
    expected = max(chord.distance(p) for p in above)
    assert expected > 5
    assert measure_for(sail, rule)[name] == pytest.approx(expected, abs=0.001)


def test_a_rule_s_stations_are_measured_under_the_names_of_its_limits():
    at = rules.Station(Corner.HEAD, distance_mm=D(1250))
    limits = (
        rules.Limit("width", "7", None, D(480), "480", station=at),
        rules.Limit("width", "8", None, D(900), "", station=rules.Station()),
    )
    rule = rules.SailRule(SailKind.MAINSAIL, limits)
    sizes = {n: D(str(v)) for n, v in measure_for(TRIANGLE, rule).items()}
    (breach,) = rules.breaches(rule, sizes)
    assert (breach.rule, breach.value) == ("7", D("480.769231"))
    assert rules.breach_in_words(breach).startswith("width 1250 mm from the head 480.7692 mm is 0.7692 mm over the maximum of 480 mm")
    assert [u.limit.rule for u in rules.assess(rule, sizes).undetermined] == ["8"]


@pytest.mark.parametrize("station", [rules.Station(), rules.Station(Corner.HEAD), rules.Station(Corner.HEAD, distance_mm=D(7000))])
def test_a_station_that_is_not_stated_or_not_there_is_never_guessed(station):
    with pytest.raises(CannotDetermine):
        station_width(TRIANGLE, station)
