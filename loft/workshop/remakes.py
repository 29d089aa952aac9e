"""Parts that were spoiled on the table or the sewing floor: asked for again, and cut on a new lay."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet

from costing.errors import Collector
from loft.common import audit, policies, versions
from loft.common.errors import Conflict, NotFound
from loft.workshop import lay_cloths, lay_planning
from loft.workshop.models import LaySail, LaySection, Remake, Step, Ticket
from loft.workshop.states import LayState, TicketState

_ON_THE_FLOOR = (TicketState.RELEASED, TicketState.IN_WORK)
_CUTTER = "cutter"


def may_ask(ticket: Ticket) -> bool:
    """Whether the sail is one of which parts may be cut again."""
    return ticket.state in _ON_THE_FLOOR


def ask(
    *, ticket: Ticket, parts: Sequence[str], reason: str, now: datetime, by: User | None, version: int | None = None
) -> tuple[Remake, ...]:
    """Have parts of a sail cut again; one remake for each cloth and colour, which waits to be laid. InputError with all that is wrong.

    Only what has been cut is cut again: Conflict says where a part still lies.
    """
    policies.require(by, "ask_remake")
    versions.expect(ticket, version)
    if not may_ask(ticket):
        raise Conflict(f"{ticket.number} is {ticket.get_state_display()}: nothing of it is cut again")
    wanted = list(dict.fromkeys(parts))
    by_cloth = _by_cloth(ticket, wanted, reason)
    _refuse_asked(ticket, wanted)
    _refuse_uncut(ticket, by_cloth)
    with transaction.atomic():
        versions.take(ticket, version)
        made = [
            Remake.objects.create(
                ticket=ticket, cloth_code=code, colour=colour, parts=own, reason=reason.strip(), asked_at=now, asked_by=by
            )
            for (code, colour), own in by_cloth.items()
        ]  # fmt: skip
        audit.record("ask_remake", ticket, by=by, after={"parts": wanted, "reason": reason.strip()}, personal=["reason"])
    return tuple(made)


def withdraw(*, remake: Remake, now: datetime, by: User | None) -> None:
    """A remake is not wanted any more; Conflict while it is on a lay."""
    policies.require(by, "ask_remake")
    with transaction.atomic():
        versions.take(remake.ticket, None)
        if row := LaySail.objects.filter(remake=remake, out=False).select_related("lay").first():
            raise Conflict(f"it is on {row.lay.number}")
        if Remake.objects.filter(pk=remake.pk, withdrawn_at__isnull=True).update(withdrawn_at=now) == 0:
            raise Conflict("it has been withdrawn already")
        audit.record("withdraw_remake", remake.ticket, by=by, after={"parts": remake.parts})


def waiting() -> QuerySet[Remake]:
    """Remakes that are on no lay, of sails that are still made, the oldest first."""
    laid = LaySail.objects.filter(out=False, remake__isnull=False).values("remake")
    rows = Remake.objects.filter(withdrawn_at__isnull=True, ticket__state__in=_ON_THE_FLOOR).exclude(pk__in=laid)
    return rows.select_related("ticket__design").order_by("asked_at", "pk")


def remake(pk: int) -> Remake:
    """One remake; NotFound when there is none."""
    row = Remake.objects.filter(pk=pk).select_related("ticket").first()
    if row is None:
        raise NotFound(f"there is no remake {pk}")
    return row


def _by_cloth(ticket: Ticket, wanted: Sequence[str], reason: str) -> Mapping[lay_cloths.Key, list[str]]:
    design = lay_cloths.design_of(ticket)
    wrong, found = Collector(), dict[lay_cloths.Key, list[str]]()
    known = {part.id for part in design.parts}
    if not reason.strip():
        wrong.add("reason", "missing", "say what spoiled the parts")
    if not wanted:
        wrong.add("parts", "none", "choose the parts that are to be cut again")
    for part in (one for one in wanted if one not in known):
        wrong.add(f"parts[{part}]", "unknown_part", f"{ticket.number} has no part {part}; its parts are {', '.join(sorted(known))}")
    wrong.raise_if_any()
    for key, own in lay_cloths.of_tickets([ticket])[0].items():
        here = [part.id for part in lay_cloths.parts_of(design, key[0], own.slots) if part.id in wanted]
        if here:
            found[key] = here
    return found


def _refuse_asked(ticket: Ticket, wanted: Sequence[str]) -> None:
    """Conflict for parts that are asked for again already and not cut since."""
    cut_since = LaySail.objects.filter(ticket=ticket, out=False, lay__state=LayState.CUT, remake__isnull=False).values("remake")
    rows = Remake.objects.filter(ticket=ticket, withdrawn_at__isnull=True).exclude(pk__in=cut_since)
    if twice := sorted({part for row in rows for part in row.parts} & set(wanted)):
        raise Conflict(f"{', '.join(twice)} of {ticket.number} waits to be cut again already")


def _refuse_uncut(ticket: Ticket, by_cloth: Mapping[lay_cloths.Key, list[str]]) -> None:
    """Conflict for parts that lie on a lay and are not cut, or are cut by the sail's own lay, which has not begun."""
    begun = Step.objects.filter(ticket=ticket, station=_CUTTER, started_at__isnull=False).exists()
    cut, lies = set[str](), dict[str, str]()
    for row in LaySail.objects.filter(ticket=ticket, out=False).select_related("lay").order_by("pk"):
        for section in LaySection.objects.filter(lay=row.lay_id).order_by("number"):
            here = {placed.part_id for placed in lay_planning.section_lay(section).placements if placed.sail == row.letter}
            if section.cut_at is not None:
                cut |= here
            elif row.remake_id is None:
                lies |= dict.fromkeys(here, f"section {section.number} of {row.lay.number}")
    shared = set(LaySail.objects.filter(ticket=ticket, out=False, remake__isnull=True).values_list("cloth_code", "colour"))
    told = [
        f"{part} is not cut yet: it lies in {lies[part]}" for own in by_cloth.values() for part in own if part in lies and part not in cut
    ]
    told += [
        f"{part} is not cut yet: {'its lay is being planned' if key in shared else 'cutting by the own lay of the sail has not begun'}"
        for key, own in by_cloth.items()
        for part in own
        if part not in cut and part not in lies and (key in shared or not begun)
    ]
    if told:
        raise Conflict("; ".join(told))
