"""Cloth in hand: rolls and remnants, what is free of them, and where a lay's sections come off."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import Prefetch, QuerySet

from costing import cloth
from costing.errors import Collector, problem
from loft.common import audit, measures, policies, versions
from loft.common.errors import NotFound
from loft.workshop.models import LaySection, Roll

#: Longer than any roll that is sold: a length above it was typed in another unit.
LONGEST_MM = 500_000
_FLAW = re.compile(r"(?P<low>\S.*?)\s+to\s+(?P<high>\S.*)")


def rolls(*, cloth_code: str = "", colour: str | None = None, gone: bool = False) -> QuerySet[Roll]:
    """Rolls with the sections that come off them, remnants last, by name."""
    sections = Prefetch("sections", LaySection.objects.select_related("lay").order_by("start_mm"))
    rows = Roll.objects.filter(gone_at__isnull=not gone).prefetch_related(sections).order_by("remnant", "name")
    if cloth_code:
        rows = rows.filter(cloth_code=cloth_code)
    return rows if colour is None else rows.filter(colour=colour)


def roll(pk: int) -> Roll:
    """One roll; NotFound when there is none."""
    row = rolls().filter(pk=pk).first() or rolls(gone=True).filter(pk=pk).first()
    if row is None:
        raise NotFound(f"there is no roll {pk}")
    return row


def as_costed(row: Roll, *, keep_clear: Iterable[LaySection] = ()) -> cloth.Roll:
    """The roll as the calculation takes it: what sections hold already is kept clear like a flaw. keep_clear: sections to ignore there."""
    ignored = {section.pk for section in keep_clear}
    taken = [
        (float(s.start_mm or 0), float((s.start_mm or 0) + (s.actual_mm or s.length_mm))) for s in row.sections.all() if s.pk not in ignored
    ]
    flaws = tuple((float(low), float(high)) for low, high in row.flaws)
    return cloth.Roll(row.name, row.lot, float(row.length_mm), (*flaws, *taken), row.remnant)


def free_mm(row: Roll) -> int:
    """How much of a roll no section holds and no flaw spoils, mm."""
    known = as_costed(row)
    free, at = 0.0, 0.0
    for low, high in (*sorted(known.flaws), (known.length_mm, known.length_mm)):
        free += max(0.0, min(low, known.length_mm) - at)
        at = max(at, high)
    return int(free)


def read_flaws(text: str) -> list[list[int]]:
    """Flaws as people write them, one a line or parted by ";": "7.4 m to 7.6 m". InputError lists every one that cannot be read."""
    found, wrong = list[list[int]](), Collector()
    for piece in (p.strip() for p in re.split(r"[;\n]", text)):
        if not piece:
            continue
        match = _FLAW.fullmatch(piece)
        if match is None:
            wrong.add("flaws", "unreadable", f"{piece!r} is no stretch of a roll; write it like 7.4 m to 7.6 m")
            continue
        try:
            low, high = (int(measures.parse_length(match[end]).mm) for end in ("low", "high"))
        except measures.MeasureError as error:
            wrong.add("flaws", "unreadable", f"{piece!r}: {error}")
            continue
        if low >= high:
            wrong.add("flaws", "backwards", f"{piece!r} ends before it begins; write the smaller figure first")
        found.append([low, high])
    wrong.raise_if_any()
    return found


def book_roll(
    *, name: str, cloth_code: str, colour: str, lot: str, length_mm: int, usable_width_mm: int, now: datetime, by: User | None,
    flaws: Sequence[Sequence[int]] = (), remnant: bool = False,
) -> Roll:  # fmt: skip
    """Take a roll or a remnant into the loft's stock; InputError with everything that is wrong with it."""
    policies.require(by, "confirm_cloth")
    told = {"name": name, "cloth_code": cloth_code, "lot": lot}
    _refuse(told, length_mm, usable_width_mm, flaws)
    try:
        with transaction.atomic():
            row = Roll.objects.create(
                name=name.strip(), cloth_code=cloth_code.strip(), colour=colour.strip(), lot=lot.strip(), length_mm=length_mm,
                usable_width_mm=usable_width_mm, flaws=[list(f) for f in flaws], remnant=remnant, booked_at=now,
            )  # fmt: skip
            audit.record("book_roll", row, by=by, after=_said(row))
    except IntegrityError as error:
        raise problem("name", "taken", f"there is a roll {name.strip()!r} already; give this one another name") from error
    return row


def note_flaws(*, row: Roll, flaws: Sequence[Sequence[int]], by: User | None, version: int | None = None) -> None:
    """Say which stretches of a roll are to be kept clear; sections that lie there already stay until they are put elsewhere."""
    policies.require(by, "confirm_cloth")
    versions.expect(row, version)
    _refuse({"name": row.name, "cloth_code": row.cloth_code, "lot": row.lot}, row.length_mm, row.usable_width_mm, flaws)
    with transaction.atomic():
        versions.take(row, version)
        after = [list(f) for f in flaws]
        Roll.objects.filter(pk=row.pk).update(flaws=after)
        audit.record("note_flaws", row, by=by, before={"flaws": row.flaws}, after={"flaws": after})
    row.flaws = after


def put_away(*, row: Roll, now: datetime, by: User | None, version: int | None = None) -> None:
    """A roll is used up or gone; sections that were to come off it and are not cut are put on no roll."""
    policies.require(by, "confirm_cloth")
    versions.expect(row, version)
    with transaction.atomic():
        versions.take(row, version)
        LaySection.objects.filter(roll=row, cut_at__isnull=True).update(roll=None, start_mm=None)
        Roll.objects.filter(pk=row.pk).update(gone_at=now)
        audit.record("roll_gone", row, by=by, after={"gone_at": now})
    row.gone_at = now


def _said(row: Roll) -> dict[str, Any]:
    return audit.values(row, "cloth_code", "colour", "lot", "length_mm", "usable_width_mm", "flaws", "remnant")


def _refuse(told: dict[str, str], length_mm: int, width_mm: int, flaws: Sequence[Sequence[int]]) -> None:
    wrong = Collector()
    for field, text in told.items():
        if not text.strip():
            wrong.add(field, "missing", f"give the {field.removesuffix('_code')} of the roll")
    if not 0 < length_mm <= LONGEST_MM:
        said = f"a roll is up to {LONGEST_MM / 1000:,.0f} m long; {length_mm / 1000:,.1f} m cannot be right"
        wrong.add("length_mm", "impossible", said)
    if not 0 < width_mm <= 5000:
        wrong.add("usable_width_mm", "impossible", f"a usable width is between 1 and 5,000 mm; {width_mm:,} mm cannot be right")
    for low, high in flaws:
        if not 0 <= low < high <= length_mm:
            wrong.add("flaws", "outside", f"{low:,} to {high:,} mm does not lie on a roll of {length_mm:,} mm")
    wrong.raise_if_any()
