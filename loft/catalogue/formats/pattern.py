"""The loft's pattern for one sail from its file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from costing import measurements
from costing.errors import Problem, did_you_mean
from costing.measurements import SPINNAKERS, SailKind
from costing.quote import Pattern, PatternOption
from costing.rules import Choice, Margin
from costing.sail import LuffCurve
from costing.takeoff import KitItem
from loft.catalogue.formats import luff_curves
from loft.catalogue.formats.class_rule import measurement_name
from loft.catalogue.formats.make import read_make
from loft.catalogue.formats.reader import Reader, open_file

#: Options that need no row of their own: figures are the sail's, placed by the class's rule or the Racing Rules.
_MADE_WITHOUT = frozenset({"numbers"})


def read_pattern(text: str) -> Pattern:
    """The pattern version that a pattern file holds; InputError carries every problem with its path."""
    top = open_file(text)
    head, made_of, papers = top.table("pattern"), top.table("make"), top.table("quote")
    sizes = _by_measurement(top.table("sizes"))
    kind = head.choice("sail_kind", SailKind, measurements.OTHER_KINDS)
    pattern = Pattern(
        code=head.code("code"),
        version=head.integer("version", least=1),
        name=head.text("name"),
        class_code=head.code("class"),
        edition=head.code("edition"),
        sail_kind=kind,
        sizes=sizes,
        margins=tuple(Margin(name, amount) for name, amount in _by_measurement(top.table("margins")).items()),
        relax=_by_measurement(top.table("relax")) if top.has("relax") else {},
        luff_curve=_luff_curve(top, kind),
        foot_round_mm=sizes.get("foot_round", Decimal(0)),
        make=read_make(made_of),
        options=tuple(_option(row) for row in top.tables("options")),
        kit=tuple(_kit(row) for row in top.tables("kit", least=1)),
        cloths=head.texts("cloths"),
        steps=head.texts("steps"),
        included=papers.texts("included"),
        not_included=papers.texts("not_included"),
        lead_time_weeks=papers.text("lead_time_weeks", ""),
    )
    _check_options(top, pattern)
    _check_shelf(top, pattern)
    top.finish()
    return pattern


def _by_measurement(t: Reader) -> dict[str, Decimal]:
    """A table whose keys are measurement names."""
    found = {}
    for key in t.names():
        t.has(key)
        if measurement_name(t, key, key):
            found[key] = t.size(key, measurements.MEASUREMENTS[key].unit)
    return found


def _luff_curve(top: Reader, kind: SailKind) -> LuffCurve:
    if kind is not SailKind.MAINSAIL and not top.has("luff_curve"):
        return LuffCurve(())
    rows = top.tables("luff_curve", least=1)
    stations = [(row.fraction("at"), -row.length("hollow") if row.has("hollow") else row.length("forward")) for row in rows]
    try:
        return luff_curves.luff_curve(stations)
    except ValueError as error:
        top.wrong("luff_curve", "wrong_value", str(error))
        return LuffCurve(())


def _option(row: Reader) -> PatternOption:
    return PatternOption(
        code=row.code("code"),
        label=row.text("label"),
        choice=row.choice("choice", Choice),
        rule=row.text("rule", ""),
        default=row.flag("default", False),
        made_in=row.text("made_in", ""),
        free_until=row.text("free_until", ""),
    )


def _kit(row: Reader) -> KitItem:
    return KitItem(
        material=row.code("material"),
        per=row.text("per"),
        factor=row.number("factor", Decimal(1)),
        counts_as=row.text("counts_as", ""),
        option=row.text("option", ""),
        note=row.text("note", ""),
        unit=row.text("unit", ""),
        group=row.text("group", ""),
    )


def _check_options(top: Reader, pattern: Pattern) -> None:
    """Every option that the making or the kit waits for stands in the option table, and each stands there once."""
    codes = [o.code for o in pattern.options]
    for i, option in enumerate(pattern.options):
        if option.code in codes[:i]:
            top.wrong(f"options[{i}].code", "twice", f"{option.code} stands in options[{codes.index(option.code)}] already")
        if option.default and option.choice is Choice.FORBIDDEN:
            top.wrong(f"options[{i}].default", "forbidden", f"{option.code} is forbidden and cannot be the default")
        for key, step in (("made_in", option.made_in), ("free_until", option.free_until)):
            if step and step not in pattern.steps:
                said = f"{step!r} is not among the pattern's steps{did_you_mean(step, pattern.steps, listed=False)}"
                top.wrong(f"options[{i}].{key}", "unknown_step", said)
    for path, code in _options_used(pattern):
        if code and code not in codes:
            top.wrong(path, "unknown_option", f"{code!r} is not in the option table{did_you_mean(code, codes, listed=False)}")


def _check_shelf(top: Reader, pattern: Pattern) -> None:
    """A shelf is counted once, by its own seam, and a spinnaker has none."""
    if pattern.make.shelf is None:
        return
    if pattern.sail_kind in SPINNAKERS:
        top.wrong("make.shelf", "no_shelf", f"a {pattern.sail_kind.value.replace('_', ' ')} has no shelf foot")
    for i, item in enumerate(pattern.kit):
        if item.counts_as == "shelf_foot_m":
            top.wrong(f"kit[{i}].counts_as", "counted_twice", "make.shelf counts shelf_foot_m already: let this row be per it instead")


def makes_nothing(pattern: Pattern) -> Iterator[Problem]:
    """What a new version may not say (stored ones stay readable): an option that nothing is made for, a reef's height as a size."""
    used = {code for _, code in _options_used(pattern)}
    for i, option in enumerate(pattern.options):
        if option.choice is not Choice.FORBIDDEN and option.code not in used | _MADE_WITHOUT:
            yield Problem(f"options[{i}].code", "makes_nothing", _missing(option))
    if "reef_height" in pattern.sizes:
        patches = 'write from_tack (luff) and from_clew (leech) in [[make.edge_patches]] with option = "reef"'
        told = f"a reef lies where its patches do: leave this out and {patches}"
        yield Problem("sizes.reef_height", "not_a_design_size", told)


def _missing(option: PatternOption) -> str:
    """What an option lacks that nothing is made for."""
    if option.code == "reef":
        where = "edge, from_tack (at the leech from_clew), radius, layers"
        needed = f'its patches at luff and leech: [[make.edge_patches]] with name = "reef 1 luff", {where}'
    else:
        needed = "a row of [[kit]], or a patch, pocket, window, colour or hanks of [make]"
    return f'{option.label} makes nothing: it would be sold and not made. It needs {needed} and option = "{option.code}"'


def _options_used(pattern: Pattern) -> Iterable[tuple[str, str]]:
    made = pattern.make
    used = {
        "kit": [item.option for item in pattern.kit],
        "make.patches": [p.option for p in made.patches],
        "make.edge_patches": [p.option for p in made.edge_patches],
        "make.pockets": [p.option for p in made.pockets],
        "make.windows": [w.option for w in made.windows],
        "make.colours": [c.option for c in made.colours],
    }
    for table, codes in used.items():
        for i, code in enumerate(codes):
            yield f"{table}[{i}].option", code
    if made.hanks:
        yield "make.hanks.option", made.hanks.option
    if made.shelf:
        yield "make.shelf.option", made.shelf.option
