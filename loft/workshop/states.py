"""The states of a ticket, and what holds it."""

from __future__ import annotations

from django.db.models import TextChoices

from loft.common.states import StateTable


class TicketState(TextChoices):
    HELD = "held", "held"
    RELEASED = "released", "released"
    IN_WORK = "in_work", "in work"
    READY = "ready", "ready"
    SCRAPPED = "scrapped", "scrapped"


TICKET = StateTable(
    "ticket",
    {
        TicketState.HELD: frozenset({TicketState.RELEASED, TicketState.SCRAPPED}),
        TicketState.RELEASED: frozenset({TicketState.IN_WORK, TicketState.HELD, TicketState.SCRAPPED}),
        TicketState.IN_WORK: frozenset({TicketState.READY, TicketState.SCRAPPED}),
        TicketState.READY: frozenset({TicketState.SCRAPPED}),
        TicketState.SCRAPPED: frozenset(),
    },
)


class Need(TextChoices):
    """What a ticket waits for, in the order in which the desk asks for it."""

    DEPOSIT = "deposit", "deposit"
    OPTIONS = "options", "options signed"
    FIT = "fit", "fit details confirmed"
    CLOTH = "cloth", "cloth booked"
    RULES = "rules", "inside the class rules"
    NUMBER = "number", "sail number"
    LABEL = "label", "class label"


#: Needs that hold the whole ticket. The number holds only its own step, the label only "ready".
HOLDS_RELEASE: tuple[Need, ...] = (Need.DEPOSIT, Need.OPTIONS, Need.FIT, Need.CLOTH, Need.RULES)


class Occasion(TextChoices):
    """Which measuring of a finished sail it is: what a sail measured before any recut is what later designs learn from."""

    FIRST = "first", "measured first"
    AGAIN = "again", "measured again"
    RECUT = "recut", "measured after a recut"


class LayState(TextChoices):
    PLANNING = "planning", "being planned"
    PLANNED = "planned", "planned"
    CUT = "cut", "cut"
    CANCELLED = "cancelled", "cancelled"


#: A planned lay is planned again when a sail is taken off it; what is cut stays.
LAY = StateTable(
    "lay",
    {
        LayState.PLANNING: frozenset({LayState.PLANNED, LayState.CANCELLED}),
        LayState.PLANNED: frozenset({LayState.PLANNING, LayState.CUT, LayState.CANCELLED}),
        LayState.CUT: frozenset(),
        LayState.CANCELLED: frozenset(),
    },
)
