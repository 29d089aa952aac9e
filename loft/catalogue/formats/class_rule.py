"""A class's rule edition from its file."""

from __future__ import annotations

import re
from decimal import Decimal

from costing import measurements, rules
from costing.errors import InputError
from costing.measurements import Corner, SailKind
from costing.rules import (
    ByEye,
    Choice,
    ClassRule,
    LeechPoint,
    Limit,
    Measured,
    NumberStyle,
    OptionRule,
    RoyaltyLabel,
    SailRule,
    Station,
    formula,
    references,
)
from costing.rules.plausible import in_words
from loft.catalogue.formats.reader import Reader, open_file

MOST_LIMITS = 400
#: The least of a working sail's sizes in hull lengths, and the most of any: wide enough for every class seen, too narrow for inches as mm.
_LEAST_OF_HULL = {
    "luff_length": Decimal("0.4"), "leech_length": Decimal("0.4"), "foot_median": Decimal("0.4"),
    "foot_length": Decimal("0.1"), "quarter_width": Decimal("0.06"), "half_width": Decimal("0.04"), "three_quarter_width": Decimal("0.025"),
}  # fmt: skip
_MOST_OF_HULL = Decimal(3)
_INCH_MM = Decimal("25.4")
_SMALL = frozenset({SailKind.TRYSAIL, SailKind.STORM_JIB})


def read_class(text: str) -> ClassRule:
    """The rule edition that a class file holds; InputError carries every problem with its path."""
    top = open_file(text)
    head = top.table("class")
    rule = ClassRule(
        code=head.code("code"),
        name=head.text("name"),
        edition=head.code("edition"),
        valid_from=head.day("valid_from"),
        valid_to=head.optional_day("valid_to"),
        hull_length_mm=_hull_length(head),
        authority=head.text("authority"),
        sails=tuple(_sail(t) for t in top.tables("sail", least=1)),
        insignia=head.text("insignia", ""),
        numbers=tuple(_numbers(t) for t in top.tables("numbers")),
        insignia_colours=head.texts("insignia_colours", ()),
        correction=head.integer("correction", 0),
    )
    if rule.valid_to is not None and rule.valid_to < rule.valid_from:
        head.wrong("valid_to", "ends_before_start", f"{rule.valid_to} is before valid_from {rule.valid_from}")
    _refuse_twice(top, [s.kind for s in rule.sails])
    for i, style in enumerate(rule.numbers):
        if style.kind in [s.kind for s in rule.numbers[:i]] and not _kind_unread(top, f"numbers[{i}]"):
            top.wrong(f"numbers[{i}].kind", "twice", f"the numbers of a {style.kind.value} stand above already")
    _check_lengths(top, rule)
    for i, j, way in references.circles(rule.sails):
        top.wrong(f"sail[{i}].limits[{j}]", "circular", f"no value can be found for it, the formulas go round in a circle: {way}")
    top.finish()
    return rule


def _hull_length(head: Reader) -> Decimal:
    if head.has("hull_length"):
        return head.length("hull_length")
    why = "the least size of sail numbers goes by it, and limits in a wrong unit are found by it"
    head.wrong("hull_length", "missing", f"is missing: {why}. Where the rule prints none, take the builder's and say so in a comment")
    return Decimal(0)


def _numbers(t: Reader) -> NumberStyle:
    height, gap, edge = (float(t.length(key)) for key in ("height", "gap", "edge"))
    if height <= 0 and t.has("height"):
        t.wrong("height", "not_positive", "a number has a height")
    return NumberStyle(
        t.choice("kind", SailKind, measurements.OTHER_KINDS), t.text("rule"), height, gap, edge, back_to_back=t.flag("back_to_back", False),
        colours=t.texts("colours", ()),
    )  # fmt: skip


def _sail(t: Reader) -> SailRule:
    label = _royalty_label(t.table("royalty_label")) if t.has("royalty_label") else None
    kind = t.choice("kind", SailKind, measurements.OTHER_KINDS)
    storm = _storm(t.table("storm_rules"), kind) if t.has("storm_rules") else None
    rule = SailRule(
        kind=kind,
        limits=(*(storm.limits if storm else ()), *_limits(t, least=0 if t.has("storm_rules") else 1)),
        options=tuple(OptionRule(r.text("option"), r.choice("choice", Choice), r.text("rule")) for r in t.tables("options")),
        permitted_cloth=t.texts("permitted_cloth", ()),
        permitted_cloth_rule=t.text("permitted_cloth_rule", ""),
        royalty_label=label,
        by_eye=(*(storm.by_eye if storm else ()), *(ByEye(r.text("rule"), r.sentence("text")) for r in t.tables("by_eye"))),
        bolt_rope_counts=t.flag("bolt_rope_counts", True),
        condition=t.sentence("condition"),
    )
    _refuse_same_limit(t, rule)
    return rule


