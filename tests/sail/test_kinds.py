"""Headsails, spinnakers and storm sails: asked sizes, the shape of their edges, and what is refused with a range that works."""

import re

import numpy as np
import pytest

from costing.errors import InputError
from costing.measurements import SailKind
from costing.sail import LuffCurve, SailShape, leech_points, measure, outline

SAG = LuffCurve(((0.25, -12.0), (0.5, -18.0), (0.75, -12.0)))
NO_CURVE = LuffCurve(())


def jib(**changed) -> SailShape:
    widths = {"quarter_width": 1124.0, "half_width": 730.0, "three_quarter_width": 364.0, "upper_width": 190.0} | changed
    return SailShape(SailKind.HEADSAIL, 4650, 4250, 1700, tuple(widths.items()), 25, 60, SAG)


def asymmetric(half: float, **changed) -> SailShape:
    sizes = {"top_width": 0.0, "foot_round": 300.0, "luff_curve": NO_CURVE, "foot_median": None} | changed
    return SailShape(SailKind.ASYMMETRIC_SPINNAKER, 15920, 14860, 7700, (("half_width", half),), **sizes)


def symmetric(luff=14860.0, leech=14860.0, half=7620.0) -> SailShape:
    return SailShape(SailKind.SYMMETRIC_SPINNAKER, luff, leech, 7340, (("half_width", half),), 0, 300, NO_CURVE)


def problems_of(shape: SailShape) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as refused:
        outline(shape)
    return [(p.path, p.code, p.message) for p in refused.value.problems]


def turns(line) -> np.ndarray:
    heading = np.diff(np.array(line), axis=0)
    return np.diff(np.unwrap(np.arctan2(heading[:, 1], heading[:, 0])))


def test_a_jib_has_a_hollow_luff_and_a_hollow_leech_and_its_asked_widths():
    sail = outline(jib())
    measured = measure(sail)
    assert {n: measured[n] for n in dict(jib().widths)} == dict(jib().widths)
    assert max(x for x, _ in sail.luff) == pytest.approx(18, abs=0.1)  # the luff stands aft of the straight line
    assert min(turns(sail.leech)) > -1e-9  # hollow all the way, as the luff is: seen from outside both bend inwards
    assert max(turns(sail.luff)) > 0 > min(turns(sail.foot)) - 1e-9


def test_a_jib_s_leech_turns_the_other_way_only_where_the_widths_force_it():
    """Full at the upper width, hollow below: one change of sign and no more."""
    signs = np.sign([t for t in turns(outline(jib(upper_width=205.0, three_quarter_width=372.0)).leech) if abs(t) > 1e-9])
    assert np.count_nonzero(np.diff(signs)) == 1


def test_a_width_that_puts_a_corner_into_a_jib_s_leech_names_a_range_that_works():
    (_, code, said), *_ = problems_of(jib(three_quarter_width=660.0, upper_width=300.0))
    assert code == "unfair_leech"
    low, high = (float(v.replace(",", "")) for v in re.search(r"three-quarter width from ([\d.,]+) to ([\d.,]+) mm", said).groups())
    for width in (low, high):
        assert measure(outline(jib(three_quarter_width=width, upper_width=300.0)))["three_quarter_width"] == pytest.approx(width)


def test_a_symmetric_spinnaker_is_its_own_mirror_image():
    """The middle of each width lies on the line from the head to the middle of the foot."""
    sail = outline(symmetric())
    luff, leech, head = np.array(sail.luff[::-1]), np.array(sail.leech), np.array(sail.head_point)
    assert len(luff) == len(leech)
    axis = np.array(sail.clew_point) / 2 - head
    middles = (luff + leech) / 2 - head
    assert np.abs(middles[:, 0] * axis[1] - middles[:, 1] * axis[0]).max() / np.hypot(*axis) < 1e-6


def test_a_spinnaker_s_edges_stand_equally_far_outside_their_chords():
    sail = outline(asymmetric(7540))
    half = np.array(leech_points(sail)["half_width"])
    out = np.hypot(*(half - (np.array(sail.head_point) + sail.clew_point) / 2))
    luff = np.array(sail.luff)
    assert -np.interp(15920 / 2, luff[:, 1], luff[:, 0]) == pytest.approx(out, abs=1e-6)


def test_a_spinnaker_s_foot_median_sets_its_foot_round():
    measured = measure(outline(asymmetric(7540, foot_round=0.0, foot_median=15200.0)))
    assert (measured["foot_median"], measured["half_width"]) == (15200.0, 7540.0)
    assert measured["foot_round"] > 0


@pytest.mark.parametrize(
    ("label", "shape", "path", "code"),
    [
        ("luff and leech of a symmetric one differ", symmetric(leech=14500), "luff_length", "not_symmetric"),
        ("narrower than straight edges", symmetric(half=3000), "half_width", "unfair_leech"),
        ("a head that is no point", asymmetric(7540, top_width=50.0), "top_width", "not_of_this_sail"),
        ("a luff curve", asymmetric(7540, luff_curve=SAG), "luff_curve", "not_of_this_sail"),
        ("foot round and median", asymmetric(7540, foot_median=15300.0), "foot_median", "given_twice"),
        ("a median that no foot has", asymmetric(7540, foot_round=0.0, foot_median=20000.0), "foot_median", "out_of_range"),
    ],
)
def test_refused(label, shape, path, code):
    assert (path, code) in [p[:2] for p in problems_of(shape)], label


def test_the_range_offered_for_a_spinnaker_s_half_width_works():
    (_, _, said), *_ = problems_of(symmetric(half=3000))
    low, high = (float(v.replace(",", "")) for v in re.search(r"half width from ([\d.,]+) to ([\d.,]+) mm", said).groups())
    for half in (low, high):
        assert measure(outline(symmetric(half=half)))["half_width"] == pytest.approx(half, abs=1e-6)
    for half in (low - 1, high + 1):
        assert problems_of(symmetric(half=half))


def test_an_upper_width_is_no_size_of_a_spinnaker():
    shape = SailShape(SailKind.ASYMMETRIC_SPINNAKER, 9000, 8500, 4500, (("half_width", 4200), ("upper_width", 900)), 0, 0, NO_CURVE)
    assert ("upper_width", "not_of_this_sail") in [p[:2] for p in problems_of(shape)]
