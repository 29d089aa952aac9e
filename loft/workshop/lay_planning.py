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
from loft.workshop import lay_cloths
from loft.workshop.lay_remnants import OnRemnant
from loft.workshop.models import Lay, LaySail, LaySection, Roll, Ticket
from loft.workshop.states import LAY, LayState

KIND = "lay"
#: A rectangle smaller than this is not worth keeping (common practice, no source).
LEAST_REMNANT_MM = (600, 300)

Laid = Mapping[str, Design]  # by the letter of each sail on the lay
AllParts = Mapping[tuple[str, str], Part]  # by the sail's letter and the part's id


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


def roll(lay: Lay, laid: Laid) -> cloth.Cloth:
    """The cloth or film that the lay is cut from, by the first of its designs."""
    return lay_cloths.roll(next(iter(laid.values())), lay.cloth_code)


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


def await_plan(lay: Lay) -> None:
    """Send a lay back to be planned; whatever planning is under way will be discarded."""
    Lay.objects.filter(pk=lay.pk).update(plan=F("plan") + 1, trouble="")
    if lay.state == LayState.PLANNED:
        move_to(lay, LayState.PLANNING, LAY)
    elif lay.state != LayState.PLANNING:
        raise Conflict(f"{lay} is {lay.get_state_display()}: it cannot be planned again")
    LaySection.objects.filter(lay=lay, cut_at__isnull=True).update(roll=None, start_mm=None)
    lay.refresh_from_db()
    ask_for_plan(lay)


def take_off(*, ticket: Ticket, now: datetime, by: User | None) -> None:
    """A sail leaves every lay that it is on: what is cut stays, the rest is laid again without it. Nothing happens when it is on none."""
    with transaction.atomic():
        for row in LaySail.objects.filter(ticket=ticket, out=False).select_related("lay").order_by("lay_id"):
            versions.take(row.lay, None)
            LaySail.objects.filter(pk=row.pk).update(out=True)
            audit.record("take_off_lay", row.lay, by=by, after={"ticket": ticket.number})
            _after_leaving(Lay.objects.get(pk=row.lay_id), now)


def uncut(lay: Lay) -> dict[str, tuple[Part, ...]]:
    """The parts that are still to be cut, by the letter of their sail: of a remake only its own, of a sail that was taken off none."""
    laid = designs(lay)
    cut = {
        (placed.sail, placed.part_id)
        for section in LaySection.objects.filter(lay=lay, cut_at__isnull=False)
        for placed in section_lay(section).placements
    }
    wanted = {
        row.letter: tuple(
            part
            for part in lay_cloths.parts_of(laid[row.letter], lay.cloth_code, row.slots)
            if (row.letter, part.id) not in cut and (row.remake is None or part.id in row.remake.parts)
        )
        for row in LaySail.objects.filter(lay=lay, out=False).select_related("remake").order_by("pk")
    }
    return {letter: own for letter, own in wanted.items() if own}


def one_after_another(lay: Lay, sails: Mapping[str, Sequence[Part]], laid: Laid) -> tuple[cloth.Lay, ...]:
    """The sails' own lays in a row as one lay, if each of these sails is still to be cut whole."""
    slots = dict(LaySail.objects.filter(lay=lay, letter__in=list(sails)).values_list("letter", "slots"))
    own = {
        letter: cloth.in_a_row([one for one in laid[letter].lays if one.material == lay.cloth_code and one.colour in slots[letter]])
        for letter in sails
    }
    if any(len(parts_left) != len(own[letter].placements) for letter, parts_left in sails.items()):
        return ()
    return (cloth.in_a_row([cloth.of_sail(one, letter) for letter, one in own.items()]),)


