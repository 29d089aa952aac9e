"""Planning a lay of several sails: what is to be laid, asking for it, and keeping what was found."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F

from costing import cloth
from costing.cloth import Part
from costing.errors import CostingBug
from costing.quote import Design, snapshot
from loft.common import audit, versions
from loft.common.errors import Conflict
from loft.common.states import move_to
from loft.jobs import services as jobs
from loft.jobs.models import Job
from loft.workshop.lay_remnants import OnRemnant
from loft.workshop.models import Lay, LaySail, LaySection, Roll, Ticket
from loft.workshop.states import LAY, LayState

KIND = "lay"

Laid = Mapping[str, Design]  # by the letter of each sail on the lay


def designs(lay: Lay) -> Laid:
    """The design of every sail that is or was on the lay, by its letter."""
    rows = LaySail.objects.filter(lay=lay).select_related("ticket__design").defer("ticket__sail")
    decoded: dict[int, Design] = {}
    found: dict[str, Design] = {}
    for row in rows:
        design = row.ticket.design
        if design.pk not in decoded:
            decoded[design.pk] = snapshot.thaw_design(bytes(design.data))
        found[row.letter] = decoded[design.pk]
    return found


def parts(laid: Laid) -> dict[tuple[str, str], Part]:
    """Every part by the sail's letter and its own id."""
    return {(letter, part.id): part for letter, design in laid.items() for part in design.parts}


def section_lay(section: LaySection) -> cloth.Lay:
    """A section as a lay of its own, its only section numbered 0."""
    return snapshot.thaw_lay(bytes(section.data))


def drawn_section(section: LaySection) -> cloth.Lay:
    """A section as a lay of its own that keeps the section's number, so that a drawing is headed by it."""
    alone, number = section_lay(section), section.number - 1
    placements = tuple(replace(p, section=number) for p in alone.placements)
    return replace(alone, sections=(cloth.Section(number, alone.sections[0].length_mm),), placements=placements)


def ask_for_plan(lay: Lay) -> Job:
    """Put the planning that the lay now awaits in the list of background work; inside the transaction that wants it."""
    return jobs.enqueue(kind=KIND, key=job_key(lay), payload={"lay": lay.pk, "plan": lay.plan})


def job_key(lay: Lay) -> str:
    """The key of the job that plans what the lay awaits."""
    return f"lay {lay.number} plan {lay.plan}"


def await_plan(lay: Lay, *, steps: int | None = None) -> None:
    """Send a lay back to be planned; whatever planning is under way will be discarded."""
    Lay.objects.filter(pk=lay.pk).update(plan=F("plan") + 1, trouble="", **({} if steps is None else {"steps": steps}))
    if lay.state == LayState.PLANNED:
        move_to(lay, LayState.PLANNING, LAY)
    elif lay.state != LayState.PLANNING:
        raise Conflict(f"{lay} is {lay.get_state_display()}: it cannot be planned again")
    LaySection.objects.filter(lay=lay, cut_at__isnull=True).update(roll=None, start_mm=None)
    lay.refresh_from_db()
    ask_for_plan(lay)


def take_off(*, ticket: Ticket, now: datetime, by: User | None) -> None:
    """A sail leaves the lay that it is on: what is cut stays, the rest is laid again without it. Nothing happens when it is on none."""
    row = LaySail.objects.filter(ticket=ticket, out=False).select_related("lay").first()
    if row is None:
        return
    lay = row.lay
    with transaction.atomic():
        versions.take(lay, None)
        LaySail.objects.filter(pk=row.pk).update(out=True)
        audit.record("take_off_lay", lay, by=by, after={"ticket": ticket.number})
        _after_leaving(Lay.objects.get(pk=lay.pk), now)


def uncut(lay: Lay) -> dict[str, tuple[Part, ...]]:
    """The body parts that are still to be cut, by the letter of their sail; sails that were taken off are not in it."""
    here = {row.letter for row in LaySail.objects.filter(lay=lay, out=False)}
    cut = {
        (placed.sail, placed.part_id)
        for section in LaySection.objects.filter(lay=lay, cut_at__isnull=False)
        for placed in section_lay(section).placements
    }
    wanted = {
        letter: tuple(p for p in design.parts if p.material == lay.cloth_code and (letter, p.id) not in cut)
        for letter, design in designs(lay).items()
        if letter in here
    }
    return {letter: own for letter, own in wanted.items() if own}


def one_after_another(lay: Lay, sails: Mapping[str, Sequence[Part]], laid: Laid) -> tuple[cloth.Lay, ...]:
    """The sails' own lays in a row as one lay, if none of these sails is cut in part."""
    own = {letter: next(one for one in laid[letter].lays if one.material == lay.cloth_code) for letter in sails}
    if any(len(parts_left) != len(own[letter].placements) for letter, parts_left in sails.items()):
        return ()
    return (cloth.in_a_row([cloth.of_sail(one, letter) for letter, one in own.items()]),)


