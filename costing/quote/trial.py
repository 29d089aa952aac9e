"""Trying a pattern before it is stored: whether a sail of it could be quoted by what the loft has loaded, and what such a sail needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal

from costing import cloth, rules, takeoff, work
from costing.cloth import cuts
from costing.cloth.lay import Table
from costing.cloth.make import Make
from costing.cloth.part import Cloth, Orientation
from costing.errors import Collector, InputError, Problem, did_you_mean
from costing.measurements import MEASUREMENTS
from costing.money import Currency
from costing.prices.lists import SupplierList
from costing.prices.lookup import supplier_unit
from costing.quote import design, numbering, on_the_rig, other_sizes, pattern_gaps, pattern_rows
from costing.quote.cloth_rules import check_cloth
from costing.quote.pattern import Pattern
from costing.quote.priced import Design
from costing.quote.request import House, MarginPolicy, Terms
from costing.rules.compare import ON_ORDER, breach_in_words
from costing.rules.limits import Choice, ClassRule
from costing.rules.plausible import in_words, label
from costing.sail import SailShape
from costing.work.standards import LabourStandards

#: What proposed seams keep free for boats of other sizes, the most that goes without one more panel (the loft's own choice, no source).
_SPARE_MM = (20.0, 10.0, 5.0)


@dataclass(frozen=True, slots=True)
class Bench:
    """What a pattern is tried with; labour None, cloths and lists empty: not loaded yet, and not tried."""

    class_rule: ClassRule
    cloths: Mapping[str, Cloth]
    lists: tuple[SupplierList, ...]
    labour: LabourStandards | None = None
    table: Table = field(default_factory=Table)
    names: Mapping[str, str] = field(default_factory=dict)  # of materials, as the lists have them


@dataclass(frozen=True, slots=True)
class Tried:
    """What a trial says, in sentences: what a sail measures and needs, and what whoever loads the pattern must know before selling one."""

    said: tuple[str, ...]
    warnings: tuple[str, ...]


def try_pattern(pattern: Pattern, bench: Bench, wrong: Collector) -> Tried:
    """Design a sail of each cloth at the class's targets, as the pattern has it by default and with every option.

    Adds to `wrong` everything for which no sail could be quoted, paths as in the pattern's file. What could not be tried, because a list
    is not loaded or a size is left to each boat, and what only some boats could have, are warnings.
    """
    house, found, warnings = _house(pattern, bench), Collector(), list[str]()
    _check_sizes(house, found)
    _check_work(pattern, bench.labour, found)
    if bench.lists:
        _check_materials(house, found)
    tried = list[Design]()
    said = tuple(_sails(house, bench, found, warnings, tried))
    warnings += pattern_gaps.told(pattern, tried, bench.labour, bench.names, numbers=_may_wear_numbers(house))
    warnings += numbering.other_sizes(house, bench.names)
    told = dict.fromkeys(Problem(pattern_rows.in_file(p.path, pattern), p.code, p.message.removesuffix(f"; {ON_ORDER}")) for p in found)
    wrong.extend(Problem(p.path, p.code, f"{pattern.code}: {p.message}") for p in told)
    return Tried(said, tuple(dict.fromkeys(warnings)))


def propose(pattern: Pattern, bench: Bench) -> Make:
    """The pattern's making with seams that use the first cloth's whole width; InputError where there is no sail."""
    house = _house(pattern, bench)
    return _proposed(design.shaped(house).shape, pattern.make, _bodies(house)[0])


def _proposed(shape: SailShape, make: Make, body: Cloth) -> Make:
    """Seams with as much to spare for boats of other sizes as takes no panel more."""
    tight = cloth.with_proposed_seams(shape, make, body)
    for spare in _SPARE_MM:
        try:
            found = cloth.with_proposed_seams(shape, make, body, spare)
        except InputError:
            continue
        if len(found.seams) + len(found.foot_seams) == len(tight.seams) + len(tight.foot_seams):
            return found
    return tight


def _house(pattern: Pattern, bench: Bench) -> House:
    """A house that can design and price nothing: what is no part of a trial is empty."""
    nothing = Decimal(0)
    labour = bench.labour or LabourStandards("", "", nothing, Decimal(1), nothing, ())
    known = dict(bench.cloths)
    for code in design.materials_named(pattern.make) - known.keys():
        known[code] = replace(_stand_in(pattern, bench.class_rule), code=code, role="film")
    return House(
        class_rule=bench.class_rule, pattern=pattern, cloths=known, lists=bench.lists, labour=labour,
        terms=Terms("", (), nothing, nothing, 0, 0, None, "", ()), margins=MarginPolicy(nothing, nothing, nothing), taxes=(),
        sail_tax="", pass_through=(), table=bench.table, currency=Currency("XXX"),
    )  # fmt: skip


def _stand_in(pattern: Pattern, rule: ClassRule) -> Cloth:
    """A roll as wide as the pattern says, as heavy as the class wants it and turned as its cut does, where no list describes the cloth."""
    suits = cuts.cut_of(pattern.make).ORIENTATIONS
    turned = next(o for o in Orientation if o in suits)
    width = pattern.make.roll_width_mm
    code = pattern.cloths[0] if pattern.cloths else ""
    weight = rule.sail_or_none(pattern.sail_kind).limit("cloth_weight")
    gsm = float((weight.minimum or weight.maximum or 0) if weight else 0)
    usable = max(width - 15, 1)  # as where a list does not say it
    return Cloth(code, code, "", "", width, usable, gsm, turned, same_faced=False, colours=())


def _bodies(house: House) -> tuple[Cloth, ...]:
    """The cloths that the pattern names and a list describes; one as wide as its roll where there is none."""
    known = (house.cloths.get(code) for code in house.pattern.cloths)
    return tuple(c for c in known if c is not None and c.role == "body") or (_stand_in(house.pattern, house.class_rule),)


def _check_sizes(house: House, found: Collector) -> None:
    """The pattern's own sizes against the fixed limits of the class: one outside would be overruled unseen, or break the class."""
    rule = on_the_rig.without_rig(house.class_rule.sail_or_none(house.pattern.sail_kind))
    sizes = {name: value for name, value in house.pattern.sizes.items() if name in MEASUREMENTS}
    for breach in rules.breaches(rule, sizes):
        if breach.measurement in sizes:
            found.add(f"sizes.{breach.measurement}", f"outside_{breach.side}", breach_in_words(breach))


