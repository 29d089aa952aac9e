"""Measurement sets that are typed in: every reading, how and by whom it was taken, and the doubts that somebody settles by name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q

from costing import measurements, rules
from costing.errors import Collector, InputError, Problem
from costing.measurements import MEASUREMENTS, SailKind
from loft.catalogue import selectors as catalogue
from loft.common import audit, idempotency, measures, policies
from loft.common import readings as common_readings
from loft.common.measures import Length
from loft.customers.models import Boat, MeasuredValue, MeasurementSet

BANDS = ("mast_band_distance", "boom_band_distance")
RIG = tuple(name for name, known in MEASUREMENTS.items() if known.of_rig)
_LONGEST_HOW = 200


@dataclass(frozen=True, slots=True)
class Taken:
    """Who measured, how and on which day."""

    on: date
    how: str
    by: str


def keep(
    *, boat: Boat, kind: SailKind, readings: Mapping[str, Sequence[str]], taken: Taken, confirmed_by: str = "", by: User | None,
    made_at: str = "",
) -> MeasurementSet:  # fmt: skip
    """Store what was measured on a boat; of several readings of one size the middle one counts.

    InputError for what cannot be read. What is hard to believe (`rules.doubts`) is refused too, until somebody stands by it by name:
    each doubt is a problem then, and one more at "confirmed_by". Nothing is stored with any of them.
    """
    policies.require(by, "edit_customers")
    lengths = _read(readings, taken)
    doubts = doubtful(kind, lengths, rig=known_rig(boat))
    if doubts and not confirmed_by.strip():
        ask = "what is hard to believe needs the name of somebody who stands by it"
        raise InputError((*doubts, Problem("confirmed_by", "not_confirmed", ask)))
    with transaction.atomic():
        kept = MeasurementSet.objects.create(
            boat=boat, taken_on=taken.on, how=taken.how.strip(), taken_by=taken.by.strip(),
            doubts=[p.message for p in doubts], confirmed_by=confirmed_by.strip() if doubts else "",
        )  # fmt: skip
        MeasuredValue.objects.bulk_create(_value(kept, name, lengths[name]) for name in lengths)
        after = {"measured": sorted(lengths), "doubts": len(doubts), "taken_by": taken.by.strip(), "confirmed_by": kept.confirmed_by}
        audit.record("keep_measurements", boat, by=by, after=after, personal=["taken_by", "confirmed_by"])
        if made_at:
            idempotency.made(made_at)
    return kept


def doubtful(kind: SailKind, lengths: Mapping[str, Sequence[Length]], *, rig: Mapping[str, Decimal]) -> tuple[Problem, ...]:
    """What should be measured again, by the rules of thumb of `costing.rules.doubts`."""
    sizes = {name: middle(found).mm for name, found in lengths.items()}
    repeats = {name: [length.mm for length in found] for name, found in lengths.items()}
    return rules.doubts(kind, sizes, rig=rig, repeats=repeats)


def known_rig(boat: Boat) -> dict[str, Decimal]:
    """P and E of a boat: as last measured on it, else where its class has one size for both bounds or a maximum."""
    of_class = class_rig(boat.class_code)
    stored = MeasuredValue.objects.filter(measurement_set__boat=boat, measurement_set__on_record=True, measurement__in=BANDS)
    return of_class | {v.measurement: v.mm.normalize() for v in stored.order_by("measurement_set__taken_on", "measurement_set")}


@dataclass(frozen=True, slots=True)
class OnRecord:
    """A size as it was last measured on a boat, exact mm; how: how, by whom and when it was taken, as papers say it."""

    mm: Decimal
    how: str


def known_rigs(*, class_code: str, sails: Sequence[tuple[str | None, str, str]]) -> tuple[dict[str, OnRecord], ...]:
    """The rig on record, as last measured on the boat of each (number, boat, owner); one query, empty where nothing was measured."""
    numbers, names = [n for n, _, _ in sails if n], [name for _, name, _ in sails]
    on_record = MeasuredValue.objects.filter(measurement_set__on_record=True, measurement__in=RIG)
    rows = on_record.filter(measurement_set__boat__class_code=class_code).filter(
        Q(measurement_set__boat__sail_number__in=numbers) | Q(measurement_set__boat__name__in=names)
    )
    found: dict[tuple[str, ...], dict[str, OnRecord]] = {}
    for value in rows.select_related("measurement_set__boat").order_by("measurement_set__taken_on", "measurement_set"):
        boat = value.measurement_set.boat
        for key in ((boat.sail_number,) if boat.sail_number else (), (boat.name.casefold(), boat.owner.casefold())):
            of_boat = found.setdefault(key, {})
            earlier = of_boat.get(value.measurement)
            if earlier is None or earlier.mm != value.mm or value.measurement_set.taken_by:  # a list that repeats it was not measured
                of_boat[value.measurement] = OnRecord(value.mm.normalize(), _taken(value.measurement_set))
    return tuple(found.get((n,) if n else (name.casefold(), owner.casefold()), {}) for n, name, owner in sails)


def _taken(kept: MeasurementSet) -> str:
    """How a set was taken, for paper; a set of a customer's list names nobody."""
    who = f"measured by {kept.taken_by} on {kept.taken_on:%Y-%m-%d}" if kept.taken_by else f"given on {kept.taken_on:%Y-%m-%d}"
    return f"{who} ({kept.how})" if kept.how else who


def class_rig(class_code: str) -> dict[str, Decimal]:
    """P and E of a class, as its newest edition limits them; empty where it does not."""
    found: dict[str, Decimal] = {}
    for rule in catalogue.editions(class_code)[:1]:
        for limit in (x for sail in rule.sails for x in sail.limits if x.measurement in BANDS and x.maximum is not None):
            found.setdefault(limit.measurement, limit.maximum or Decimal(0))
    return found


def middle(found: Sequence[Length]) -> Length:
    """The one of several readings that counts."""
    return common_readings.middle(found, by=lambda length: length.mm)


def _value(kept: MeasurementSet, name: str, found: Sequence[Length]) -> MeasuredValue:
    counts = middle(found)
    texts = [length.text.strip() for length in found] if len(found) > 1 else []
    return MeasuredValue(
        measurement_set=kept, measurement=name, printed=counts.text.strip(), unit=counts.unit, mm=counts.mm, readings=texts
    )


def _read(readings: Mapping[str, Sequence[str]], taken: Taken) -> dict[str, tuple[Length, ...]]:
    wrong, found = Collector(), {}
    for name, texts in readings.items():
        known = MEASUREMENTS.get(name)
        if known is None or known.unit != "mm":
            wrong.add(name, "unknown_measurement", f"{name!r} is not a length to measure{measurements.did_you_mean(name)}")
        elif given := common_readings.filled(name, texts, wrong):
            found[name] = tuple(_lengths(name, given, wrong))
    if not found and not wrong:
        wrong.add("readings", "empty", "nothing is measured")
    common_readings.check_taken(taken.how, taken.by, wrong, longest_how=_LONGEST_HOW)
    wrong.raise_if_any()
    return found


def _lengths(name: str, texts: Sequence[str], wrong: Collector) -> list[Length]:
    found = []
    for text in texts:
        try:
            found.append(measures.parse_length(text))
        except measures.MeasureError as error:
            wrong.add(name, "not_a_length", str(error))
    return found
