"""What a finished sail measured: readings typed in, their doubts settled by name, and each compared with the class and with the design.

The comparison is the loft's own check and no certificate. A breach holds the ticket through `rule_check`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from costing.errors import Collector, InputError, Problem
from costing.measurements import MEASUREMENTS
from costing.quote import Design, snapshot
from costing.quote import finished as costing_finished
from costing.quote.finished import EACH, FinishedRow, Key
from loft.catalogue.formats import quantities
from loft.common import audit, idempotency, measures, policies, versions
from loft.common import readings as common_readings
from loft.common import selectors as common
from loft.common.errors import Conflict
from loft.workshop import rule_check, selectors
from loft.workshop.models import FinishedSet, FinishedValue, Ticket
from loft.workshop.states import Occasion, TicketState

WHAT_TO_DO = rule_check.WHAT_TO_DO
_LONGEST_HOW = 300
_LARGEST = Decimal(10) ** 7
_EIGHT = Decimal("1e-8")
_COUNT = re.compile(r"[0-9]{1,3}")


@dataclass(frozen=True, slots=True)
class Taken:
    """Who measured, how, on which day (None: not said), and whether it was the first time."""

    on: date | None
    how: str
    by: str
    occasion: str = Occasion.FIRST


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading as it was written, and exactly in its measurement's unit."""

    text: str
    value: Decimal


@dataclass(frozen=True, slots=True)
class Finished:
    """A sail's finished measurements as they stand: every size with limit, target and reading, under the edition of its day."""

    edition: str
    on: date
    rows: tuple[FinishedRow, ...]
    printed: Mapping[Key, tuple[str, ...]]

    @property
    def to_come(self) -> tuple[FinishedRow, ...]:
        """What somebody has still to measure."""
        return tuple(row for row in self.rows if row.typed and not row.measured)

    @property
    def any_measured(self) -> bool:
        return any(row.measured for row in self.rows)

    @property
    def breached(self) -> tuple[FinishedRow, ...]:
        return tuple(row for row in self.rows if row.room is not None and row.room < 0)


def of_ticket(ticket: Ticket, *, now: datetime) -> Finished:
    """What is to be measured on a ticket's sail and what has been, under the edition of the day on which it is certified.

    A sail that is ready stays compared as it was when it became so.
    """
    design = snapshot.thaw_design(bytes(ticket.design.data))
    values, on = selectors.finished_values(ticket), rule_check.day_of(ticket, now=ticket.ready_at or now)
    rule = rule_check.rule_on(ticket, on)
    sizes = {key: tuple(value.value.normalize() for value in own) for key, own in values.items()}
    rows = costing_finished.rows(design, rule_check.pattern_of(design), rule, sizes, on=on)
    return Finished(rule.edition, on, rows, {key: tuple(value.printed for value in own) for key, own in values.items()})


def record(
    *, ticket: Ticket, readings: Mapping[str, Sequence[str]], taken: Taken, confirmed_by: str = "", by: User | None, now: datetime,
    version: int | None = None, made_at: str = "",
) -> FinishedSet:  # fmt: skip
    """Store what a finished sail measured, by the paths of its rows, and hold its ticket where that breaches the class.

    Of several readings of one size the middle one counts; at pockets and windows each does. InputError for what cannot be read or can only
    be a slip, and for what is hard to believe until somebody stands by it by name (`confirmed_by`). Conflict before the work has begun and
    after it is over. Nothing is stored with any of them.
    """
    policies.require(by, "measure_sail")
    versions.expect(ticket, version)
    _in_work(ticket)
    design, wanted = snapshot.thaw_design(bytes(ticket.design.data)), of_ticket(ticket, now=now).rows
    earlier = selectors.finished_sets(ticket).count()
    today = common.local_time(now, common.loft_profile()).date()
    found = _read(wanted, readings, taken, confirmed_by, earlier=earlier, today=today)
    counting = {key: _counting(key, several) for key, several in found.items()}
    doubts = _doubts(design, wanted, found, counting)
    if doubts and not confirmed_by.strip():
        raise InputError(
            (*doubts, Problem("confirmed_by", "not_confirmed", "what is hard to believe needs the name of somebody who stands by it"))
        )
    with transaction.atomic():
        versions.take(ticket, version)  # locks the ticket: of two who measured at once, the second sees the first
        if selectors.finished_sets(ticket).count() != earlier:
            raise Conflict(f"{ticket.number} was measured by somebody else meanwhile")
        _in_work(Ticket.objects.get(pk=ticket.pk))
        kept = FinishedSet.objects.create(
            ticket=ticket, number=earlier + 1, occasion=taken.occasion, taken_on=taken.on or today, how=taken.how.strip(),
            taken_by=taken.by.strip(), doubts=[p.message for p in doubts], confirmed_by=confirmed_by.strip() if doubts else "",
            entered_at=now, entered_by=by,
        )  # fmt: skip
        FinishedValue.objects.bulk_create(row for key in found for row in _rows(kept, key, counting[key], found[key]))
        held = rule_check.hold_what_breaches(Ticket.objects.filter(pk=ticket.pk), now=now)
        after = {
            "occasion": taken.occasion,
            "measured": sorted(map(costing_finished.path, found)),
            "doubts": len(doubts),
            "held": bool(held),
        }
        audit.record("measure_finished_sail", ticket, by=by, after=after)
        if made_at:
            idempotency.made(made_at)
    return kept


