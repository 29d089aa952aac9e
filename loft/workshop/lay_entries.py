"""Which sails, and which of their spoiled parts, may go on a new lay."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from costing.errors import Collector
from loft.common.errors import Conflict
from loft.workshop import lay_cloths
from loft.workshop.lay_cloths import CutFrom, Key
from loft.workshop.models import LaySail, Remake, Roll, Ticket
from loft.workshop.states import TicketState

#: As many sails as the planner was measured with.
MOST_SAILS = 400

_BEFORE_CUTTING = (TicketState.HELD, TicketState.RELEASED)


def of_one_cloth(tickets: Sequence[Ticket], again: Sequence[Remake], cut_from: Key | None) -> tuple[Key, list[LaySail]]:
    """The cloth and colour of a new lay and its rows, still without lay and letter; InputError with everything that cannot lie on it."""
    wrong = Collector()
    whole = len(tickets)
    sails = [*tickets, *(remake.ticket for remake in again)]
    if not sails:
        wrong.add("tickets", "none", "choose the sails that are to be laid together")
    if len(sails) > MOST_SAILS:
        wrong.add("tickets", "too_many", f"{len(sails)} sails are too many for one lay: at most {MOST_SAILS}")
    wrong.raise_if_any()
    of_sails = lay_cloths.of_tickets(sails)
    key = cut_from or next(iter(of_sails[0]))
    first = next((own[key] for own in of_sails if key in own), None)
    for ticket, own in zip(tickets, of_sails[:whole], strict=True):
        _refuse(wrong, ticket, own, key, first)
    for remake in again:
        if (remake.cloth_code, remake.colour) != key:
            told = f"{remake} of {remake.ticket.number} is cut from {lay_cloths.told((remake.cloth_code, remake.colour))}"
            wrong.add(f"remakes[{remake.pk}]", "other_cloth", f"{told}: this lay is {lay_cloths.told(key)}")
    wrong.raise_if_any()
    rows = [_row(ticket, key, own) for ticket, own in zip(sails, of_sails, strict=True)]
    for row, made_again in zip(rows[whole:], again, strict=True):
        row.remake = made_again
    return key, rows


def refuse_taken(rows: Sequence[LaySail], key: Key, offered: Sequence[int]) -> None:
    """Conflict for sails that are on a lay of this cloth already, remakes that are laid, and remnants that another lay has."""
    code, colour = key
    whole = [row.ticket_id for row in rows if row.remake is None]
    on_a_lay = LaySail.objects.filter(out=False).select_related("ticket", "lay").order_by("pk")
    taken = [*on_a_lay.filter(ticket__in=whole, cloth_code=code, colour=colour, remake__isnull=True)]
    taken += [*on_a_lay.filter(remake__in=[row.remake for row in rows if row.remake])]
    found = [f"{row.ticket.number} is on {row.lay.number}" for row in taken]
    pieces = {row.pk: row for row in Roll.objects.filter(pk__in=offered, cloth_code=code).prefetch_related("sections__lay")}
    for pk in offered:
        piece = pieces.get(pk)
        if piece is None or piece.gone_at is not None:
            found.append(f"{piece or 'a remnant that was ticked'} is gone")
        elif piece.sections.all():
            found.append(f"the remnant {piece} is on {piece.sections.all()[0].lay.number}")
    if found:
        raise Conflict("; ".join(found))


def _refuse(wrong: Collector, ticket: Ticket, own: Mapping[Key, CutFrom], key: Key, first: CutFrom | None) -> None:
    path = f"tickets[{ticket.number}]"
    if ticket.state not in _BEFORE_CUTTING:
        wrong.add(path, "begun", f"{ticket.number} is {ticket.get_state_display()}: it is cut by its own lay")
    elif key not in own or first is None:
        from_what = " and ".join(lay_cloths.told(one) for one in own)
        wrong.add(
            path,
            "other_cloth",
            f"{ticket.number} is cut from {from_what}, not from {lay_cloths.told(key)}: a lay is one cloth in one colour",
        )
    elif own[key].usable_width_mm != first.usable_width_mm:
        widths = f"{own[key].usable_width_mm:,.0f} mm of {key[0]}, others for {first.usable_width_mm:,.0f} mm"
        wrong.add(path, "other_width", f"{ticket.number} was laid out for a usable width of {widths}: lay them apart")


def _row(ticket: Ticket, key: Key, own: Mapping[Key, CutFrom]) -> LaySail:
    return LaySail(ticket=ticket, cloth_code=key[0], colour=key[1], slots=list(own[key].slots))
