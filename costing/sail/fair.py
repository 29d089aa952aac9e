"""A fair line through points: the line of a batten that spreads its bend as evenly as the points allow.

Between the points the second derivative M is continuous and piecewise linear. Of all such lines that pass through the points this is
the one with the least change of bend (the integral of M' squared), kept from bending the other way except where the points force it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_PIECES = 6  # of linear bend between two points
_CHORD_ERROR_MM = 0.03  # of the polyline against the line
_MOST_ROUNDS = 30
_STRAIGHT = 1e-7  # a change of slope below this, in radians, is no bend (0.1 micrometre on a metre)


def fair_line(x: Array, y: Array) -> tuple[Array, Array]:
    """A fair polyline y(x) through the points, which are among its vertices; x rising, mm."""
    if len(x) == 2:
        return x, y
    grid = np.interp(np.arange((len(x) - 1) * _PIECES + 1) / _PIECES, np.arange(len(x)), x)
    grid[::_PIECES] = x
    length = x[-1] - x[0]
    bend = _least_varied_bend((grid - x[0]) / length, np.diff(np.diff(y) / np.diff(x))) / length
    return _sample(grid, bend, x, y)


def _least_varied_bend(grid: Array, turns: Array) -> Array:
    """M at the grid for the changes of slope asked at the inner points; grid from 0 to 1.

    The change of slope between two spans is the integral of M times the hat function of the point between them.
    """
    hats = _hats(len(grid), len(turns))
    step = np.diff(grid)
    stiffness = _assemble(1 / step, -1 / step)
    turning = hats @ _assemble(step / 3, step / 6)
    allowed = _allowed_signs(turns)
    held = np.zeros(len(grid), dtype=bool)
    for _ in range(_MOST_ROUNDS):
        bend, pull = _constrained_minimum(stiffness, turning, turns, held)
        hold = np.where(held, allowed * pull > 0, allowed * bend < 0)
        if (hold == held).all():
            break
        held = hold
    return bend


def _constrained_minimum(stiffness: Array, turning: Array, turns: Array, held: NDArray[np.bool_]) -> tuple[Array, Array]:
    """The bend of least stiffness energy that makes the turns and is 0 where held, and the pull on each node that is held.

    Lagrange multipliers for the turns; a positive pull (in the allowed direction) says that the hold is needed.
    """
    n, k = len(stiffness), len(turns)
    system = np.zeros((n + k, n + k))
    system[:n, :n] = stiffness
    system[:n, n:] = turning.T
    system[n:, :n] = turning
    full = system.copy()
    fixed = np.flatnonzero(held)
    system[fixed, :] = 0.0
    system[fixed, fixed] = 1.0
    right = np.zeros(n + k)
    right[n:] = turns
    solution = _solved(system, right)
    pull: Array = full[:n] @ solution
    return solution[:n], pull


def _solved(system: Array, right: Array) -> Array:
    """The solution; where all nodes round a point without a turn are held, its multiplier is free and the smallest one is taken."""
    try:
        return np.asarray(np.linalg.solve(system, right), dtype=np.float64)
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.lstsq(system, right, rcond=None)[0], dtype=np.float64)


def _hats(nodes: int, points: int) -> Array:
    """Row i: 1 at inner point i, falling linearly to 0 at its neighbours, on the grid's nodes."""
    distance = np.abs(np.arange(nodes)[None, :] - _PIECES * (1 + np.arange(points))[:, None]) / _PIECES
    hats: Array = np.clip(1 - distance, 0, None)
    return hats


def _assemble(diagonal: Array, beside: Array) -> Array:
    """A tridiagonal matrix from the contributions of each interval to its two ends."""
    matrix = np.diag(np.append(diagonal, 0) + np.append(0, diagonal))
    i = np.arange(len(beside))
    matrix[i, i + 1] = matrix[i + 1, i] = beside
    return matrix


def _allowed_signs(turns: Array) -> Array:
    """Per grid node the sign that the bend may have: that of the turns at both ends of its span, 0 (either) where they differ."""
    signs = np.where(np.abs(turns) < _STRAIGHT, 0.0, np.sign(turns))
    ends = np.concatenate((signs[:1], signs, signs[-1:]))
    left, right = ends[:-1], ends[1:]
    span = np.where(left * right < 0, 0.0, np.where(left == 0, right, left))
    return np.append(np.repeat(span, _PIECES), span[-1])


def _sample(grid: Array, bend: Array, x: Array, y: Array) -> tuple[Array, Array]:
    """The line on a polyline fine enough for the chord error; the points themselves exactly."""
    step = np.diff(grid)
    slope = np.append(0.0, np.cumsum(step * (bend[:-1] + bend[1:]) / 2))
    height = np.append(0.0, np.cumsum(step * slope[:-1] + step**2 * (2 * bend[:-1] + bend[1:]) / 6))
    tilt = (y[-1] - y[0] - height[-1]) / (x[-1] - x[0])
    sharpest = np.maximum(np.abs(bend[:-1]), np.abs(bend[1:]))
    pieces = np.ceil(step * np.sqrt(sharpest / (8 * _CHORD_ERROR_MM))).astype(int).clip(1)
    first = np.cumsum(pieces) - pieces
    interval = np.repeat(np.arange(len(step)), pieces)
    u = (np.arange(len(interval)) - first[interval]) / pieces[interval] * step[interval]
    change = np.diff(bend) / step
    xs = grid[interval] + u
    ys = height[interval] + u * slope[interval] + u**2 * (bend[interval] / 2 + u * change[interval] / 6)
    ys += y[0] + tilt * (xs - x[0])
    ys[first[::_PIECES]] = y[:-1]
    return np.append(xs, x[-1]), np.append(ys, y[-1])
