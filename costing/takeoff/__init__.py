"""Take-off: a design in, drivers and material quantities out (seam, tape, thread, hardware, numbers)."""

from costing.takeoff.drivers import geometry_drivers, take_off
from costing.takeoff.numbers import number_plan
from costing.takeoff.quantities import Driver, KitItem, MaterialQuantity, NumberPlan, TakeOff

__all__ = ["Driver", "KitItem", "MaterialQuantity", "NumberPlan", "TakeOff", "geometry_drivers", "number_plan", "take_off"]
