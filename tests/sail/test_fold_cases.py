"""The ERS folds on four sails whose leech points were worked out apart from this code.

ers_fold_cases.json (metres): A and B by similar triangles, C with the circle's equation, D by intersecting two straight lines with the
bisectors; constructions of the Equipment Rules of Sailing (half leech point: head point folded onto clew point; and so on).
"""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from costing.errors import InputError
from costing.measurements import SailKind
from costing.sail import Outline, leech_points, measure

CASES = {case["case"][0]: case for case in json.loads(Path(__file__).with_name("ers_fold_cases.json").read_text())}
WIDTHS = ("quarter_width", "half_width", "three_quarter_width", "upper_width")
PRINTED = {"quarter_width": "quarter_pt", "half_width": "half_pt", "three_quarter_width": "tq_pt", "upper_width": "upper_pt_7_8"}


def sail(leech, kind=SailKind.MAINSAIL) -> Outline:
    head, clew = (0.0, 6000.0), leech[-1]
    top = (head, leech[0]) if leech[0] != head else (head,)
    return Outline(kind=kind, luff=((0.0, 0.0), head), head=top, leech=tuple(leech), foot=(clew, (0.0, 0.0)))


def circular_leech(sagitta: float, points: int) -> list[tuple[float, float]]:
    """An arc over the chord (0, 6 m) to (2.5 m, 0) that stands `sagitta` aft of it at its middle."""
    chord = 6500.0
    radius = (chord**2 / 4 + sagitta**2) / (2 * sagitta)
    half = math.asin(chord / 2 / radius)
    angle = np.linspace(-half, half, points)
    along, out = chord / 2 + radius * np.sin(angle), radius * (np.cos(angle) - math.cos(half))
    down, aft = np.array((2500.0, -6000.0)) / chord, np.array((6000.0, 2500.0)) / chord
    ring = np.array((0.0, 6000.0)) + np.outer(along, down) + np.outer(out, aft)
    return [(float(x), float(y)) for x, y in ring]


LEECHES = {
    "A": [(0.0, 6000.0), (2500.0, 0.0)],
    "B": [(120.0, 6000.0), (2500.0, 0.0)],
    "C": circular_leech(300.0, 2001),
    "D": None,
}


def kinked_leech() -> list[tuple[float, float]]:
    """Case D's leech: head, the corner where the lines through its printed points meet, clew."""
    head, clew = np.array((0.0, 6.0)), np.array((2.5, 0.0))
    upper, lower = np.array(CASES["D"]["tq_pt"]) - head, np.array(CASES["D"]["quarter_pt"]) - clew
    u, _ = np.linalg.solve(np.column_stack((upper, -lower)), clew - head)
    corner = 1000 * (head + u * upper)
    return [(0.0, 6000.0), (float(corner[0]), float(corner[1])), (2500.0, 0.0)]


@pytest.mark.parametrize("label", "ABCD")
def test_widths_and_leech_points_of_the_fold_cases(label):
    case = CASES[label]
    leech = LEECHES[label] or kinked_leech()
    measured, points = measure(sail(leech)), leech_points(sail(leech))
    for name in WIDTHS:
        assert measured[name] == pytest.approx(1000 * case[name], abs=0.005), (label, name)
        assert points[name] == pytest.approx([1000 * c for c in case[PRINTED[name]]], abs=0.005), (label, name)
    for name in ("luff_length", "leech_length", "foot_length", "luff_perpendicular", "top_width"):
        assert measured[name] == pytest.approx(1000 * case[name], abs=1e-6), (label, name)


def test_the_fold_is_not_the_middle_of_the_leech_edge():
    """On the kinked leech of case D half the arc length gives a width 6.8 mm smaller than the fold."""
    case = CASES["D"]
    half = measure(sail(kinked_leech()))["half_width"]
    assert half - 1000 * case["half_width_if_arc_length"] == pytest.approx(6.827, abs=0.01)


def test_a_hollow_leech_is_measured_to_the_bridge():
    """ERS: a hollow is bridged by a straight line, so a leech hollow all the way measures as the straight one of case A."""
    hollow = [(0.0, 6000.0), (1200.0, 3000.0), (2500.0, 0.0)]
    measured = measure(sail(hollow))
    assert {n: measured[n] for n in WIDTHS} == {
        "quarter_width": 1875.0,
        "half_width": 1250.0,
        "three_quarter_width": 625.0,
        "upper_width": 312.5,
    }


