"""Labour standards: the owner's minutes for each operation."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


class Station(StrEnum):
    DESK = "desk"
    CUTTER = "cutter"
    SEWER = "sewer"
    FINISHER = "finisher"


@dataclass(frozen=True, slots=True)
class Term:
    """Minutes for each unit of a driver. Drivers "order" and "lay" are shared set-up: once a batch, once a pattern and cloth."""

    driver: str
    minutes: Decimal


@dataclass(frozen=True, slots=True)
class LabourStandard:
    """One operation: its station, its minutes, and the short caution that a ticket prints beside it."""

    operation: str
    label: str
    station: Station
    terms: tuple[Term, ...]
    caution: str = ""
    source: str = "common practice, no source"


@dataclass(frozen=True, slots=True)
class LabourStandards:
    """A dated set of standards with the rates that turn minutes into cost.

    rate_per_paid_hour is what an hour at the loft costs; productive_fraction of it is spent on sails, so a productive hour costs
    rate / fraction. unplanned_fraction is added to the minutes as an operation of its own.
    """

    version: str
    valid_from: str
    rate_per_paid_hour: Decimal
    productive_fraction: Decimal
    unplanned_fraction: Decimal
    operations: tuple[LabourStandard, ...]
    learning_per_doubling: Decimal = Decimal(1)  # 1: off
    learning_floor: Decimal = Decimal("0.85")


@dataclass(frozen=True, slots=True)
class OperationMinutes:
    """Minutes of one operation on one sail, with the sum of its own minutes spelled out: "8 x 2 patches + 3 x 7 layers = 37 min".

    drivers: the codes that its minutes come from, set-up included.
    """

    operation: str
    label: str
    station: Station
    own_min: Decimal  # this sail's
    order_min: Decimal  # shared by the batch
    lay_min: Decimal  # shared by the sails of one pattern and cloth
    how: str
    caution: str = ""
    drivers: tuple[str, ...] = ()
