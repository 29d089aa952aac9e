"""The ERS constructions on an outline, independent of how it was made."""

from __future__ import annotations

from costing.sail.shape import Outline, Point


def leech_points(sail: Outline) -> dict[str, Point]:
    """Quarter, half, three-quarter and upper leech points by folding; mm."""
    raise NotImplementedError


def measure(sail: Outline) -> dict[str, float]:
    """Every size of the finished sail by its ERS construction: measurement name -> mm."""
    raise NotImplementedError