def _storm(t: Reader, kind: SailKind) -> SailRule | None:
    """The regulations' own limits of a storm sail, for which the file names who has checked the current text, and when."""
    by, on = t.text("checked_by", ""), t.optional_day("checked_on")
    by_certificate = t.flag("by_certificate", False)
    try:
        return rules.storm_rule(kind, checked_by=by, checked_on=on, by_certificate=by_certificate)
    except InputError as error:
        for p in error.problems:
            t.wrong(p.path, p.code, p.message)
        return None


def _limits(t: Reader, *, least: int) -> tuple[Limit, ...]:
    if t.length_of("limits") > MOST_LIMITS:
        t.wrong("limits", "too_many", f"has {t.length_of('limits')} limits; a sail has at most {MOST_LIMITS}, and none of these is read")
        return ()
    rows = t.tables("limits", least=least)
    return tuple(_limit(row) for row in rows)


def _limit(row: Reader) -> Limit:
    name = measurement_name(row, "measurement", row.text("measurement"))
    unit = measurements.MEASUREMENTS[name].unit if name else None
    exactly = _bound(row, "exactly", unit)
    minimum = exactly if exactly is not None else _bound(row, "minimum", unit)
    maximum = exactly if exactly is not None else _bound(row, "maximum", unit)
    limit = Limit(
        measurement=name,
        rule=row.text("rule"),
        minimum=minimum,
        maximum=maximum,
        printed=row.sentence("printed", _as_printed(row)),
        corner=row.choice("corner", Corner) if row.has("corner") else None,
        note=row.sentence("note", ""),
        minimum_formula=_formula(row, "minimum_formula", unit),
        maximum_formula=_formula(row, "maximum_formula", unit),
        permitted=row.sizes("permitted", unit) if unit else (),
        formula=_formula(row, "formula", unit),
        name=row.text("name", ""),
        station=_between(row) if row.text("measurement", "") == _ROUND else _station(row),
        measured=row.choice("measured", Measured) if row.has("measured") else None,
        certified_from=row.optional_day("certified_from"),
        certified_to=row.optional_day("certified_to"),
        open=row.sentence("open", ""),
    )
    _check_limit(row, limit)
    return limit


def _bound(row: Reader, key: str, unit: str | None) -> Decimal | None:
    return row.size(key, unit) if row.has(key) and unit else None


def _formula(row: Reader, key: str, unit: str | None) -> str:
    text = row.sentence(key, "")
    if text and unit:
        try:
            formula.check_unit(formula.parse(text), unit)
        except InputError as error:
            row.wrong(key, error.problems[0].code, f"{text!r}: {error.problems[0].message}")
    return text


_ROUND = "leech_round"  # taken between two points, not at one


def _station(row: Reader) -> Station | None:
    if not row.flag("station_stated", True):
        return Station()
    if not row.has("station"):
        return None
    t = row.table("station")
    start, distance = t.choice("from", Corner), t.length("distance") if t.has("distance") else None
    part = _part(t) if t.has("part") else None
    if (distance is None) == (part is None):
        t.wrong("distance", "missing", "a station has a distance from its corner or the part of the leech, one of the two")
    if start is Corner.TACK:
        t.wrong("from", "wrong_value", "a station lies on the leech: it is counted from the head or the clew")
    return Station(start, distance, part)


def _between(row: Reader) -> Station | None:
    """Two points of the leech, the upper one first."""
    if not row.has("station"):
        example = "say from which point to which, { from = 'aft_head', to = 'half' }"
        row.wrong("station", "missing", f"{example}: there are {', '.join(LeechPoint)}")
        return None
    t = row.table("station")
    upper, lower = t.choice("from", LeechPoint), t.choice("to", LeechPoint)
    order = list(LeechPoint)
    if order.index(upper) >= order.index(lower):
        t.wrong("to", "wrong_value", f"{lower.called} is not below {upper.called}: from is the upper point, to the lower one")
    return Station(between=(upper, lower))


def _part(t: Reader) -> tuple[int, int] | None:
    found = re.fullmatch(r"([1-9][0-9]?)/([1-9][0-9]?)", t.text("part"))
    if found is None or int(found[1]) >= int(found[2]):
        t.wrong("part", "wrong_value", 'should be a part of the leech such as "1/3"')
        return None
    return int(found[1]), int(found[2])


_BOUNDS = ("exactly", "minimum", "maximum", "minimum_formula", "maximum_formula", "permitted", "open")


