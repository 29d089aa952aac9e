"""The writes of shared lays: begin one, take a sail off it, put it on rolls, cut a section."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import DecimalField, F, Value
from django.db.models.functions import Coalesce

from costing import cloth, money
from costing.errors import problem
from costing.quote import colours
from loft.common import audit, idempotency, policies, versions
from loft.common import services as common
from loft.common.errors import Conflict
from loft.common.states import move_to
from loft.jobs import services as jobs
from loft.workshop import lay_cloths, lay_entries, lay_planning, lay_stock, rolls, services
from loft.workshop.models import Lay, LaySail, LaySection, LayShare, Remake, Roll, Ticket
from loft.workshop.states import LAY, LayState, TicketState

#: Parts moved on trial: more take longer and waste less.
THOROUGH = {"quick": 0, "thorough": 4_000, "very thorough": 40_000}
_THOUSANDTH = Decimal("0.001")


def begin(
    *, tickets: Sequence[Ticket] = (), steps: int, now: datetime, by: User | None, cut_from: lay_cloths.Key | None = None,
    again: Sequence[Remake] = (), neighbours: bool = False, offered: Sequence[int] = (), made_at: str = "",
) -> Lay:  # fmt: skip
    """Lay what these sails have of one cloth together, as background work; InputError lists every sail that cannot lie on it.

    cut_from: code and colour of the cloth or film; None: what the first sail's body is cut from. again: spoiled parts that are cut
    again. offered: remnants (rolls by primary key) that small parts may come off first. made_at: where the lay will be found
    ("/lays/{}/"), noted for a request that is sent twice.
    """
    policies.require(by, "plan_lay")
    key, rows = lay_entries.of_one_cloth(tickets, again, cut_from)
    with transaction.atomic():
        lay_entries.refuse_taken(rows, key, offered)
        number = f"L-{common.next_number(series='lay'):04}"
        lay = Lay.objects.create(
            number=number, cloth_code=key[0], colour=key[1], steps=steps, neighbours=neighbours, offered=list(offered), created_at=now
        )
        for letter, row in zip(lay_planning.letters(len(rows)), rows, strict=True):
            row.lay, row.letter = lay, letter
        LaySail.objects.bulk_create(rows)
        lay_planning.ask_for_plan(lay)
        audit.record("begin_lay", lay, by=by, after={"tickets": [row.ticket.number for row in rows], "steps": steps})
        if made_at:
            idempotency.made(made_at.format(lay.pk))
    return lay


def stop(*, lay: Lay, by: User | None) -> None:
    """End the planning with the best that it has found; one that has not begun is cancelled and may be asked for again."""
    policies.require(by, "plan_lay")
    jobs.cancel(key=lay_planning.job_key(lay))


def plan_again(*, lay: Lay, steps: int, by: User | None, fit_rolls: bool = False, version: int | None = None) -> None:
    """Lay what is not cut yet anew, with so many steps; fit_rolls: in sections that the rolls in hand have room for."""
    policies.require(by, "plan_lay")
    versions.expect(lay, version)
    with transaction.atomic():
        versions.take(lay, version)
        Lay.objects.filter(pk=lay.pk).update(steps=steps, fit_rolls=fit_rolls)
        lay_planning.await_plan(lay)
        audit.record("plan_lay_again", lay, by=by, after={"steps": steps, "fit_rolls": fit_rolls})


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

    Flaws and what other sections hold are kept clear; no sail comes from two lots. InputError says which sections find no place,
    Conflict that somebody else has taken cloth of one of these rolls meanwhile.
    """
    policies.require(by, "confirm_cloth")
    versions.expect(lay, version)
    if lay.state != LayState.PLANNED:
        raise Conflict(f"{lay} is {lay.get_state_display()}: only a planned lay can be put on rolls")
    laid = lay_planning.designs(lay)
    uncut = list(LaySection.objects.filter(lay=lay, cut_at__isnull=True).select_related("lay").order_by("number"))
    if gone := [str(s.number) for s in uncut if narrow(s, laid) and s.roll_id is None]:
        raise Conflict(f"the remnants of sections {', '.join(gone)} of {lay} are gone: plan what is not cut again")
    uncut = [s for s in uncut if not narrow(s, laid)]
    if not uncut:
        raise Conflict(f"every section of {lay} is cut or on a remnant")
    stock = lay_stock.stock(lay, laid, only=only)
    alone = [lay_planning.section_lay(section) for section in uncut]
    cuts = lay_stock.places(lay, laid, alone, stock, keep_clear=uncut, named=[section.number for section in uncut])
    by_name = {row.name: row for row in stock}
    with transaction.atomic():
        versions.take(lay, version)
        for roll in sorted({by_name[cut.roll] for cut in cuts}, key=lambda row: row.pk):
            versions.take(roll, roll.version)
        for cut in cuts:
            place = {"roll": by_name[cut.roll], "start_mm": round(cut.start_mm)}
            if LaySection.objects.filter(pk=uncut[cut.section].pk, cut_at__isnull=True).update(**place) == 0:
                raise Conflict(f"section {uncut[cut.section].number} of {lay} has been cut meanwhile")
        audit.record("put_on_rolls", lay, by=by, after={str(uncut[c.section].number): f"{c.roll} from {c.start_mm:.0f} mm" for c in cuts})
        _book(lay, laid, {uncut[c.section].pk: by_name[c.roll] for c in cuts}, now=now, by=by)


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
        if narrow(section, laid):  # what is left of a remnant is a remnant of its own, or waste
            Roll.objects.filter(sections=section).update(gone_at=now)
        if not LaySection.objects.filter(lay=lay, cut_at__isnull=True).exists():
            move_to(lay, LayState.CUT, LAY, cut_at=now)
        audit.record("cut_section", lay, by=by, after={"section": section.number, "actual_mm": actual_mm})


