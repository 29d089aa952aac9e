"""A finished sail by the tape: what is to be measured on it, each reading beside its target and its limit, and what is hard to believe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from costing.errors import CannotDetermine, Collector, Problem
from costing.measurements import MEASUREMENTS, SPINNAKERS, Corner
from costing.quote import editions
from costing.quote.compliance import Values, compare_all
from costing.quote.pattern import Pattern
from costing.quote.priced import Design
from costing.rules import believable, compare
from costing.rules.limits import ClassRule, Limit, SailRule
from costing.rules.plausible import check_slip, check_width_order, in_words, label

#: A measurement as it is typed and kept: its value name, and the corner where corners are told apart.
Key = tuple[str, Corner | None]
Readings = Mapping[Key, tuple[Decimal, ...]]

#: Measured at every pocket or window: each reading counts. Of anything else several readings are repeats.
EACH = frozenset(
    {
        "batten_pocket_length", "batten_pocket_width", "batten_pocket_to_luff", "batten_pocket_beyond_batten",
        "batten_pocket_position_error", "batten_pocket_reinforcement", "window_to_edge",
    }
)  # fmt: skip

# When a reading is doubted. These four are ours, chosen so that a sail as it is sewn passes and a slip of the tape does not: common
# practice, no source. They are no figure of the loft's: a doubt asks for a second look and a name, it refuses nothing and costs nothing.
DOUBT_SHARE = Decimal("0.02")  # lengths, off their target, where that is also more than
_DOUBT_MM = Decimal(15)  # what tape and hand make of a short size
_DOUBT_SHARE_OTHER = Decimal("0.1")  # areas and weights
_SLIP_FROM_MM = Decimal(100)  # below this a small size may really be a fraction of its target
_EDGES = ("luff_length", "leech_length", "foot_length")


@dataclass(frozen=True, slots=True)
class FinishedRow:
    """One size of a finished sail: its limits (bounds as values where they can be computed), its targets and its readings.

    In the measurement's unit, unrounded. designed and measured are empty where there is none, and have several values where the sail has
    several such things (pockets); room: what is left of the limits, negative in a breach; computed: by a formula, nobody measures it.
    """

    name: str
    measurement: str
    corner: Corner | None
    limits: tuple[Limit, ...]
    designed: tuple[Decimal, ...]
    measured: tuple[Decimal, ...] = ()
    room: Decimal | None = None
    computed: bool = False

    @property
    def key(self) -> Key:
        return self.name, self.corner

    @property
    def typed(self) -> bool:
        """Whether a person measures it: not where it is computed, nor where the rule leaves its station open."""
        return not self.computed and not any(x.station is not None and not x.station.stated for x in self.limits)

    @property
    def deviations(self) -> tuple[Decimal, ...]:
        """Each reading less its target; empty where it is not known which reading belongs to which target."""
        if len(self.measured) != len(self.designed):
            return ()
        return tuple(m - d for m, d in zip(self.measured, self.designed, strict=True))


def path(key: Key) -> str:
    """A key as one word, for forms, programs and the paths of problems: ``half_width``, ``primary_reinforcement_size:head``."""
    name, corner = key
    return name if corner is None else f"{name}:{corner.value}"


def rows(design: Design, pattern: Pattern, rule: ClassRule, measured: Readings, *, on: date) -> tuple[FinishedRow, ...]:
    """Everything to measure on a sail under an edition on a day, lengths first, with what has been measured of it.

    pattern: the version that the design was made from.
    """
    said = rule.sail_or_none(pattern.sail_kind)
    designed = editions.values_of(design, pattern, said)
    known = {**designed, **measured}
    found: dict[tuple[Key, str], FinishedRow] = {}
    for limit in compare.limits_for(said, certified_on=on):
        if not needless(limit, design):
            for row in _of_limit(said, limit, designed, known, measured, on):
                earlier = found.get((row.key, limit.formula))
                found[row.key, limit.formula] = row if earlier is None else _both(earlier, row)
    for name in _without_limit(design, list(found.values())):
        key = (name, None)
        found[key, ""] = FinishedRow(name, name, None, (), designed.get(key, ()), measured.get(key, ()))
    return tuple(sorted(found.values(), key=lambda row: MEASUREMENTS[row.measurement].unit != "mm"))


def as_designed(design: Design, to_measure: Sequence[Limit]) -> tuple[FinishedRow, ...]:
    """The same from what is stored with a design alone, before anybody measures: its limits, and those that it has no value for."""
    of_limits = [
        FinishedRow(r.limit.value_name, r.limit.measurement, r.limit.corner, (r.limit,), (r.value,), computed=bool(r.limit.formula))
        for r in sorted(design.headroom, key=lambda r: MEASUREMENTS[r.limit.measurement].unit != "mm")
    ]
    without = [FinishedRow(x.value_name, x.measurement, x.corner, (x,), (), computed=bool(x.formula)) for x in to_measure]
    sizes = dict(design.sizes)
    rest = [FinishedRow(n, n, None, (), (sizes[n],)) for n in _without_limit(design, [*of_limits, *without])]
    return (*of_limits, *without, *rest)


def needless(limit: Limit, design: Design) -> bool:
    """Whether a limit is on something that the sail has none of, or on the rig."""
    kinds = {part.kind for part in design.parts}
    without = (*(() if "window" in kinds else ("window_",)), *(() if "pocket" in kinds else ("batten_", "top_pocket_")))
    return MEASUREMENTS[limit.measurement].of_rig or limit.measurement.startswith(without)


def slips(wanted: Sequence[FinishedRow], readings: Readings, wrong: Collector) -> None:
    """Add every length that can only be a slip of the pen or of the unit: 10, 25.4, 100 or 1000 times off its target or its limit."""
    by_key = {row.key: row for row in wanted}
    for key, values in readings.items():
        row = by_key[key]
        if MEASUREMENTS[row.measurement].unit != "mm":
            continue
        compared = ((value, reference, what) for value in values for reference, what in _references(row))
        for value, reference, what in compared:
            if _slipped(row, value, reference, what, wrong):
                break


def doubts(design: Design, wanted: Sequence[FinishedRow], readings: Readings, repeats: Readings) -> tuple[Problem, ...]:
    """What should be measured again, or stood by by name: sizes off their target, repeats apart, widths that grow towards the head.

    readings: what counts; repeats: every reading of what was taken more than once.
    """
    wrong = Collector()
    by_key = {row.key: row for row in wanted}
    for key, values in readings.items():
        for value, target in zip(values, by_key[key].designed, strict=False):
            _off(by_key[key], value, target, wrong)
    if design.outline.kind not in SPINNAKERS:
        check_width_order({name: values[0] for (name, corner), values in readings.items() if corner is None}, wrong)
    several = {name: values for (name, corner), values in repeats.items() if corner is None and name not in EACH}
    return (*wrong, *believable.doubts(design.outline.kind, {}, repeats=several))


def _slipped(row: FinishedRow, value: Decimal, reference: Decimal, what: str, wrong: Collector) -> bool:
    if reference < _SLIP_FROM_MM or (what == "limit of" and value <= reference):
        return False
    return check_slip(path(row.key), value, reference, what, wrong)


def _references(row: FinishedRow) -> Iterator[tuple[Decimal, str]]:
    if row.designed:
        yield max(row.designed), "target of"
        return
    yield from ((limit.maximum, "limit of") for limit in row.limits if limit.maximum is not None)


def _off(row: FinishedRow, value: Decimal, target: Decimal, wrong: Collector) -> None:
    unit = MEASUREMENTS[row.measurement].unit
    off, share = abs(value - target), DOUBT_SHARE if unit == "mm" else _DOUBT_SHARE_OTHER
    counted = unit == "count"
    if (off > 0 if counted else off > share * target) and (unit != "mm" or off > _DOUBT_MM):
        called = f"{label(row.measurement)}{f' at the {row.corner.value}' if row.corner else ''}"
        how_far = "" if counted or not target else f", {off / target * 100:.1f} % off"
        seen = in_words(value.quantize(Decimal("0.1")) if unit == "mm" else value, unit)
        meant = in_words(target.quantize(Decimal("0.1")) if unit == "mm" else target, unit)
        wrong.add(path(row.key), "off_the_design", f"{called} {seen} stands against a target of {meant}{how_far}: measure it again")


def _of_limit(
    rule: SailRule, limit: Limit, designed: Values, known: Values, measured: Readings, on: date
) -> Iterator[FinishedRow]:  # fmt: skip
    """A row for a limit; for each corner where the sail has the thing at every corner and the limit tells none apart."""
    name, alone = limit.value_name, replace(rule, limits=(limit,))
    corners = [corner for found, corner in designed if found == name and limit.corner in (None, corner)] or [limit.corner]
    for corner in corners:
        key = (name, corner)
        own = {k: v for k, v in known.items() if k[0] != name or k == key}
        rooms = compare_all(alone, own, on=on)
        told = rooms and (measured.get(key) or editions.names_in(limit) & {found for found, _ in measured})
        yield FinishedRow(
            name=name, measurement=limit.measurement, corner=corner,
            limits=(replace(rooms[0].limit, corner=corner) if rooms else _resolved(limit, own),),
            designed=tuple(r.value for r in compare_all(alone, designed, on=on)) if limit.formula else designed.get(key, ()),
            measured=(rooms[0].value,) if told and limit.formula else measured.get(key, ()),
            room=rooms[0].room if told else None, computed=bool(limit.formula),
        )  # fmt: skip


def _resolved(limit: Limit, values: Values) -> Limit:
    try:
        return compare.resolved(limit, {name: found[0] for (name, corner), found in values.items() if corner is None and len(found) == 1})
    except CannotDetermine:
        return limit


def _both(one: FinishedRow, other: FinishedRow) -> FinishedRow:
    """Two limits on one size: what is left is what the stricter leaves."""
    left = [room for room in (one.room, other.room) if room is not None]
    return replace(one, limits=(*one.limits, *other.limits), room=min(left, default=None))


def _without_limit(design: Design, limited: Sequence[FinishedRow]) -> Iterator[str]:
    """The edges that the class does not limit and what its formulas compute with; of a sail that it does not limit at all every size."""
    names = {row.name for row in limited}
    wanted = {*_EDGES, *(name for row in limited for limit in row.limits for name in editions.names_in(limit))}
    yield from (name for name, _ in design.sizes if name not in names and (name in wanted or not limited))
