"""The drivers of cost, read off the geometry, and the kit's quantities."""

from __future__ import annotations

from costing.cloth.lay import Lay
from costing.cloth.make import Make
from costing.cloth.part import Panel, Part
from costing.sail.shape import Outline
from costing.takeoff.quantities import Driver, KitItem, TakeOff


def geometry_drivers(
    finished: Outline, panels: tuple[Panel, ...], parts: tuple[Part, ...], make: Make, lays: tuple[Lay, ...]
) -> tuple[Driver, ...]:
    """Every driver that the geometry gives: seams, edges, patches, pockets, windows, area, laid area."""
    raise NotImplementedError


def take_off(drivers: tuple[Driver, ...], kit: tuple[KitItem, ...], options: frozenset[str]) -> TakeOff:
    """Drivers and kit together: materials with quantities; kit items that count as drivers (rings, battens) are added to them."""
    raise NotImplementedError
