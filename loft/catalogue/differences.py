"""What a new edition or pattern version changes, row by row, against the one before it."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal

from costing.measurements import MEASUREMENTS
from costing.quote import Pattern
from costing.rules import ClassRule, Limit, NumberStyle, SailRule


def class_changes(old: ClassRule, new: ClassRule) -> Iterator[str]:
    """Sentences: every limit, option, text rule and word that was added, changed (old -> new) or is gone; rule numbers in brackets."""
    was, now = ({sail.kind: sail for sail in rule.sails} for rule in (old, new))
    for kind in dict.fromkeys((*was, *now)):
        name = kind.value.replace("_", " ")
        if kind not in was:
            yield f"{name}: added, {len(now[kind].limits)} limits"
        elif kind not in now:
            yield f"{name}: gone, with its {len(was[kind].limits)} limits"
        else:
            yield from (f"{name}: {said}" for said in _sail_changes(was[kind], now[kind]))
    if old.edition == new.edition:  # a corrected text
        yield from _words("in force", *(f"from {r.valid_from} to {r.valid_to or 'the next edition'}" for r in (old, new)))
    yield from _words("hull length", f"{old.hull_length_mm:f} mm", f"{new.hull_length_mm:f} mm")
    yield from _words("insignia", old.insignia, new.insignia)
    yield from _words("insignia colours", ", ".join(old.insignia_colours), ", ".join(new.insignia_colours))
    styles_was, styles_now = ({s.kind.value: _style(s) for s in rule.numbers} for rule in (old, new))
    yield from _rows("numbers", styles_was, styles_now)


def said_of(rule: ClassRule) -> Iterator[tuple[str, tuple[tuple[str, str, str], ...]]]:
    """What an edition says of each kind of sail: the kind, and (what, as printed, rule) of every limit, option and rule to check by eye."""
    for sail in rule.sails:
        limits = [(_name(x), x.printed + (f"; {x.note}" if x.note else ""), x.rule) for x in sail.limits]
        cloth = [("Permitted cloth", ", ".join(sail.permitted_cloth), sail.permitted_cloth_rule)] if sail.permitted_cloth else []
        options = [(o.option.replace("_", " ").capitalize(), o.choice.value, o.rule) for o in sail.options]
        yield sail.kind.value.replace("_", " "), (*limits, *cloth, *options, *(("By eye", e.text, e.rule) for e in sail.by_eye))


def pattern_changes(old: Pattern, new: Pattern) -> Iterator[str]:
    """Sentences: what of a pattern is added, changed (old -> new) or gone; lists are compared row by row."""
    for field in fields(Pattern):
        if field.name not in ("code", "version"):
            yield from _value_changes(field.name, getattr(old, field.name), getattr(new, field.name))


def _sail_changes(old: SailRule, new: SailRule) -> Iterator[str]:
    yield from _rows("limit", _limits(old), _limits(new))
    was, now = ({o.option: f"{o.choice.value} ({o.rule})" for o in sail.options} for sail in (old, new))
    yield from _rows("option", was, now)
    eye_was, eye_now = ({e.rule: e.text for e in sail.by_eye} for sail in (old, new))
    yield from _rows("to check by eye", eye_was, eye_now)
    yield from _words("permitted cloth", ", ".join(old.permitted_cloth), ", ".join(new.permitted_cloth))
    yield from _words("measured", old.condition, new.condition)
    counts = {True: "counts", False: "does not count"}
    yield from _words("bolt rope", counts[old.bolt_rope_counts], counts[new.bolt_rope_counts])
    was_label, now_label = (_short(sail.royalty_label) if sail.royalty_label else "" for sail in (old, new))
    yield from _words("royalty label", was_label, now_label)


def _style(style: NumberStyle) -> str:
    place = "back to back" if style.back_to_back else "starboard uppermost"
    colours = f", {' or '.join(style.colours)}" if style.colours else ""
    return f"{style.height_mm:g} mm high, {style.gap_mm:g} apart, {style.edge_mm:g} from the edge, {place}{colours} ({style.rule})"


def _limits(sail: SailRule) -> dict[str, str]:
    """Each limit as it is printed, by what it limits and when; several of one station that the rule does not state are told by number."""
    found: dict[str, str] = {}
    for limit in sail.limits:
        name, number = _name(limit), 2
        while name in found:
            name, number = f"{_name(limit)}, no. {number}", number + 1
        found[name] = f"{limit.printed} ({limit.rule})"
    return found


def _name(limit: Limit) -> str:
    called = limit.name or (f"{MEASUREMENTS[limit.measurement].label} at {limit.station}" if limit.station else "")
    name = called or MEASUREMENTS[limit.measurement].label
    if limit.corner:
        name += f", {limit.corner.value}"
    if limit.measured:
        name += f", measured {limit.measured.value}"
    if limit.certified_from or limit.certified_to:
        name += f", certified {limit.certified_from or '...'} to {limit.certified_to or '...'}"
    return name


def _rows(what: str, old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[str]:
    for name in dict.fromkeys((*old, *new)):
        if name not in old:
            yield f"{what} added: {name}, {new[name]}"
        elif name not in new:
            yield f"{what} gone: {name}, was {old[name]}"
        elif old[name] != new[name]:
            yield f"{what} changed: {name}, {old[name]} -> {new[name]}"


def _words(what: str, old: str, new: str) -> Iterator[str]:
    if old != new:
        yield f"{what} changed: {old or 'none'} -> {new or 'none'}"


def _value_changes(path: str, old: object, new: object) -> Iterator[str]:
    """Down to the single value: mappings by key, rows by their own name or by position, dataclasses by field."""
    if old == new:
        return
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        yield from _rows(path, {str(k): _short(v) for k, v in old.items()}, {str(k): _short(v) for k, v in new.items()})
    elif isinstance(old, tuple) and isinstance(new, tuple):
        yield from _tuple_changes(path, old, new)
    elif is_dataclass(old) and type(old) is type(new):
        for field in fields(old):
            yield from _value_changes(f"{path}.{field.name}", getattr(old, field.name), getattr(new, field.name))
    else:
        yield f"{path} changed: {_short(old)} -> {_short(new)}"


def _tuple_changes(path: str, old: tuple[object, ...], new: tuple[object, ...]) -> Iterator[str]:
    was, now = _named(old), _named(new)
    for name in dict.fromkeys((*was, *now)):
        if name not in was:
            yield f"{path} added: {_short(now[name])}"
        elif name not in now:
            yield f"{path} gone: {_short(was[name])}"
        else:
            yield from _value_changes(f"{path}[{name}]", was[name], now[name])
    if was.keys() == now.keys() and tuple(was) != tuple(now):
        yield f"{path} changed: in another order, {', '.join(map(str, now))}"


#: What a row of a pattern is known by.
_KEYS = ("code", "measurement", "operation", "name", "id", "corner", "label", "material")


def _named(rows: tuple[object, ...]) -> dict[Hashable, object]:
    found: dict[Hashable, object] = {}
    for position, row in enumerate(rows):
        if isinstance(row, str):
            name: Hashable = row
        else:
            known = tuple(str(getattr(row, key)) for key in _KEYS if getattr(row, key, None))
            name = " ".join(known) or position
        while name in found:
            name = f"{name} (again)"
        found[name] = row
    return found


def _short(row: object) -> str:
    """A value in plain words: "height 5750 mm, broadseam 15 mm, run out 0.45"; what a row leaves empty is not said."""
    if row is None or row == "" or row == ():
        return "none"
    if isinstance(row, bool):
        return "yes" if row else "no"
    if isinstance(row, float | Decimal):
        return f"{row:f}".rstrip("0").rstrip(".") if "." in f"{row:f}" else f"{row:f}"
    if is_dataclass(row):
        given = ((field.name, getattr(row, field.name)) for field in fields(row))
        return ", ".join(_named_value(name, value) for name, value in given if value not in (None, "", (), False))
    if isinstance(row, tuple):
        return "; ".join(map(_short, row))
    return str(row)


def _named_value(name: str, value: object) -> str:
    words, unit = name.replace("_", " "), ""
    for suffix, sign in ((" mm", " mm"), (" m2", " m2"), (" gsm", " g/m2"), (" min", " min")):
        if words.endswith(suffix):
            words, unit = words.removesuffix(suffix), sign
    return words if value is True else f"{words} {_short(value)}{unit}"