def keep(lay: Lay, wanted: int, found: cloth.Lay | None, pieces: Sequence[OnRemnant] = (), *, now: datetime) -> bool:
    """Audit a planned lay and put its sections after those that are cut, those on remnants first.

    found: None where all that is left to cut comes off remnants. False when the lay awaits another planning by now.
    """
    laid = designs(lay)
    all_parts = parts(laid)
    _audit(lay, found, pieces, next(iter(laid.values())))
    with transaction.atomic():
        if not Lay.objects.filter(pk=lay.pk, state=LayState.PLANNING, plan=wanted).exists():
            return False
        try:
            versions.take(lay, None)
            move_to(lay, LayState.PLANNED, LAY, planned_at=now, trouble="")
        except Conflict:
            return False
        first = 1 + max(LaySection.objects.filter(lay=lay, cut_at__isnull=False).values_list("number", flat=True), default=0)
        LaySection.objects.filter(lay=lay, cut_at__isnull=True).delete()
        sections = [_section(lay, piece.lay, first + n, piece.roll) for n, piece in enumerate(pieces)]
        sections += _sections(lay, found, all_parts, first + len(pieces)) if found else []
        LaySection.objects.bulk_create(sections)
        audit.record("plan_lay", lay, by=None, after={"sections": len(sections), "length_mm": sum(s.length_mm for s in sections)})
    return True


def _audit(lay: Lay, found: cloth.Lay | None, pieces: Sequence[OnRemnant], design: Design) -> None:
    """CostingBug unless every part that is not cut lies on a remnant (audited there) or on the lay, and the lay holds."""
    sails = uncut(lay)
    elsewhere = {(p.sail, p.part_id) for piece in pieces for p in piece.lay.placements}
    left = {letter: tuple(p for p in own if (letter, p.id) not in elsewhere) for letter, own in sails.items()}
    left = {letter: own for letter, own in left.items() if own}
    wrong = cloth.audit_lay(found, left, design.cloth, design.table) if found else ()
    if wrong or (left and found is None):
        raise CostingBug(f"{lay.number}: the lay does not hold: " + "; ".join(p.message for p in wrong))


def _sections(lay: Lay, found: cloth.Lay, all_parts: Mapping[tuple[str, str], Part], first: int) -> list[LaySection]:
    return [_section(lay, _alone(found, s.number, all_parts), first + place) for place, s in enumerate(found.sections)]


def _section(lay: Lay, alone: cloth.Lay, number: int, remnant: Roll | None = None) -> LaySection:
    """remnant: what the section comes off already, from its start."""
    return LaySection(
        lay=lay, number=number, data=snapshot.freeze_lay(alone), length_mm=math.ceil(alone.length_mm), bound_mm=math.floor(alone.bound_mm),
        roll=remnant, start_mm=0 if remnant else None,
    )  # fmt: skip


def _alone(found: cloth.Lay, section: int, all_parts: Mapping[tuple[str, str], Part]) -> cloth.Lay:
    """One section as a lay of its own."""
    here = tuple(replace(p, section=0) for p in found.placements if p.section == section)
    area = sum(cloth.net_area_mm2(all_parts[p.sail, p.part_id]) for p in here)
    length = found.sections[section].length_mm
    return cloth.Lay(found.material, found.usable_width_mm, (cloth.Section(0, length),), here, area, area / found.usable_width_mm)


def letters(count: int) -> Sequence[str]:
    """A to Z, then AA, AB, ...: one for each sail of a lay."""
    alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    return [alphabet[i] if i < 26 else alphabet[i // 26 - 1] + alphabet[i % 26] for i in range(count)]


def _after_leaving(lay: Lay, now: datetime) -> None:
    """What becomes of a lay that lost a sail: planned again if anything is left to cut, else cut or cancelled."""
    if lay.state not in (LayState.PLANNING, LayState.PLANNED):
        return
    if uncut(lay):
        await_plan(lay)
        return
    cut = LaySection.objects.filter(lay=lay, cut_at__isnull=False).order_by("-cut_at").first()
    LaySection.objects.filter(lay=lay, cut_at__isnull=True).delete()
    if cut is None:
        move_to(lay, LayState.CANCELLED, LAY, cancelled_at=now)
    else:
        if lay.state == LayState.PLANNING:
            move_to(lay, LayState.PLANNED, LAY)
        move_to(lay, LayState.CUT, LAY, cut_at=cut.cut_at)
