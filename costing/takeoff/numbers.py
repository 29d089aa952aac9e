"""Sail numbers: their height by hull length, and where they go."""

from __future__ import annotations

from decimal import Decimal

from costing.sail.shape import Outline
from costing.takeoff.quantities import NumberPlan


def number_plan(sail: Outline, text: str, hull_length_mm: Decimal) -> NumberPlan:
    """Height, gap and edge by RRS Appendix G1.2, starboard uppermost; InputError when the number has no characters or does not fit."""
    raise NotImplementedError
