"""Shortest distance from a point to a polyline: to its segments, not to its vertices."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def nearest(point: Array, line: Array) -> tuple[float, Array]:
    """Distance from a point to a polyline (rows x, y; mm) and the nearest point on it."""
    start = line[:-1]
    along = line[1:] - start
    length2 = np.einsum("ij,ij->i", along, along)
    u = np.einsum("ij,ij->i", point - start, along) / np.where(length2 > 0, length2, 1.0)
    feet = start + np.clip(u, 0.0, 1.0)[:, None] * along
    gaps = feet - point
    squared = np.einsum("ij,ij->i", gaps, gaps)
    i = int(squared.argmin())
    return float(np.sqrt(squared[i])), feet[i]
