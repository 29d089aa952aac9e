"""A class's rule edition from its file."""

from __future__ import annotations

from costing import measurements
from costing.measurements import Corner, SailKind
from costing.rules import ByEye, Choice, ClassRule, Limit, OptionRule, RoyaltyLabel, SailRule
from loft.catalogue.formats.reader import Reader, open_file


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
        hull_length_mm=head.length("hull_length"),
        authority=head.text("authority"),
        sails=tuple(_sail(t) for t in top.tables("sail", least=1)),
        insignia=head.text("insignia", ""),
    )
    if rule.valid_to is not None and rule.valid_to < rule.valid_from:
        head.wrong("valid_to", "ends_before_start", f"{rule.valid_to} is before valid_from {rule.valid_from}")
    _refuse_twice(top, [s.kind for s in rule.sails])
    top.finish()
    return rule


def _sail(t: Reader) -> SailRule:
    label = _royalty_label(t.table("royalty_label")) if t.has("royalty_label") else None
    rule = SailRule(
        kind=t.choice("kind", SailKind),
        limits=tuple(_limit(row) for row in t.tables("limits", least=1)),
        options=tuple(OptionRule(r.text("option"), r.choice("choice", Choice), r.text("rule")) for r in t.tables("options")),
        permitted_cloth=t.texts("permitted_cloth", ()),
        permitted_cloth_rule=t.text("permitted_cloth_rule", ""),
        royalty_label=label,
        by_eye=tuple(ByEye(r.text("rule"), r.sentence("text")) for r in t.tables("by_eye")),
        bolt_rope_counts=t.flag("bolt_rope_counts", True),
        condition=t.sentence("condition"),
    )
    _refuse_same_limit(t, rule)
    return rule


def _limit(row: Reader) -> Limit:
    name = measurement_name(row, "measurement", row.text("measurement"))
    unit = measurements.MEASUREMENTS[name].unit if name else None
    minimum = row.size("minimum", unit) if unit and row.has("minimum") else None
    maximum = row.size("maximum", unit) if unit and row.has("maximum") else None
    low, high = row.printed("minimum"), row.printed("maximum")
    if not low and not high:
        row.wrong("maximum", "missing", "a limit has a minimum, a maximum or both")
    if minimum is not None and maximum is not None and minimum > maximum:
        row.wrong("minimum", "above_maximum", f"{low} is more than the maximum {high}")
    return Limit(
        measurement=name,
        rule=row.text("rule"),
        minimum=minimum,
        maximum=maximum,
        printed=row.sentence("printed", _as_printed(low, high)),
        corner=row.choice("corner", Corner) if row.has("corner") else None,
        note=row.sentence("note", ""),
    )


def measurement_name(row: Reader, key: str, name: str) -> str:
    """`name` if it is in the vocabulary; else the problem is noted at `key` and the answer is empty."""
    if name in measurements.MEASUREMENTS:
        return name
    if name:
        near = measurements.nearest_name(name)
        hint = f"; did you mean {near}?" if near else f"; known are {', '.join(measurements.MEASUREMENTS)}"
        row.wrong(key, "unknown_measurement", f"{name!r} is not a measurement{hint}")
    return ""


def _as_printed(low: str, high: str) -> str:
    if low and low == high:
        return f"exactly {low}"
    return ", ".join([f"min {low}"] * bool(low) + [f"max {high}"] * bool(high))


def _royalty_label(t: Reader) -> RoyaltyLabel:
    return RoyaltyLabel(required=t.flag("required"), place=t.sentence("place"), rule=t.text("rule"))


def _refuse_same_limit(t: Reader, rule: SailRule) -> None:
    seen: dict[tuple[str, Corner | None], int] = {}
    for i, limit in enumerate(rule.limits):
        first = seen.setdefault((limit.measurement, limit.corner), i)
        if first != i and limit.measurement:
            t.wrong(f"limits[{i}].measurement", "twice", f"{limit.measurement} has a limit already, in limits[{first}]")


def _refuse_twice(top: Reader, kinds: list[SailKind]) -> None:
    for i, kind in enumerate(kinds):
        if kind in kinds[:i]:
            top.wrong(f"sail[{i}].kind", "twice", f"{kind.value} stands in sail[{kinds.index(kind)}] already")
