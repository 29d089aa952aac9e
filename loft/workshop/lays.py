"""The writes of shared lays: begin one, take a sail off it, put it on rolls, cut a section."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F, Sum

from costing import cloth, money
from costing.errors import Collector, problem
from costing.quote import colours, snapshot
from loft.common import audit, idempotency, policies, versions
from loft.common import services as common
from loft.common.errors import Conflict
from loft.common.states import move_to
from loft.jobs import services as jobs
from loft.workshop import lay_planning, rolls, services
from loft.workshop.models import Lay, LaySail, LaySection, LayShare, Roll, Ticket
from loft.workshop.states import LAY, LayState, TicketState

#: As many sails as the planner was measured with.
MOST_SAILS = 400
#: Parts moved on trial: more take longer and waste less.
THOROUGH = {"quick": 0, "thorough": 4_000, "very thorough": 40_000}
#: A rectangle smaller than this is not worth keeping (common practice, no source).
LEAST_REMNANT_MM = (600, 300)

_BEFORE_CUTTING = (TicketState.HELD, TicketState.RELEASED)
_THOUSANDTH = Decimal("0.001")


def begin(
    *, tickets: Sequence[Ticket], steps: int, now: datetime, by: User | None, neighbours: bool = False, offered: Sequence[int] = (),
    made_at: str = "",
) -> Lay:  # fmt: skip
    """Lay the bodies of these sails together, as background work; InputError lists every sail that cannot lie on it.

    offered: remnants (rolls by primary key) that small parts may come off first. made_at: where the lay will be found ("/lays/{}/"),
    noted for a request that is sent twice.
    """
    policies.require(by, "plan_lay")
    code, colour = _one_cloth(tickets)
    with transaction.atomic():
        taken = LaySail.objects.filter(ticket__in=[t.pk for t in tickets], out=False).select_related("ticket", "lay")
        if found := [f"{row.ticket.number} is on {row.lay.number}" for row in taken]:
            raise Conflict("; ".join(found))
        number = f"L-{common.next_number(series='lay'):04}"
        lay = Lay.objects.create(
            number=number, cloth_code=code, colour=colour, steps=steps, neighbours=neighbours, offered=list(offered), created_at=now
        )
        named = zip(lay_planning.letters(len(tickets)), tickets, strict=True)
        LaySail.objects.bulk_create(LaySail(lay=lay, ticket=ticket, letter=letter) for letter, ticket in named)
        lay_planning.ask_for_plan(lay)
        audit.record("begin_lay", lay, by=by, after={"tickets": [t.number for t in tickets], "steps": steps})
        if made_at:
            idempotency.made(made_at.format(lay.pk))
    return lay


def stop(*, lay: Lay, by: User | None) -> None:
    """End the planning with the best that it has found; one that has not begun is cancelled and may be asked for again."""
    policies.require(by, "plan_lay")
    jobs.cancel(key=lay_planning.job_key(lay))


def plan_again(*, lay: Lay, steps: int, by: User | None, version: int | None = None) -> None:
    """Lay what is not cut yet anew, with so many steps."""
    policies.require(by, "plan_lay")
    versions.expect(lay, version)
    with transaction.atomic():
        versions.take(lay, version)
        lay_planning.await_plan(lay, steps=steps)
        audit.record("plan_lay_again", lay, by=by, after={"steps": steps})


def cancel(*, lay: Lay, now: datetime, by: User | None, version: int | None = None) -> None:
    """Give a lay up before anything of it is cut: its sails may go on another one."""
    policies.require(by, "plan_lay")
    versions.expect(lay, version)
    with transaction.atomic():
        versions.take(lay, version)
        if LaySection.objects.filter(lay=lay, cut_at__isnull=False).exists():
            raise Conflict(f"a section of {lay} is cut: take the other sails off it, one by one")
        move_to(lay, LayState.CANCELLED, LAY, cancelled_at=now)
        LaySail.objects.filter(lay=lay).update(out=True)
        LaySection.objects.filter(lay=lay).update(roll=None, start_mm=None)
        audit.record("cancel_lay", lay, by=by)


def put_on_rolls(*, lay: Lay, only: Collection[int] = (), now: datetime, by: User, version: int | None = None) -> None:
    """Find every uncut section its place on the rolls in hand (`only`: these), remnants first, and book the cloth of its sails.

    Flaws and what other sections hold are kept clear; no sail comes from two lots. InputError says which sections find no place.
    """
    policies.require(by, "confirm_cloth")
    versions.expect(lay, version)
    if lay.state != LayState.PLANNED:
        raise Conflict(f"{lay} is {lay.get_state_display()}: only a planned lay can be put on rolls")
    laid = lay_planning.designs(lay)
    uncut = [s for s in LaySection.objects.filter(lay=lay, cut_at__isnull=True).order_by("number") if not _narrow(s, laid)]
    if not uncut:
        raise Conflict(f"every section of {lay} is cut or on a remnant")
    stock = _stock(lay, only, laid)
    whole = _rounded_up(cloth.in_a_row([lay_planning.section_lay(section) for section in uncut]))
    cuts = cloth.on_rolls(whole, [rolls.as_costed(row, keep_clear=uncut) for row in stock])
    by_name = {row.name: row for row in stock}
    with transaction.atomic():
        versions.take(lay, version)
        for cut in cuts:
            place = {"roll": by_name[cut.roll], "start_mm": round(cut.start_mm)}
            if LaySection.objects.filter(pk=uncut[cut.section].pk, cut_at__isnull=True).update(**place) == 0:
                raise Conflict(f"section {uncut[cut.section].number} of {lay} has been cut meanwhile")
        audit.record("put_on_rolls", lay, by=by, after={str(uncut[c.section].number): f"{c.roll} from {c.start_mm:.0f} mm" for c in cuts})
        _book(lay, {uncut[c.section].pk: by_name[c.roll] for c in cuts}, now=now, by=by)


def cut_section(
    *, section: LaySection, actual_mm: int, now: datetime, by: User, keep: Iterable[int] = (), version: int | None = None
) -> None:
    """A section has been cut: it is frozen, its sails share the cloth that it really took by net area, and its remnants are booked.

    keep: which of the section's remnants, in their order, go into stock. version: of the lay.
    """
    policies.require(by, "work_cutter")
    lay = section.lay
    versions.expect(lay, version)
    alone, laid = lay_planning.section_lay(section), lay_planning.designs(lay)
    _refuse_cut(section, alone, actual_mm)
    kept = _kept(section, laid, tuple(keep))
    with transaction.atomic():
        versions.take(lay, version)
        if lay.state != LayState.PLANNED:
            raise Conflict(f"{lay} is {lay.get_state_display()}")
        cut = LaySection.objects.filter(pk=section.pk, cut_at__isnull=True, roll__isnull=False)
        if cut.update(cut_at=now, cut_by=by, actual_mm=actual_mm) == 0:
            raise Conflict(f"section {section.number} of {lay} has been cut by somebody else")
        _share(section, alone, laid, actual_mm)
        _keep_remnants(section, kept, now=now, by=by)
        if _narrow(section, laid):  # what is left of a remnant is a remnant of its own, or waste
            Roll.objects.filter(sections=section).update(gone_at=now)
        if not LaySection.objects.filter(lay=lay, cut_at__isnull=True).exists():
            move_to(lay, LayState.CUT, LAY, cut_at=now)
        audit.record("cut_section", lay, by=by, after={"section": section.number, "actual_mm": actual_mm})


def section_remnants(section: LaySection, laid: lay_planning.Laid) -> tuple[cloth.Remnant, ...]:
    """The rectangles that a section leaves over and that are worth keeping, the largest first."""
    length, width = LEAST_REMNANT_MM
    alone = lay_planning.section_lay(section)
    return cloth.remnants(alone, 0, lay_planning.parts(laid), least_length_mm=length, least_width_mm=width)


def _one_cloth(tickets: Sequence[Ticket]) -> tuple[str, str]:
    """Cloth and colour of sails that may lie together."""
    wrong = Collector()
    if not tickets:
        wrong.add("tickets", "none", "choose the sails that are to be laid together")
    if len(tickets) > MOST_SAILS:
        wrong.add("tickets", "too_many", f"{len(tickets)} sails are too many for one lay: at most {MOST_SAILS}")
    wrong.raise_if_any()
    cut_from = bodies(tickets)
    first = cut_from[0]
    for ticket, body in zip(tickets, cut_from, strict=True):
        if ticket.state not in _BEFORE_CUTTING:
            wrong.add(f"tickets[{ticket.number}]", "begun", f"{ticket.number} is {ticket.get_state_display()}: it is cut by its own lay")
        elif colours.slots_in(body[1]):
            told = f"{ticket.number} is of several colours, {body[1]}: each is cut by its own lay, as its ticket has it"
            wrong.add(f"tickets[{ticket.number}]", "several_colours", told)
        elif body != first:
            told = f"{ticket.number} is cut from {' '.join(body)}, {tickets[0].number} from {' '.join(first)}"
            wrong.add(f"tickets[{ticket.number}]", "other_cloth", f"{told}: one lay is one cloth in one colour")
    wrong.raise_if_any()
    return first


def bodies(tickets: Sequence[Ticket]) -> list[tuple[str, str]]:
    """Code and colour of the cloth that each sail's body is cut from; a design that several share is read once."""
    cloths: dict[int, str] = {}
    for ticket in tickets:
        if ticket.design_id not in cloths:
            cloths[ticket.design_id] = snapshot.thaw_design(bytes(ticket.design.data)).cloth.code
    return [(cloths[ticket.design_id], snapshot.thaw_sail(bytes(ticket.sail)).colour) for ticket in tickets]


