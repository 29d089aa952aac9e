"""The fit sheet: what of a boat is asked for so that each kind of sail fits (its rows are those of fit_items.py).

Not measured here: what nobody knows stays empty on the sheet and is said so on the ticket.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q

from costing.errors import Collector
from costing.measurements import SailKind
from loft.common import audit, idempotency, measures, policies
from loft.common.errors import NotFound
from loft.customers.fit_items import BY_CODE, GROUPS, Item, of_kind
from loft.customers.models import Boat, FitDetail, FitSheet

_LONGEST = {"value": 120, "how": 300, "taken_by": 200}


#: A row for paper: what, value, how, by whom, when.
Line = tuple[str, str, str, str, str]


@dataclass(frozen=True, slots=True)
class Row:
    """One row as it was typed; empty texts where nothing was."""

    value: str = ""
    how: str = ""
    taken_by: str = ""
    taken_on: date | None = None


def latest(boat: Boat) -> FitSheet | None:
    """The boat's newest fit sheet with its details; None while there is none."""
    return FitSheet.objects.filter(boat=boat).prefetch_related("details").order_by("-entered_at", "-pk").first()


def boat_of(*, class_code: str, sail_number: str | None, name: str, owner: str) -> Boat:
    """The stored boat of a sail, by its number, or by name and owner while that is to follow; NotFound when there is none."""
    boats = Boat.objects.filter(class_code=class_code)
    found = boats.filter(sail_number=sail_number).first() if sail_number else None
    found = found or boats.filter(name__iexact=name, owner__iexact=owner).first()
    if found is None:
        raise NotFound(f"The boat {name} of {owner} is not stored: its fit sheet has no place.")
    return found


def keep(*, boat: Boat, rows: Mapping[str, Row], by: User | None, now: datetime, made_at: str = "") -> FitSheet:
    """Store a new sheet of a boat; InputError names every row that is wrong or does not say how, by whom and when it was taken."""
    policies.require(by, "edit_customers")
    details = _details(rows)
    with transaction.atomic():
        sheet = FitSheet.objects.create(boat=boat, entered_at=now, entered_by=by.get_username() if by else "")
        for detail in details:
            detail.fit_sheet = sheet
        FitDetail.objects.bulk_create(details)
        audit.record("keep_fit_sheet", boat, by=by, after={d.item: d.value for d in details}, personal=list(BY_CODE))
        if made_at:
            idempotency.made(made_at)
    return sheet


def _details(rows: Mapping[str, Row]) -> list[FitDetail]:
    wrong, found = Collector(), []
    for code in rows.keys() - BY_CODE.keys():
        wrong.add(code, "unknown_item", f"{code!r} is not on the fit sheet: there are {', '.join(BY_CODE)}")
    for code, item in BY_CODE.items():
        row = rows.get(code, Row())
        if any((row.value, row.how, row.taken_by)):
            with wrong.under(code):
                found.append(_detail(item, row))
    if not found and not wrong:
        wrong.add("fit", "empty", "nothing is filled in")
    wrong.raise_if_any()
    return found


def _detail(item: Item, row: Row) -> FitDetail:
    wrong, mm = Collector(), None
    for field, asked in (("value", "is empty"), ("how", "say how it was taken"), ("taken_by", "say who took it")):
        text = getattr(row, field)
        if not text.strip():
            wrong.add(field, "missing", f"{item.label}: {asked}")
        elif len(text) > _LONGEST[field]:
            wrong.add(field, "too_long", f"{item.label}: at most {_LONGEST[field]} characters")
    if row.taken_on is None:
        wrong.add("taken_on", "missing", f"{item.label}: say on which day it was taken")
    if item.length and row.value.strip():
        mm = _length(item, row.value, wrong)
    wrong.raise_if_any()
    assert row.taken_on is not None
    return FitDetail(
        item=item.code, value=row.value.strip(), mm=mm, how=row.how.strip(), taken_by=row.taken_by.strip(), taken_on=row.taken_on
    )


def _length(item: Item, text: str, wrong: Collector) -> Decimal | None:
    try:
        return measures.parse_length(text).mm
    except measures.MeasureError as error:
        wrong.add("value", "not_a_length", f"{item.label}: {error}")
        return None


def lines_for(*, class_code: str, sails: Sequence[tuple[str | None, str, str, SailKind]]) -> tuple[tuple[Line, ...], ...]:
    """The newest sheet's lines for each sail's (number, boat, owner, kind), empty where there is none; two queries for them all."""
    rows = FitSheet.objects.filter(boat__class_code=class_code).filter(
        Q(boat__sail_number__in=[number for number, *_ in sails if number]) | Q(boat__name__in=[name for _, name, *_ in sails])
    )
    by_number: dict[str | None, FitSheet] = {}
    by_name: dict[tuple[str, str], FitSheet] = {}
    for sheet in rows.select_related("boat").prefetch_related("details").order_by("entered_at", "pk"):
        by_number[sheet.boat.sail_number] = sheet
        by_name[sheet.boat.name.casefold(), sheet.boat.owner.casefold()] = sheet
    found = []
    for number, name, owner, kind in sails:
        sheet_of_sail = by_number.get(number) if number and number in by_number else by_name.get((name.casefold(), owner.casefold()))
        found.append(lines(sheet_of_sail, kind) if sheet_of_sail else ())
    return tuple(found)


def lines(sheet: FitSheet, kind: SailKind) -> tuple[Line, ...]:
    """The sheet's rows for a kind of sail, for paper: what, value, how, by whom, when; a row that nobody took is told as not taken.

    Empty while nothing of what such a sail must fit was taken.
    """
    return _lines(sheet, of_kind(kind))


def grouped(sheet: FitSheet) -> tuple[tuple[str, tuple[Line, ...]], ...]:
    """The same of the whole sheet, group by group with its heading; without groups of which nothing was taken."""
    groups = ((group.heading, _lines(sheet, group.items)) for group in GROUPS)
    return tuple((heading, found) for heading, found in groups if found)


def _lines(sheet: FitSheet, items: Sequence[Item]) -> tuple[Line, ...]:
    taken = {d.item: d for d in sheet.details.all()}
    if not any(item.code in taken for item in items):
        return ()
    return tuple(_line(item, taken.get(item.code)) for item in items)


def _line(item: Item, detail: FitDetail | None) -> Line:
    if detail is None:
        return item.label, "", "not taken", "nobody", "no day"
    return item.label, detail.value, detail.how, detail.taken_by, detail.taken_on.isoformat()