def _check_work(pattern: Pattern, labour: LabourStandards | None, found: Collector) -> None:
    with found.under(""):
        takeoff.check_kit(pattern.kit)
    if labour is None:
        return
    known = [standard.operation for standard in labour.operations]
    for i, step in enumerate(pattern.steps):
        if step not in known:
            said = f"{step!r} is no operation of the house's labour standards {labour.version}{did_you_mean(step, known, listed=False)}"
            found.add(f"pattern.steps[{i}]", "unknown_step", said)
    with found.under(""):
        work.check_standards(labour, (item.counts_as for item in pattern.kit if item.counts_as))


def _check_materials(house: House, found: Collector) -> None:
    """Cloths, films and kit against the lists: known at all, sold in the unit that they are counted in, allowed by the class."""
    pattern, units = house.pattern, _units(house.lists)
    described = {code for code in house.cloths if code in units} | {c.code for c in house.cloths.values() if c.construction}
    for i, code in enumerate(pattern.cloths):
        body, path = house.cloths.get(code), f"pattern.cloths[{i}]"
        if body is None or body.role != "body":
            bodies = [c.code for c in house.cloths.values() if c.role == "body"]
            said = f"no supplier list that is loaded has a sailcloth {code!r}{did_you_mean(code, bodies, listed=False)}"
            found.add(path, "unknown_cloth", said)
        else:
            check_cloth(body, house, path, found)
    for code in sorted(design.materials_named(pattern.make) - described - set(pattern.cloths)):
        said = f"no supplier list that is loaded has a cloth or film {code!r}{did_you_mean(code, described, listed=False)}"
        for path in pattern_rows.naming(code, pattern.make):
            found.add(path, "unknown_cloth", said)
    for i, item in enumerate(pattern.kit):
        unit, path = takeoff.kit_unit(item), f"kit[{i}].material"
        if item.material not in units:
            said = f"no supplier list that is loaded has {item.material!r}{did_you_mean(item.material, units, listed=False)}"
            found.add(path, "unknown_material", said)
        elif unit not in {supplier_unit(u)[0] for u in units[item.material]}:
            sold = " or ".join(sorted(units[item.material]))
            found.add(path, "unit", f"{item.material} is sold by the {sold}; it is counted here in {unit}, per {item.per}")


def _units(lists: Iterable[SupplierList]) -> dict[str, set[str]]:
    """The units in which each material is sold, on any list."""
    found: dict[str, set[str]] = {}
    for listed in lists:
        for row in listed.rows:
            found.setdefault(row.material, set()).add(row.unit)
    return found


def _may_wear_numbers(house: House) -> bool:
    _, every = _options(house)
    return numbering.OPTION in every or numbering.OPTION not in {o.code for o in house.pattern.options}