def _check_limit(row: Reader, limit: Limit) -> None:
    given = [key for key in _BOUNDS if row.has(key)]
    if not given:
        row.wrong("maximum", "missing", "a limit has a minimum, a maximum or both")
    if "exactly" in given and len(given) > 1:
        row.wrong("exactly", "given_twice", f"exactly says both bounds; leave out {', '.join(given[1:])}")
    for side in ("minimum", "maximum"):
        if side in given and f"{side}_formula" in given:
            row.wrong(f"{side}_formula", "given_twice", f"there is a {side} as well; give one of the two")
    if limit.minimum is not None and limit.maximum is not None and limit.minimum > limit.maximum:
        row.wrong("minimum", "above_maximum", f"{row.printed('minimum')} is more than the maximum {row.printed('maximum')}")
    if limit.certified_from and limit.certified_to and limit.certified_to < limit.certified_from:
        row.wrong("certified_to", "ends_before_start", f"{limit.certified_to} is before certified_from {limit.certified_from}")
    if limit.measurement in ("ratio", "area") and not limit.formula:
        row.wrong("formula", "missing", f"{limit.measurement} is computed: say how, for example formula = 'half_width / foot_length'")
    if limit.measurement == "width" and limit.station is None:
        row.wrong("station", "missing", "say at which point of the leech, or station_stated = false where the rule does not")


def measurement_name(row: Reader, key: str, name: str) -> str:
    """`name` if it is in the vocabulary; else the problem is noted at `key` and the answer is empty."""
    if name in measurements.MEASUREMENTS:
        return name
    if name:
        hint = measurements.did_you_mean(name) or f"; there are {', '.join(measurements.MEASUREMENTS)}"
        row.wrong(key, "unknown_measurement", f"{name!r} is not a measurement{hint}")
    return ""


def _as_printed(row: Reader) -> str:
    """The bounds as they stand in the file; a permitted list and a formula too."""
    low, high, exactly = row.printed("minimum"), row.printed("maximum"), row.printed("exactly")
    if exactly or (low and low == high):
        return f"exactly {exactly or low}"
    computed_low, computed_high = row.printed("minimum_formula"), row.printed("maximum_formula")
    said = [f"min {low or computed_low}"] * bool(low or computed_low) + [f"max {high or computed_high}"] * bool(high or computed_high)
    if row.has("permitted"):
        said.append(f"one of {row.printed('permitted')}")
    return ", ".join(said) or row.printed("open") or "no bound"


def _royalty_label(t: Reader) -> RoyaltyLabel:
    return RoyaltyLabel(required=t.flag("required"), place=t.sentence("place"), rule=t.text("rule"))


def _refuse_same_limit(t: Reader, rule: SailRule) -> None:
    seen: dict[tuple[object, ...], int] = {}
    for i, limit in enumerate(rule.limits):
        when = (limit.measured, limit.certified_from, limit.certified_to)
        what = (limit.measurement, limit.corner, limit.formula, limit.station)
        first = i if limit.station == Station() else seen.setdefault((*what, *when), i)  # stations not stated may be several
        if first != i and limit.measurement:
            t.wrong(f"limits[{i}].measurement", "twice", f"{limit.measurement} has a limit already, in limits[{first}]")


def _check_lengths(top: Reader, rule: ClassRule) -> None:
    """Note edges and widths that no boat of this length carries, as when inches were read as mm."""
    if rule.hull_length_mm <= 0:
        return
    for i, sail in enumerate(rule.sails):
        for j, limit in enumerate(sail.limits):
            bound = limit.maximum or limit.minimum
            least = _LEAST_OF_HULL.get(limit.measurement)
            if least is None or not bound or sail.kind in _SMALL:
                continue
            if not least <= bound / rule.hull_length_mm <= _MOST_OF_HULL:
                inches = bound * _INCH_MM
                fits = least <= inches / rule.hull_length_mm <= _MOST_OF_HULL
                right = f": {bound:f} in would be {in_words(inches)}" if fits else ": were inches, feet or metres meant?"
                said = f"{limit.printed} does not go with a hull of {in_words(rule.hull_length_mm)}{right}"
                top.wrong(f"sail[{i}].limits[{j}].{'maximum' if limit.maximum else 'minimum'}", "looks_like_a_slip", said)


def _refuse_twice(top: Reader, kinds: list[SailKind]) -> None:
    for i, kind in enumerate(kinds):
        if kind in kinds[:i] and not _kind_unread(top, f"sail[{i}]") and not _kind_unread(top, f"sail[{kinds.index(kind)}]"):
            top.wrong(f"sail[{i}].kind", "twice", f"{kind.value} stands in sail[{kinds.index(kind)}] already")


def _kind_unread(top: Reader, table: str) -> bool:
    """Whether a table's kind is only a stand-in, because what is written there is none."""
    return any(p.path == f"{table}.kind" for p in top.problems)
