"""Minutes by operation."""

from __future__ import annotations

from decimal import Decimal

from costing.takeoff.quantities import TakeOff
from costing.work.standards import LabourStandards, OperationMinutes


def operation_minutes(takeoff: TakeOff, standards: LabourStandards) -> tuple[OperationMinutes, ...]:
    """Minutes of each operation that the sail needs; operations whose drivers are all zero are left out."""
    raise NotImplementedError


def cost_of_minute(standards: LabourStandards) -> Decimal:
    """What a productive minute costs: rate a paid hour / productive fraction / 60, unrounded."""
    raise NotImplementedError
