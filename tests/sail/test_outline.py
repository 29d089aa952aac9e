"""The outline has the asked sizes, is fair, and refuses what no fair sail can have."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from costing.errors import InputError
from costing.sail import LuffCurve, SailShape, leech_points, measure, outline

EDGES = ("luff_length", "leech_length", "foot_length", "foot_round", "top_width")


def asked(shape: SailShape) -> dict[str, float]:
    return dict(shape.widths) | {name: getattr(shape, name) for name in EDGES}


def turns(line) -> np.ndarray:
    """The turn at each vertex of a polyline, radians, to the left positive."""
    heading = np.diff(np.array(line), axis=0)
    return np.diff(np.unwrap(np.arctan2(heading[:, 1], heading[:, 0])))


def sign_changes(line) -> int:
    signs = np.sign([t for t in turns(line) if abs(t) > 1e-9])
    return int(np.count_nonzero(np.diff(signs)))


def problems_of(shape: SailShape) -> list[tuple[str, str]]:
    with pytest.raises(InputError) as refused:
        outline(shape)
    return [(p.path, p.code) for p in refused.value.problems]


def message_of(shape: SailShape) -> str:
    with pytest.raises(InputError) as refused:
        outline(shape)
    return refused.value.problems[0].message


# -- sizes


def test_skerling_has_its_sizes(shape_of):
    shape = shape_of()
    measured = measure(outline(shape))
    assert {n: measured[n] for n in asked(shape)} == asked(shape)


def test_widths_agree_with_another_library_s_distance(shape_of):
    """The shortest distance from each leech point to the luff, taken by shapely instead of by our own arithmetic."""
    sail = outline(shape_of())
    luff = LineString(sail.luff)
    found = {name: luff.distance(Point(p)) for name, p in leech_points(sail).items()}
    assert found == pytest.approx({"quarter_width": 1985, "half_width": 1455, "three_quarter_width": 855, "upper_width": 495}, abs=1e-6)


@pytest.mark.parametrize("left_out", ["upper_width", "quarter_width"])
def test_a_width_that_is_not_given_is_left_to_the_fair_curve(shape_of, left_out):
    shape = shape_of(**{left_out: None})
    measured = measure(outline(shape))
    assert {n: measured[n] for n in asked(shape)} == asked(shape)
    full = asked(shape_of())[left_out]
    assert measured[left_out] == pytest.approx(full, rel=0.02)


def test_without_widths_the_leech_is_straight(shape_of):
    shape = shape_of(quarter_width=None, half_width=None, three_quarter_width=None, upper_width=None)
    assert len(outline(shape).leech) == 2


# -- shape


def test_the_skerling_leech_never_changes_the_sign_of_its_bend(shape_of):
    assert sign_changes(outline(shape_of()).leech) == 0


def test_the_penguin_leech_never_changes_the_sign_of_its_bend(penguin_shape):
    assert sign_changes(outline(penguin_shape).leech) == 0


def test_the_leech_bends_without_knuckles(shape_of):
    """The bend (turn per mm) never jumps: between neighbouring vertices it changes by less than a tenth of its greatest value."""
    leech = np.array(outline(shape_of()).leech)
    lengths = np.hypot(*np.diff(leech, axis=0).T)
    bend = turns(leech) / ((lengths[:-1] + lengths[1:]) / 2)
    assert np.abs(np.diff(bend)).max() < 0.1 * np.abs(bend).max()


def test_leech_points_are_vertices_of_the_leech(shape_of):
    sail = outline(shape_of())
    leech = np.array(sail.leech)
    for name, point in leech_points(sail).items():
        assert np.hypot(*(leech - point).T).min() < 1e-6, name


def test_chords_stay_within_a_twentieth_of_a_millimetre(shape_of):
    """Chord error = length times turn / 8, on every curved edge; a turn is shared by the two chords beside it."""
    sail = outline(shape_of())
    for edge in (sail.luff, sail.leech, sail.foot):
        lengths = np.hypot(*np.diff(np.array(edge), axis=0).T)
        assert (np.maximum(lengths[:-1], lengths[1:]) * np.abs(turns(edge)) / 8).max() < 0.05


def test_the_luff_passes_its_stations_and_is_smooth(shape_of):
    sail = outline(shape_of())
    luff = np.array(sail.luff)
    for fraction, forward in ((0, 0), (0.25, 30), (0.5, 45), (0.75, 35), (1, 0)):
        assert -np.interp(fraction * 5210, luff[:, 1], luff[:, 0]) == pytest.approx(forward, abs=1e-9), fraction
    assert sign_changes(sail.luff) == 0


def test_a_luff_curve_of_no_offset_is_a_straight_line(shape_of):
    assert outline(shape_of(luff_curve=((0.5, 0.0),))).luff == ((0.0, 0.0), (0.0, 5210.0))
    assert outline(shape_of(luff_curve=())).luff == ((0.0, 0.0), (0.0, 5210.0))


def test_the_foot_is_an_arc_below_the_straight_line(shape_of):
    """Radius of an arc over chord c with height h: (c^2/4 + h^2) / 2h = 14,909 mm here (geometry)."""
    foot = np.array(outline(shape_of()).foot)
    chord = np.hypot(*(foot[0] - foot[-1]))
    radius = (chord**2 / 4 + 50**2) / 100
    middle = (foot[0] + foot[-1]) / 2
    up = np.array((-foot[0][1], foot[0][0])) / chord
    centre = middle + up * (radius - 50)
    assert radius == pytest.approx(14909, abs=0.5)
    assert np.hypot(*(foot - centre).T) == pytest.approx(np.full(len(foot), radius), abs=1e-6)


def test_a_pointed_head_has_no_head_edge(shape_of):
    sail = outline(shape_of(top_width=0, upper_width=None))
    assert sail.head == ((0.0, 5210.0),)
    assert len(set(sail.ring)) == len(sail.ring)


def test_coordinates_are_plain_floats_that_meet_at_the_corners(shape_of):
    sail = outline(shape_of())
    assert (sail.luff[-1], sail.head[-1], sail.leech[-1], sail.foot[-1]) == (sail.head[0], sail.leech[0], sail.foot[0], sail.luff[0])
    assert {type(c) for p in sail.ring for c in p} == {float}


# -- refusals

BOTH_NEIGHBOURS = [("three_quarter_width", "unfair_leech"), ("quarter_width", "unfair_leech")]


@pytest.mark.parametrize(
    ("label", "sizes", "problems"),
    [
        ("foot too short for luff and leech", {"foot_length": 300}, [("leech_length", "no_triangle")]),
        ("leech too short", {"leech_length": 2700}, [("luff_length", "no_triangle")]),
        ("widths swapped", {"quarter_width": 1455, "half_width": 1985}, [("half_width", "wider_than_below")]),
        ("top wider than upper", {"top_width": 600}, [("top_width", "wider_than_below")]),
        ("two at once", {"luff_length": 0, "half_width": -5}, [("luff_length", "not_positive"), ("half_width", "not_positive")]),
        ("not a number", {"leech_length": math.nan}, [("leech_length", "not_positive")]),
        ("half width not given", {"half_width": None}, [("quarter_width", "station_missing"), ("three_quarter_width", "station_missing")]),
        ("foot round too large", {"foot_round": 800}, [("foot_round", "out_of_range")]),
        ("foot hollow", {"foot_round": -5}, [("foot_round", "out_of_range")]),
        ("hollow at the half", {"half_width": 1400}, [("half_width", "unfair_leech")]),
        ("half so full that its neighbours are hollow", {"half_width": 1560}, BOTH_NEIGHBOURS),
    ],
)  # fmt: skip
def test_refused(shape_of, label, sizes, problems):
    found = problems_of(shape_of(**sizes))
    assert [p for p in found if p in problems] == problems, (label, found)


@pytest.mark.parametrize(
    ("label", "curve", "code"),
    [
        ("falling stations", ((0.5, 40.0), (0.25, 30.0)), "stations"),
        ("not 0 at the head", ((0.5, 40.0), (1.0, 5.0)), "ends"),
        ("a station above the head", ((1.2, 40.0),), "stations"),
        ("metres for millimetres", ((0.5, 4000.0),), "out_of_range"),
    ],
)
def test_refused_luff_curve(shape_of, label, curve, code):
    assert ("luff_curve", code) in problems_of(shape_of(luff_curve=curve)), label


def test_no_triangle_says_what_would_do(shape_of):
    said = message_of(shape_of(foot_length=300))
    assert said == "5,560 mm makes no triangle with luff length 5,210 mm and foot length 300 mm: it must be between 4,910 and 5,510 mm"


def test_the_range_that_a_hollow_leech_s_message_offers_really_works(shape_of):
    """Both ends of each offered range give a sail; a millimetre beyond gives none."""
    said = message_of(shape_of(half_width=1400))
    assert said.startswith("1,400 mm leaves the leech ")
    assert "between the three-quarter width and the quarter width" in said
    low, high = (float(v.replace(",", "")) for v in re.search(r"half width from ([\d.,]+) to ([\d.,]+) mm", said).groups())
    for width in (low, high):
        assert measure(outline(shape_of(half_width=width)))["half_width"] == width
    for width in (low - 1, high + 1):
        assert problems_of(shape_of(half_width=width))


def test_a_larger_sail_of_the_same_form_has_the_same_form(shape_of):
    """Every size ten times larger: every coordinate ten times larger, but for the chords of curved edges, which are relatively finer."""
    small = shape_of()
    big = replace(
        small,
        widths=tuple((n, 10 * w) for n, w in small.widths),
        luff_curve=LuffCurve(tuple((f, 10 * mm) for f, mm in small.luff_curve.stations)),
        **{name: 10 * getattr(small, name) for name in EDGES},
    )
    one, ten = outline(small), outline(big)
    for name, point in leech_points(one).items():
        assert leech_points(ten)[name] == pytest.approx([10 * c for c in point], abs=0.3)
    assert Polygon(ten.ring).area == pytest.approx(100 * Polygon(one.ring).area, rel=2e-5)