def _stock(lay: Lay, only: Collection[int], laid: lay_planning.Laid) -> list[Roll]:
    """The rolls that the lay may come off: its cloth and colour, whole width, and of the lot that its sails have already."""
    width = next(iter(laid.values())).cloth.usable_width_mm
    rows = [r for r in rolls.rolls(cloth_code=lay.cloth_code, colour=lay.colour) if not only or r.pk in only]
    wide = [r for r in rows if r.usable_width_mm >= width]
    if not wide:
        told = f"no roll of {lay.cloth_code} {lay.colour} of at least {width:,.0f} mm usable width is in hand; book one first"
        raise problem("rolls", "no_roll", told)
    lots = set(LaySail.objects.filter(lay=lay, out=False).exclude(ticket__lot="").values_list("ticket__lot", flat=True))
    if len(lots) > 1:
        raise problem("rolls", "two_lots", f"the sails of {lay} have cloth of lots {', '.join(sorted(lots))}; lay them apart")
    fitting = [r for r in wide if not lots or r.lot in lots]
    if not fitting:
        raise problem("rolls", "other_lot", f"a sail of {lay} has cloth of lot {lots.pop()} already; no roll of that lot is in hand")
    return fitting


def _rounded_up(lay: cloth.Lay) -> cloth.Lay:
    """Sections in whole millimetres, as they are pulled."""
    return replace(lay, sections=tuple(cloth.Section(s.number, float(math.ceil(s.length_mm))) for s in lay.sections))


