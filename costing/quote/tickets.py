"""The ticket plan of a sail: its operations by station, in the pattern's order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from costing.quote.pattern import Pattern
from costing.quote.priced import PricedSail, TicketPlan, TicketStep
from costing.work.standards import OperationMinutes, Station

#: The stations that get a ticket; the desk's operations are not steps on the floor.
FLOOR = (Station.CUTTER, Station.SEWER, Station.FINISHER)
_NUMBER_DRIVERS = {"number", "number_character"}


def ticket_plan(sail: PricedSail, pattern: Pattern) -> tuple[TicketPlan, ...]:
    """Cutter's, sewer's and finisher's steps in the pattern's order; a step that needs the sail number says so.

    Minutes are the sail's own and its share of the set-up.
    """
    by_code = {o.operation: o for o in sail.operations}
    ordered = [by_code[code] for code in placed(by_code, pattern.steps)]
    plans = (TicketPlan(s.value, tuple(_step(o, sail) for o in ordered if o.station is s)) for s in FLOOR)
    return tuple(plan for plan in plans if plan.steps)


def placed(operations: Iterable[str], steps: Sequence[str]) -> tuple[str, ...]:
    """Operations, given in the house's order, in the order of a pattern's steps.

    One that the steps do not name comes before that which follows it in the house's order, so that nothing is done to a sail in its bag.
    """
    place = {operation: float(i) for i, operation in enumerate(steps)}
    after = float(len(steps))
    known = tuple(operations)
    for operation in reversed(known):
        after = place.setdefault(operation, after)
    return tuple(sorted(known, key=lambda operation: (place[operation], operation in steps)))


def _step(operation: OperationMinutes, sail: PricedSail) -> TicketStep:
    minutes = operation.own_min + operation.order_min + operation.lay_min
    waits = sail.sail_number is None and not _NUMBER_DRIVERS.isdisjoint(operation.drivers)
    return TicketStep(operation.operation, operation.label, minutes, operation.how, operation.caution, needs_number=waits)
