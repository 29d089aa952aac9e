"""The fair line: a batten with evenly spread bend, never bent the wrong way unless the points force it."""

import numpy as np
import pytest

from costing.sail.fair import fair_line


def bends(x, y):
    """Second derivative at the inner vertices, by divided differences."""
    return np.diff(np.diff(y) / np.diff(x)) / ((x[2:] - x[:-2]) / 2)


def line(points):
    x, y = np.array(points, dtype=float).T
    return fair_line(x, y)


def test_two_points_are_joined_by_a_straight_line():
    x, y = line([(0, 0), (5, 3)])
    assert (x.tolist(), y.tolist()) == ([0, 5], [0, 3])


@pytest.mark.parametrize("points", [3, 4, 6])
def test_a_parabola_is_given_back_exactly(points):
    """A parabola's bend is constant: nothing varies less, so the line through its points is the parabola itself."""
    along = np.linspace(0, 1000, points) ** 1.02
    x, y = line([(a, 1e-4 * a * (along[-1] - a)) for a in along])
    assert y == pytest.approx(1e-4 * x * (along[-1] - x), abs=1e-6)


def test_points_on_a_straight_line_stay_on_it():
    x, y = line([(0, 0), (700, 70), (2100, 210), (3000, 300)])
    assert y == pytest.approx(x / 10, abs=1e-9)


@pytest.mark.parametrize(
    ("label", "points"),
    [
        ("one sharp turn between flat ones", [(0, 0), (1000, 90), (2000, 170), (3000, 60), (4000, -60), (5000, -190)]),
        ("turn near one end", [(0, 0), (300, 60), (600, 80), (3000, 60), (5000, 0)]),
        ("almost straight in the middle", [(0, 0), (700, 100), (2000, 180), (3300, 180.1), (4600, 100), (5300, 0)]),
    ],
)
def test_no_hollow_where_the_points_have_none(label, points):
    x, y = line(points)
    assert bends(x, y).max() < 1e-12, label
    for px, py in points:
        assert y[x == px].tolist() == [py], label


def test_an_s_changes_its_bend_once():
    x, y = line([(0, 0), (1000, 40), (2000, 50), (3000, 30), (4000, 25), (5000, 50)])
    signs = np.sign([b for b in bends(x, y) if abs(b) > 1e-12])
    assert np.count_nonzero(np.diff(signs)) == 1


@pytest.mark.parametrize("depth", [1, 2, 7])
def test_straight_at_two_stations_and_bent_between_them(depth):
    """Offsets rounded to the mm make a tent: no turn at the outer points, one in the middle, which no line bent one way can have.

    The line still passes every point and stays near the tent.
    """
    x, y = line([(0, 0), (1000, depth), (2000, 2 * depth), (3000, depth), (4000, 0)])
    assert [y[x == at].tolist() for at in (1000, 2000, 3000)] == [[depth], [2 * depth], [depth]]
    tent = 2 * depth - np.abs(x - 2000) * depth / 1000
    assert np.abs(y - tent).max() < 0.2 * depth
