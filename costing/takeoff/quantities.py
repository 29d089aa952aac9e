"""What is counted and measured off a design, and what the kit makes of it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Driver:
    """A quantity that costs are driven by: code, exact amount, unit, and how it was found, in words."""

    code: str  # "seam_m", "patch_layer", "number_character", ... see DRIVERS in costing.takeoff.drivers
    amount: Decimal
    unit: str
    how: str


@dataclass(frozen=True, slots=True)
class KitItem:
    """A material that a sail takes: `factor` for each unit of a driver; `counts_as` makes it a driver of its own (rings, battens).

    unit: what the amount is in; empty: "m" or "m2" as the driver is, "piece" where the driver counts things.
    group: the group of cost lines, "hardware" or "consumables"; empty: hardware for pieces, consumables for the rest.
    """

    material: str
    per: str
    factor: Decimal
    counts_as: str = ""
    option: str = ""
    note: str = ""
    unit: str = ""
    group: str = ""


@dataclass(frozen=True, slots=True)
class MaterialQuantity:
    """How much of a material one sail takes, and how that was found."""

    material: str
    amount: Decimal
    unit: str
    how: str
    group: str = "hardware"
    label: str = ""


@dataclass(frozen=True, slots=True)
class NumberPlan:
    """Where sail numbers go: height, gaps and edge distance as required (mm, with source), and the base line of each side.

    Base lines in sail coordinates as seen from the PORT side (luff left); starboard is drawn mirrored and uppermost.
    """

    text: str
    height_mm: float
    gap_mm: float
    edge_mm: float
    starboard_base: tuple[tuple[float, float], tuple[float, float]]
    port_base: tuple[tuple[float, float], tuple[float, float]]
    source: str


@dataclass(frozen=True, slots=True)
class TakeOff:
    """Everything read off one design: drivers (geometry and kit) and material quantities other than laid cloth."""

    drivers: tuple[Driver, ...]
    materials: tuple[MaterialQuantity, ...]

    def amount(self, driver: str) -> Decimal:
        """The amount of a driver; zero when the design has none of it."""
        return next((d.amount for d in self.drivers if d.code == driver), Decimal(0))