def _book(lay: Lay, by_section: dict[int, Roll], *, now: datetime, by: User) -> None:
    """Book the cloth of every sail whose cloth is not booked yet."""
    here = {row.letter: row.ticket for row in LaySail.objects.filter(lay=lay, out=False).select_related("ticket").defer("ticket__sail")}
    homes: dict[str, Roll] = {}
    for section in LaySection.objects.filter(pk__in=by_section):
        for placed in lay_planning.section_lay(section).placements:
            homes.setdefault(placed.sail, by_section[section.pk])
    for roll in set(homes.values()):
        own = [here[letter] for letter, home in homes.items() if home == roll and not here[letter].lot]
        if own:
            services.book_cloth(tickets=own, roll=roll.name, lot=roll.lot, by=by, now=now)


def _refuse_cut(section: LaySection, alone: cloth.Lay, actual_mm: int) -> None:
    if section.roll is None:
        raise Conflict(f"section {section.number} of {section.lay} is on no roll yet")
    if not alone.length_mm - 1 <= actual_mm <= 2 * section.length_mm:
        told = f"the section is {section.length_mm / 1000:.2f} m; {actual_mm / 1000:.2f} m really used cannot be right"
        raise problem("actual_mm", "impossible", f"{told}: at least the section, at most twice as much")
    letters = {placed.sail for placed in alone.placements}
    rows = LaySail.objects.filter(lay=section.lay, letter__in=letters, out=False).select_related("ticket").defer("ticket__sail")
    held = [row.ticket.number for row in rows if row.ticket.state == TicketState.HELD]
    if held:
        raise Conflict(f"section {section.number} of {section.lay} cannot be cut: {', '.join(sorted(held))} held")


