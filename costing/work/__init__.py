"""Work: drivers and the owner's labour standards in, minutes by operation out."""

from costing.work.minutes import cost_of_minute, operation_minutes
from costing.work.standards import LabourStandard, LabourStandards, OperationMinutes, Station, Term

__all__ = ["LabourStandard", "LabourStandards", "OperationMinutes", "Station", "Term", "cost_of_minute", "operation_minutes"]
