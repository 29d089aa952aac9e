"""Work: drivers and the owner's labour standards in, minutes by operation out."""

from costing.work.learning import learned, mean_factor, wright_factor
from costing.work.minutes import check_standards, cost_of_minute, operation_minutes
from costing.work.standards import LabourStandard, LabourStandards, OperationMinutes, Station, Term

__all__ = [
    "LabourStandard",
    "LabourStandards",
    "OperationMinutes",
    "Station",
    "Term",
    "check_standards",
    "cost_of_minute",
    "learned",
    "mean_factor",
    "operation_minutes",
    "wright_factor",
]