def section_remnants(section: LaySection, laid: lay_planning.Laid) -> tuple[cloth.Remnant, ...]:
    """The rectangles that a section leaves over and that are worth keeping, the largest first, as they were found when it was planned."""
    if section.remnants is None:
        return lay_planning.remnants(lay_planning.section_lay(section), lay_planning.parts(laid))
    return tuple(cloth.Remnant(0, *map(float, sizes)) for sizes in section.remnants)


def narrow(section: LaySection, laid: lay_planning.Laid) -> bool:
    """Whether a section lies on a remnant that the planning chose, narrower than its cloth."""
    return lay_planning.section_lay(section).usable_width_mm < lay_planning.roll(section.lay, laid).usable_width_mm


def _book(lay: Lay, laid: lay_planning.Laid, by_section: dict[int, Roll], *, now: datetime, by: User) -> None:
    """Book the cloth of every sail whose body lies here and whose cloth is not booked yet."""
    rows = LaySail.objects.filter(lay=lay, out=False).select_related("ticket").defer("ticket__sail")
    here = {row.letter: row.ticket for row in rows if colours.BODY in row.slots and laid[row.letter].cloth.code == lay.cloth_code}
    homes: dict[str, Roll] = {}
    for section in LaySection.objects.filter(pk__in=by_section):
        for placed in lay_planning.section_lay(section).placements:
            homes.setdefault(placed.sail, by_section[section.pk])
    for roll in set(homes.values()):
        own = [here[letter] for letter, home in homes.items() if home == roll and letter in here and not here[letter].lot]
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


def _share(section: LaySection, alone: cloth.Lay, laid: lay_planning.Laid, actual_mm: int) -> None:
    """Share the metres that were used among the sails of the section by net area, by largest remainder to the millimetre.

    Of a remnant, as metres of the whole width.
    """
    all_parts = lay_planning.parts(laid)
    areas: dict[str, float] = {}
    for placed in alone.placements:
        areas[placed.sail] = areas.get(placed.sail, 0.0) + cloth.net_area_mm2(all_parts[placed.sail, placed.part_id])
    whole_width = lay_planning.roll(section.lay, laid).usable_width_mm
    used = (Decimal(actual_mm) * Decimal(repr(alone.usable_width_mm / whole_width)) / 1000).quantize(_THOUSANDTH)
    metres = money.shares(used, [Decimal(repr(a)) for a in areas.values()], _THOUSANDTH)
    tickets = dict(LaySail.objects.filter(lay=section.lay).values_list("letter", "ticket"))
    by_ticket: dict[int, Decimal] = {}
    for letter, own in zip(areas, metres, strict=True):
        by_ticket[tickets[letter]] = by_ticket.get(tickets[letter], Decimal(0)) + own
        if laid[letter].cloth.code == section.lay.cloth_code:  # film is not counted in the cloth's metres
            so_far = Coalesce(F("metres_used"), Value(Decimal(0)), output_field=DecimalField())
            Ticket.objects.filter(pk=tickets[letter]).update(metres_used=so_far + own, version=F("version") + 1)
    LayShare.objects.bulk_create(LayShare(section=section, ticket_id=ticket, metres=own) for ticket, own in by_ticket.items())


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