def _sails(house: House, bench: Bench, found: Collector, warnings: list[str], tried: list[Design]) -> Iterator[str]:
    """What a sail measures and needs; each design that could be made is added to `tried`."""
    try:
        shaped = design.shaped(house)
    except InputError as error:
        if all(p.code == "missing" for p in error.problems):
            names = " and ".join(label(p.path) for p in error.problems)
            keys = ", ".join(p.path for p in error.problems)
            told = f"NO SAIL WAS TRIED: neither class nor pattern gives {names}, so that every row of a list of boats must"
            warnings.append(f"{told}; seams, patches, pockets and lays are unchecked. Put {keys} under [sizes] to have one tried")
        else:
            found.extend(error.problems)
        return
    usual, every = _options(house)
    bodies = _bodies(house)
    own_width = house.pattern.make.roll_width_mm
    warnings += [
        f"make.roll_width is {own_width:g} mm, and {body.code} is {body.width_mm:g} mm wide by its list, which panels are cut to"
        for body in bodies
        if abs(body.width_mm - own_width) >= 1
    ]
    tries = [(body, usual) for body in bodies] + ([(bodies[0], every)] if every != usual else [])
    for i, (body, options) in enumerate(tries):
        made = _made(house, shaped, body, options, found)
        if made is not None:
            tried.append(made)
            numbering.try_numbers(house, made, found, warnings)
        if made is not None and not i:
            yield from _needs(made, bench)
    if not found:
        warnings += other_sizes.refused(house, shaped, bodies[0], every)
    if missing := [what for what, there in (("supplier list", bench.lists), ("house file", bench.labour)) if not there]:
        warnings.append(f"tried without a {' and a '.join(missing)}, as none is loaded: load this file again afterwards to try the rest")


def _options(house: House) -> tuple[frozenset[str], frozenset[str]]:
    """The options of a sail for which nothing is chosen, and all that a sail may have."""
    ruled = {o.option: o.choice for o in house.class_rule.sail_or_none(house.pattern.sail_kind).options}
    usual, every = set(), set()
    for option in house.pattern.options:
        said = ruled.get(option.code, Choice.OPTIONAL)
        choice = option.choice if said is Choice.OPTIONAL else said
        if choice is not Choice.FORBIDDEN:
            every.add(option.code)
            if option.default or choice is Choice.REQUIRED:
                usual.add(option.code)
    return frozenset(usual), frozenset(every)


def _made(house: House, shaped: design.Shaped, body: Cloth, options: frozenset[str], found: Collector) -> Design | None:
    """The design, or None and its problems; where it is the seams, what else is wrong is looked for behind seams that are proposed."""
    try:
        return design.compute(design.inputs(house, shaped, shaped.shape, body, options))
    except InputError as error:
        problems = error.problems
    of_seams = [p for p in problems if _of_seams(p)]
    if not of_seams:
        found.extend(problems)
        return None
    own, would_do = house.pattern.make, None
    last = of_seams[-1]
    try:
        would_do = _proposed(shaped.shape, own, body)
        right = f"Heights that would do on {body.code}: {_heights(would_do)} (manage.py propose_seams)"
    except InputError as error:
        right = "; ".join(p.message for p in error.problems)
    # of another cloth as wide, or with other options, the same may be said already
    new = [p for p in problems if not any((p.path, p.code) == (q.path, q.code) and q.message.startswith(p.message) for q in found)]
    found.extend(replace(p, message=f"{p.message}. {right}") if p is last else p for p in new)
    if would_do is not None:
        other = replace(house, pattern=replace(house.pattern, make=would_do))
        try:
            design.compute(design.inputs(other, shaped, shaped.shape, body, options))
        except InputError as error:
            # what is about seams would speak of heights that the file has not
            found.extend(p for p in error.problems if not _of_seams(p) and "seams" not in p.path)
    return None


def _of_seams(p: Problem) -> bool:
    return p.code in ("panel_too_wide", "seam_too_near", "seam_outside", "seam_order")


def _heights(make: Make) -> str:
    named = {"seams": make.seams, "foot_seams": make.foot_seams}
    said = ", ".join(f"{name} {', '.join(f'{seam.height_mm:g}' for seam in seams)}" for name, seams in named.items() if seams)
    return f"{said} mm" if said else "no seams at all"


def _needs(made: Design, bench: Bench) -> Iterator[str]:
    """What a sail by the pattern measures and takes; its number is not counted, as no sail has one yet."""
    yield "a sail of it at the class's targets: " + ", ".join(f"{label(t.measurement)} {in_words(t.value)}" for t in made.targets)
    yield f"  {made.area_m2} m2 in {takeoff.spelled(Decimal(len(made.panels)), takeoff.driver_kind('panel'))}"
    for lay in made.lays:
        yield f"  {lay.length_mm / 1000:.3f} m of {lay.material}, {lay.usable_width_mm:g} mm of it usable"
    if bench.labour is None:
        return
    minutes = work.operation_minutes(made.takeoff, bench.labour)
    own = sum((o.own_min for o in minutes), Decimal(0))
    yield f"  {takeoff.plain(own)} minutes, without those of its number and the set-up of batch and lay"