def test_only_the_hollow_part_is_bridged():
    """Full above, hollow below: the upper points stay on the leech, the quarter point moves to the bridge from (2.0, 2.4) to the clew."""
    leech = [(0.0, 6000.0), (1950.0, 2400.0), (2100.0, 1200.0), (2500.0, 0.0)]
    bridged = [(0.0, 6000.0), (1950.0, 2400.0), (2500.0, 0.0)]
    assert measure(sail(leech)) == measure(sail(bridged))


def test_width_is_taken_to_the_segments_of_the_luff_not_to_its_vertices():
    """The nearest luff vertex to the half point of case A is 3 m away; the luff itself is 1.25 m away."""
    assert measure(sail(LEECHES["A"]))["half_width"] == 1250.0


def test_width_is_taken_to_the_curved_luff():
    """A luff that stands 100 mm forward at half height is 1.25 m + 0.1 m from the half point, less what the slant of 100 in 3000 saves."""
    straight = sail(LEECHES["A"])
    bent = Outline(straight.kind, ((0.0, 0.0), (-100.0, 3000.0), (0.0, 6000.0)), straight.head, straight.leech, straight.foot)
    slant = math.cos(math.atan2(100, 3000))
    assert measure(bent)["half_width"] == pytest.approx(1350 * slant, abs=1e-6)


def test_foot_round_and_foot_median():
    """A foot of two straight lines that meet 100 mm below the middle of a 2.5 m foot."""
    base = sail(LEECHES["A"])
    round_foot = Outline(base.kind, base.luff, base.head, base.leech, ((2500.0, 0.0), (1250.0, -100.0), (0.0, 0.0)))
    measured = measure(round_foot)
    assert measured["foot_round"] == pytest.approx(100.0, abs=1e-6)
    assert measured["foot_median"] == pytest.approx(math.hypot(1250, 6100), abs=1e-6)


@pytest.mark.parametrize("kind", [SailKind.HEADSAIL, SailKind.TRYSAIL, SailKind.STORM_JIB])
def test_a_sail_without_battens_is_measured_to_its_hollow_edge(kind):
    """Hollow leech of straight lines through (1.2, 3): head-clew crease meets the lower line; worked by hand with the crease's equation.

    Crease: through (1.25, 3) at right angles to (2.5, -6). Lower line: (1.2 + 1.3 t, 3 - 3 t). They meet where
    2.5 (1.3 t - 0.05) + 18 t = 0, t = 0.125 / 21.25. (Bridging applies beside batten pockets: Equipment Rules, from memory.)
    """
    t = 0.125 / 21.25
    measured = measure(sail([(0.0, 6000.0), (1200.0, 3000.0), (2500.0, 0.0)], kind))
    assert measured["half_width"] == pytest.approx(1200 + 1300 * t, abs=1e-6)


@pytest.mark.parametrize("kind", [SailKind.SYMMETRIC_SPINNAKER, SailKind.ASYMMETRIC_SPINNAKER])
def test_a_spinnaker_s_widths_go_from_luff_point_to_leech_point(kind):
    """A diamond: luff through (-1, 3), leech (0, 6) to (2.4, 2.6) to (3, 0). Half points by hand: the luff's corner lies on its crease."""
    diamond = Outline(
        kind, ((0.0, 0.0), (-1000.0, 3000.0), (0.0, 6000.0)), ((0.0, 6000.0),), ((0.0, 6000.0), (3000.0, 3750.0), (3000.0, 0.0)),
        ((3000.0, 0.0), (0.0, 0.0)),
    )  # fmt: skip
    # leech crease: through (1.5, 3) at right angles to (3, -6): y = 3 + (x - 1.5) / 2; at x = 3 it is 3.75, the leech's corner
    measured = measure(diamond)
    assert measured["half_width"] == pytest.approx(math.hypot(4000, 750), abs=1e-6)
    assert "luff_perpendicular" not in measured and "upper_width" not in measured


def test_a_trysail_s_tack_perpendicular():
    """Case A's 6 m luff, 2.5 m foot, 6.5 m leech: the height of a right-angled triangle on its long side, 6 x 2.5 / 6.5."""
    assert measure(sail(LEECHES["A"], SailKind.TRYSAIL))["tack_perpendicular"] == pytest.approx(15e6 / 6500, abs=1e-6)


def test_an_edge_that_misses_the_crease_is_no_sail_s_edge():
    with pytest.raises(InputError) as refused:
        measure(Outline(SailKind.TRYSAIL, ((0.0, 0.0), (0.0, 6000.0)), ((0.0, 6000.0),), ((0.0, 6000.0),), ((0.0, 6000.0), (0.0, 0.0))))
    assert [(p.path, p.code) for p in refused.value.problems] == [("outline", "no_fold_point")]
