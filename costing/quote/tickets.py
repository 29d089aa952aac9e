"""The ticket plan of a sail: its operations by station, in the pattern's order."""

from __future__ import annotations

from costing.quote.pattern import Pattern
from costing.quote.priced import PricedSail, TicketPlan


def ticket_plan(sail: PricedSail, pattern: Pattern) -> tuple[TicketPlan, ...]:
    """Cutter's, sewer's and finisher's steps in the pattern's order; a step that needs the sail number says so."""
    raise NotImplementedError