def _in_work(ticket: Ticket) -> None:
    if ticket.state != TicketState.IN_WORK:
        raise Conflict(f"{ticket.number} is {ticket.get_state_display()}: a finished sail is measured while its ticket is in work")


def _doubts(
    design: Design, wanted: Sequence[FinishedRow], found: Mapping[Key, Sequence[Reading]], counting: Mapping[Key, Sequence[Reading]]
) -> tuple[Problem, ...]:
    """What is hard to believe; InputError for what can only be a slip."""
    wrong = Collector()
    costing_finished.slips(wanted, _values(counting), wrong)
    wrong.raise_if_any()
    repeats = {key: several for key, several in _values(found).items() if len(several) > 1}
    return costing_finished.doubts(design, wanted, _values(counting), repeats)


def _values(found: Mapping[Key, Sequence[Reading]]) -> dict[Key, tuple[Decimal, ...]]:
    return {key: tuple(reading.value for reading in several) for key, several in found.items()}


def _counting(key: Key, several: Sequence[Reading]) -> tuple[Reading, ...]:
    """The readings that count: each at pockets and windows, else the middle one."""
    if key[0] in EACH:
        return tuple(several)
    return (common_readings.middle(several, by=lambda reading: reading.value),)


def _rows(kept: FinishedSet, key: Key, counting: Sequence[Reading], several: Sequence[Reading]) -> list[FinishedValue]:
    name, corner = key
    texts = [reading.text for reading in several] if len(several) > len(counting) else []
    return [
        FinishedValue(
            finished_set=kept, measurement=name, corner=corner.value if corner else "", place=place, printed=reading.text,
            value=reading.value.quantize(_EIGHT), readings=texts,
        )
        for place, reading in enumerate(counting, start=1)
    ]  # fmt: skip


def _read(
    wanted: Sequence[FinishedRow], readings: Mapping[str, Sequence[str]], taken: Taken, confirmed_by: str, *, earlier: int, today: date
) -> dict[Key, tuple[Reading, ...]]:
    wrong, found = Collector(), {}
    by_path = {costing_finished.path(row.key): row for row in wanted if row.typed}
    for path, texts in readings.items():
        row = by_path.get(path)
        if row is None:
            wrong.add(path, "unknown_measurement", f"{path!r} is not measured on this sail")
        elif given := common_readings.filled(path, texts, wrong):
            found[row.key] = tuple(_reading(path, row, text, wrong) for text in given)
    if not found and not wrong:
        wrong.add("readings", "empty", "nothing is measured")
    _check_taken(taken, confirmed_by, earlier, today, wrong)
    wrong.raise_if_any()
    return found


def _check_taken(taken: Taken, confirmed_by: str, earlier: int, today: date, wrong: Collector) -> None:
    common_readings.check_taken(taken.how, taken.by, wrong, longest_how=_LONGEST_HOW)
    if len(confirmed_by) > common_readings.LONGEST_NAME:
        told = f"has {len(confirmed_by)} characters; at most {common_readings.LONGEST_NAME} are kept"
        wrong.add("confirmed_by", "too_long", told)
    for field, text in (("how", taken.how), ("taken_by", taken.by), ("confirmed_by", confirmed_by)):
        if not text.strip().isprintable():
            wrong.add(field, "control_character", "is one line, without characters that cannot be printed")
    if taken.on is None:
        wrong.add("taken_on", "missing", "say on which day it was measured")
    elif taken.on > today:
        wrong.add("taken_on", "not_yet", f"{taken.on} is still to come")
    if taken.occasion not in Occasion.values:
        wrong.add("occasion", "unknown", f"there is no {taken.occasion[:20]!r}: say {', '.join(Occasion.values)}")
    elif (taken.occasion == Occasion.FIRST) != (earlier == 0):
        said = (
            "it was measured before: say whether again, or after a recut"
            if earlier
            else "it was not measured before: this is the first time"
        )
        wrong.add("occasion", "not_the_occasion", said)


def _reading(path: str, row: FinishedRow, text: str, wrong: Collector) -> Reading:
    try:
        value = _READERS[MEASUREMENTS[row.measurement].unit](text)
    except ValueError as error:  # a MeasureError is one
        wrong.add(path, "not_a_measure", str(error))
        return Reading(text, Decimal(0))
    if not 0 <= value < _LARGEST:
        wrong.add(path, "not_a_measure", f"{text.strip()!r} is longer than any sail")
    return Reading(text.strip(), value)


def _count(text: str) -> Decimal:
    if not _COUNT.fullmatch(text.strip()):
        raise ValueError(f"{text.strip()!r} is not a number of pieces; write it like 4")
    return Decimal(text.strip())


_READERS: Mapping[str, Callable[[str], Decimal]] = {
    "mm": lambda text: measures.parse_length(text).mm,
    "m2": quantities.area_m2,
    "g/m2": lambda text: measures.parse_cloth_weight(text).gsm,
    "count": _count,
}
