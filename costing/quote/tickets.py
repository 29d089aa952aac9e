"""The ticket plan of a sail: its operations by station, in the pattern's order."""

from __future__ import annotations

from costing.quote.pattern import Pattern
from costing.quote.priced import PricedSail, TicketPlan, TicketStep
from costing.work.standards import OperationMinutes, Station

#: The stations that get a ticket; the desk's operations are not steps on the floor.
FLOOR = (Station.CUTTER, Station.SEWER, Station.FINISHER)
_NUMBER_DRIVERS = {"number", "number_character"}


def ticket_plan(sail: PricedSail, pattern: Pattern) -> tuple[TicketPlan, ...]:
    """Cutter's, sewer's and finisher's steps in the pattern's order; a step that needs the sail number says so.

    Minutes are the sail's own and its share of the set-up. Operations that the pattern's order does not name come last.
    """
    place = {operation: i for i, operation in enumerate(pattern.steps)}
    ordered = sorted(sail.operations, key=lambda o: place.get(o.operation, len(place)))
    plans = (TicketPlan(s.value, tuple(_step(o, sail) for o in ordered if o.station is s)) for s in FLOOR)
    return tuple(plan for plan in plans if plan.steps)


def _step(operation: OperationMinutes, sail: PricedSail) -> TicketStep:
    minutes = operation.own_min + operation.order_min + operation.lay_min
    waits = sail.sail_number is None and not _NUMBER_DRIVERS.isdisjoint(operation.drivers)
    return TicketStep(operation.operation, operation.label, minutes, operation.how, operation.caution, needs_number=waits)