def keep(lay: Lay, wanted: int, found: cloth.Lay | None, pieces: Sequence[OnRemnant] = (), *, now: datetime) -> bool:
    """Audit a planned lay and put its sections after those that are cut, those on remnants first.

    found: None where all that is left to cut comes off remnants. False when the lay awaits another planning by now, as it does where
    somebody else has taken one of the remnants meanwhile.
    """
    laid = designs(lay)
    all_parts = parts(laid)
    _audit(lay, found, pieces, laid)
    with transaction.atomic():
        if not Lay.objects.filter(pk=lay.pk, state=LayState.PLANNING, plan=wanted).exists():
            return False
        if not _still_whole(pieces):
            await_plan(Lay.objects.get(pk=lay.pk))
            return False
        try:
            versions.take(lay, None)
            move_to(lay, LayState.PLANNED, LAY, planned_at=now, trouble="")
        except Conflict:
            return False
        first = 1 + max(LaySection.objects.filter(lay=lay, cut_at__isnull=False).values_list("number", flat=True), default=0)
        LaySection.objects.filter(lay=lay, cut_at__isnull=True).delete()
        sections = [_section(lay, piece.lay, all_parts, first + n, piece.roll) for n, piece in enumerate(pieces)]
        sections += _sections(lay, found, laid, first + len(pieces)) if found else []
        LaySection.objects.bulk_create(sections)
        audit.record("plan_lay", lay, by=None, after={"sections": len(sections), "length_mm": sum(s.length_mm for s in sections)})
    return True


def _still_whole(pieces: Sequence[OnRemnant]) -> bool:
    """Take the remnants for this lay, in the transaction that keeps it; False where one was changed or taken since it was read."""
    try:
        for piece in sorted(pieces, key=lambda each: each.roll.pk):
            versions.take(piece.roll, piece.roll.version)
    except Conflict:
        return False
    return True


def _audit(lay: Lay, found: cloth.Lay | None, pieces: Sequence[OnRemnant], laid: Laid) -> None:
    """CostingBug unless every part that is not cut lies on a remnant (audited there) or on the lay, and the lay holds."""
    sails = uncut(lay)
    elsewhere = {(p.sail, p.part_id) for piece in pieces for p in piece.lay.placements}
    left = {letter: tuple(p for p in own if (letter, p.id) not in elsewhere) for letter, own in sails.items()}
    left = {letter: own for letter, own in left.items() if own}
    wrong = cloth.audit_lay(found, left, roll(lay, laid), next(iter(laid.values())).table) if found else ()
    if wrong or (left and found is None):
        raise CostingBug(f"{lay.number}: the lay does not hold: " + "; ".join(p.message for p in wrong))


def _sections(lay: Lay, found: cloth.Lay, laid: Laid, first: int) -> list[LaySection]:
    all_parts, on, table = parts(laid), roll(lay, laid), next(iter(laid.values())).table
    alone = (_alone(found, section.number, all_parts, on, table) for section in found.sections)
    return [_section(lay, each, all_parts, first + place) for place, each in enumerate(alone)]


def _section(lay: Lay, alone: cloth.Lay, all_parts: AllParts, number: int, remnant: Roll | None = None) -> LaySection:
    """remnant: what the section comes off already, from its start."""
    left = [[r.x, r.y, r.length_mm, r.width_mm] for r in remnants(alone, all_parts)]
    return LaySection(
        lay=lay, number=number, data=snapshot.freeze_lay(alone), length_mm=math.ceil(alone.length_mm), bound_mm=math.floor(alone.bound_mm),
        remnants=left, roll=remnant, start_mm=0 if remnant else None,
    )  # fmt: skip


def remnants(alone: cloth.Lay, all_parts: AllParts) -> tuple[cloth.Remnant, ...]:
    """The rectangles that a section leaves over and that are worth keeping, the largest first: slow, so they are kept with the section."""
    length, width = LEAST_REMNANT_MM
    return cloth.remnants(alone, 0, all_parts, least_length_mm=length, least_width_mm=width)


def _alone(found: cloth.Lay, section: int, all_parts: AllParts, on: cloth.Cloth, table: cloth.Table) -> cloth.Lay:
    """One section as a lay of its own."""
    here = tuple(replace(p, section=0) for p in found.placements if p.section == section)
    own = [all_parts[p.sail, p.part_id] for p in here]
    area, bound = sum(cloth.net_area_mm2(part) for part in own), cloth.least_length_mm(own, on, table)
    return cloth.Lay(found.material, found.usable_width_mm, (cloth.Section(0, found.sections[section].length_mm),), here, area, bound)


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
