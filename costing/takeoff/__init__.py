"""Take-off: a design in, drivers and material quantities out (seam, tape, thread, hardware, numbers)."""

from costing.takeoff.drivers import check_kit, driver, geometry_drivers, kit_unit, take_off, together
from costing.takeoff.kinds import DRIVERS, DriverKind, driver_kind, plain, spelled, unknown_driver
from costing.takeoff.numbers import character_height, number_characters, number_plan
from costing.takeoff.quantities import Driver, KitItem, MaterialQuantity, NumberPlan, TakeOff

__all__ = [
    "DRIVERS",
    "Driver",
    "DriverKind",
    "KitItem",
    "MaterialQuantity",
    "NumberPlan",
    "TakeOff",
    "character_height",
    "check_kit",
    "driver",
    "driver_kind",
    "geometry_drivers",
    "kit_unit",
    "number_characters",
    "number_plan",
    "plain",
    "spelled",
    "take_off",
    "together",
    "unknown_driver",
]