def _narrow(section: LaySection, laid: lay_planning.Laid) -> bool:
    """Whether a section lies on a remnant that the planning chose, narrower than its cloth."""
    design = next(iter(laid.values()))
    return lay_planning.section_lay(section).usable_width_mm < design.cloth.usable_width_mm


def _share(section: LaySection, alone: cloth.Lay, laid: lay_planning.Laid, actual_mm: int) -> None:
    """Share the metres that were used among the sails of the section by net area, by largest remainder to the millimetre.

    Of a remnant, as metres of the whole width.
    """
    all_parts = lay_planning.parts(laid)
    areas: dict[str, float] = {}
    for placed in alone.placements:
        areas[placed.sail] = areas.get(placed.sail, 0.0) + cloth.net_area_mm2(all_parts[placed.sail, placed.part_id])
    whole_width = next(iter(laid.values())).cloth.usable_width_mm
    used = (Decimal(actual_mm) * Decimal(repr(alone.usable_width_mm / whole_width)) / 1000).quantize(_THOUSANDTH)
    metres = money.shares(used, [Decimal(repr(a)) for a in areas.values()], _THOUSANDTH)
    tickets = dict(LaySail.objects.filter(lay=section.lay).values_list("letter", "ticket"))
    rows = [LayShare(section=section, ticket_id=tickets[letter], metres=m) for letter, m in zip(areas, metres, strict=True)]
    LayShare.objects.bulk_create(rows)
    for row in rows:
        whole = LayShare.objects.filter(ticket=row.ticket_id).aggregate(sum=Sum("metres"))["sum"]
        Ticket.objects.filter(pk=row.ticket_id).update(metres_used=whole, version=F("version") + 1)


def _kept(section: LaySection, laid: lay_planning.Laid, keep: tuple[int, ...]) -> dict[int, cloth.Remnant]:
    """The remnants that are to go into stock, by their place; InputError for one that the section does not leave."""
    found = section_remnants(section, laid) if keep else ()
    if wrong := [str(n + 1) for n in keep if not 0 <= n < len(found)]:
        raise problem("keep", "no_such_remnant", f"the section leaves {len(found)} remnants; there is no {', '.join(wrong)}")
    return {n: found[n] for n in keep}


def _keep_remnants(section: LaySection, kept: Mapping[int, cloth.Remnant], *, now: datetime, by: User) -> None:
    roll = section.roll
    assert roll is not None
    for number, piece in kept.items():
        rolls.book_roll(
            name=f"{section.lay.number}-{section.number}-{number + 1}", cloth_code=roll.cloth_code, colour=roll.colour, lot=roll.lot,
            length_mm=int(piece.length_mm), usable_width_mm=int(piece.width_mm), remnant=True, now=now, by=by,
        )  # fmt: skip
