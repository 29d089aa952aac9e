"""Writes of the catalogue: a file is loaded whole or not at all, and what is loaded is never edited."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any, TypeVar

from django.contrib.auth.models import User
from django.db import transaction

from costing import prices as costing_prices
from costing.cloth import Cloth
from costing.errors import Collector, problem
from costing.prices.compare import RowChange, compare_lists
from costing.prices.lookup import supplier_unit
from costing.quote import Pattern
from costing.rules import Choice, ClassRule, swapped_limits
from loft.catalogue import class_texts, differences, formats, selectors, trying
from loft.catalogue.assortment import gone_between
from loft.catalogue.models import (
    Discontinued,
    HouseStandard,
    LoadedFile,
    Material,
    PatternVersion,
    RuleEdition,
    SupplierList,
    SupplierPrice,
)
from loft.common import audit, policies
from loft.common import services as common

_Content = TypeVar("_Content")


@dataclass(frozen=True, slots=True)
class LoadReport:
    """What loading a file did, or would do: `outcome` is "new" or "unchanged"; `details` are sentences for the person who loaded it,
    `warnings` those that must not be overlooked."""

    subject: str
    outcome: str
    details: tuple[str, ...]
    dry_run: bool
    warnings: tuple[str, ...] = ()


def load_class(*, text: str, dry_run: bool = False, by: User | None = None) -> LoadReport:
    """Store a rule edition, or a corrected text of one that is stored, which stands from then on; both are kept.

    InputError: what is wrong in the file, another content under the same name, a correction of nothing, days that overlap.
    """
    rule = formats.read_class(text)
    subject = f"{rule.name} ({rule.code}), edition {rule.edition}" + (f", corrected text {rule.correction}" if rule.correction else "")
    texts = RuleEdition.objects.filter(class_code=rule.code, edition=rule.edition)
    newest = texts.order_by("-correction").first()
    stored = texts.filter(correction=rule.correction).first()
    if stored is not None and newest is not None:
        right = f"a corrected text of this edition has correction = {newest.correction + 1} under [class]"
        return unchanged(subject, stored.source, rule, formats.read_class, "class.edition", dry_run, right)
    class_texts.refuse_wrong_number(rule, newest)
    others = selectors.standing_editions().filter(class_code=rule.code).exclude(edition=rule.edition)
    periods = {f"edition {o.edition}": (o.valid_from, o.valid_to) for o in others}
    refuse_overlap(periods, rule.valid_from, rule.valid_to, "class")
    details = (
        *(f"{s.kind.value}: {len(s.limits)} limits, {len(s.options)} options" for s in rule.sails),
        *class_texts.against_before(rule, newest, others),
    )
    row = RuleEdition(
        class_code=rule.code, class_name=rule.name, edition=rule.edition, correction=rule.correction, valid_from=rule.valid_from,
        valid_to=rule.valid_to, **kept(text),
    )  # fmt: skip
    doubts = (*(said for s in rule.sails for said in swapped_limits(s)), *(class_texts.patterns_against(rule, text) if newest else ()))
    return replace(store(row, subject, details, dry_run, by=by), warnings=doubts)


def load_pattern(*, text: str, dry_run: bool = False, by: User | None = None) -> LoadReport:
    """Store a pattern version. InputError: what is wrong in the file, another content under the same version, a class that is not
    loaded, an option table that the class's rules contradict, an option that makes nothing, and everything for which no sail of it could
    be quoted by the newest house file and the lists, as far as they are loaded. What a sail measures and needs is in the details."""
    pattern = formats.read_pattern(text)
    subject = f"{pattern.code} version {pattern.version}"
    stored = PatternVersion.objects.filter(code=pattern.code, version=pattern.version).first()
    if stored is not None:
        report = unchanged(subject, stored.source, pattern, formats.read_pattern, "pattern.version", dry_run)
        return _tried_again(report, stored.source, pattern)
    edition = selectors.standing_editions().filter(class_code=pattern.class_code, edition=pattern.edition).first()
    if edition is None:
        message = f"edition {pattern.edition} of class {pattern.class_code} is not loaded: load the class file first"
        raise problem("pattern.edition", "unknown_edition", message)
    rule = formats.read_class(edition.source)
    wrong = Collector()
    with wrong.under(""):
        _refuse_contradiction(pattern, rule)
    tried, problems = trying.tried(text, edition.source)
    wrong.extend(problems)
    wrong.raise_if_any()
    row = PatternVersion(code=pattern.code, version=pattern.version, name=pattern.name, class_code=pattern.class_code, **kept(text))
    counts = {"seams": pattern.make.seams, "options": pattern.options, "kit items": pattern.kit, "steps": pattern.steps}
    kind = pattern.sail_kind.value.replace("_", " ")
    silent = () if rule.says_of(pattern.sail_kind) else (f"edition {rule.edition} has no limit for a {kind}: quotes will say so",)
    details = (", ".join(f"{len(found)} {what}" for what, found in counts.items()), *tried.said, *_since_version_before(pattern))
    return replace(store(row, subject, details, dry_run, by=by), warnings=(*silent, *tried.warnings))


def _tried_again(report: LoadReport, source: str, pattern: Pattern) -> LoadReport:
    """What a stored version needs by what is loaded now, and what has come to stand against it since."""
    edition = selectors.standing_editions().get(class_code=pattern.class_code, edition=pattern.edition)
    tried, problems = trying.tried(source, edition.source)
    against = (f"cannot be quoted now: {p.path}: {p.message}" for p in problems)
    return replace(report, details=(*report.details, *tried.said), warnings=(*tried.warnings, *against))


def load_prices(*, text: str, dry_run: bool = False, by: User | None = None) -> LoadReport:
    """Store a supplier list with its prices and materials. InputError: what is wrong in the file, another content under the same
    version, days that overlap, a code that means another material already."""
    file = formats.read_prices(text)
    prices = file.prices
    subject = f"{prices.supplier}, list {prices.version}"
    stored = SupplierList.objects.filter(supplier=prices.supplier, version=prices.version).first()
    if stored is not None:
        right = f"give the corrected list a version of its own and a valid_from after {stored.valid_from}, the day from which it holds"
        return unchanged(subject, stored.source, file, formats.read_prices, "list.version", dry_run, right)
    others = SupplierList.objects.filter(supplier=prices.supplier)
    wrong, new = Collector(), []
    with wrong.under(""):
        refuse_overlap({f"list {o.version}": (o.valid_from, o.valid_to) for o in others}, prices.valid_from, prices.valid_to, "list")
    with wrong.under(""):
        _refuse_ambiguous(prices)
    with wrong.under(""):
        new = _new_materials(file)
    wrong.raise_if_any()
    row = SupplierList(
        supplier=prices.supplier, version=prices.version, valid_from=prices.valid_from, valid_to=prices.valid_to,
        currency=prices.currency, **kept(text),
    )  # fmt: skip
    gone = ", ".join(f"{code} in {colour}" if colour else code for code, colour in gone_since_the_list_before(file))
    counts = f"{len(prices.rows)} prices, {len(file.cloths)} cloths"
    details = (counts, f"new materials: {', '.join(m.code for m in new) or 'none'}", *([f"discontinued: {gone}"] if gone else []))

    strikes = [c for c in changes_since_the_list_before(file) if c.suspicious]

    def with_prices() -> None:
        Material.objects.bulk_create(new)
        SupplierPrice.objects.bulk_create(_price_rows(file, row))
        Discontinued.objects.bulk_create(_discontinued(file, row))

    return replace(
        store(row, subject, details, dry_run, with_prices, by=by), warnings=tuple(f"{c}: {'; '.join(c.suspicious)}" for c in strikes)
    )


def load_house(*, text: str, dry_run: bool = False, by: User | None = None) -> LoadReport:
    """Store what the loft decides for itself, and its profile. InputError: what is wrong in the file, another content under the same
    version, the same first day."""
    house = formats.read_house(text)
    subject = f"House standards {house.version}"
    stored = HouseStandard.objects.filter(version=house.version).first()
    if stored is not None:
        return unchanged(subject, stored.source, house, formats.read_house, "house.version", dry_run)
    same_day = HouseStandard.objects.filter(valid_from=house.valid_from).first()
    if same_day is not None:
        raise problem("house.valid_from", "overlap", f"version {same_day.version} starts on {house.valid_from} too")
    details = (
        f"in force from {house.valid_from}",
        f"{len(house.labour.operations)} operations, terms {', '.join(t.code for t in house.terms)}",
        f"loft profile: {house.profile.name}",
    )

    def with_profile() -> None:
        problems = Collector()
        with problems.under("profile"):
            common.save_loft_profile(by=by, **asdict(house.profile))
        problems.raise_if_any()

    row = HouseStandard(version=house.version, valid_from=house.valid_from, **kept(text))
    return store(row, subject, details, dry_run, with_profile, by=by)


def _since_version_before(pattern: Pattern) -> tuple[str, ...]:
    before = PatternVersion.objects.filter(code=pattern.code, version__lt=pattern.version).order_by("-version").first()
    if before is None:
        return ()
    changes = tuple(differences.pattern_changes(formats.read_pattern(before.source), pattern))
    return (f"against version {before.version}:", *(f"  {said}" for said in changes or ("nothing changes",)))


def kept(text: str) -> dict[str, str]:
    return {"source": text, "sha256": hashlib.sha256(text.encode()).hexdigest()}


def store(
    row: LoadedFile, subject: str, details: tuple[str, ...], dry_run: bool, with_it: Callable[[], None] | None = None,
    *, by: User | None,
) -> LoadReport:  # fmt: skip
    """Write a row and what belongs to it in one transaction; a dry run does the same and takes it back."""
    policies.require(by, "load_catalogue")
    with transaction.atomic():
        row.save(force_insert=True)
        audit.record("load", row, by=by, after={"sha256": row.sha256})
        if with_it is not None:
            with_it()
        if dry_run:
            transaction.set_rollback(True)
    return LoadReport(subject, "new", details, dry_run)


def unchanged(
    subject: str, source: str, content: _Content, read: Callable[[str], _Content], path: str, dry_run: bool,
    right: str = "give the change a name of its own here",
) -> LoadReport:  # fmt: skip
    """The report for content that is stored already; InputError when something else is stored under the same name.

    right: what to do then.
    """
    if read(source) != content:
        message = f"{subject} is stored with other content; what is loaded is never edited: {right}"
        raise problem(path, "other_content", message)
    return LoadReport(subject, "unchanged", ("the same content is stored already",), dry_run)


def refuse_overlap(periods: Mapping[str, tuple[date, date | None]], start: date, end: date | None, table: str) -> None:
    """Refuse days that another version claims. An open end gives way to whatever starts later."""
    problems = Collector()
    for name, (other_start, other_end) in periods.items():
        earlier_end, later_start = (other_end, start) if other_start < start else (end, other_start)
        if other_start == start or (earlier_end is not None and earlier_end >= later_start):
            until, own = (f"to {last}" if last else "on" for last in (other_end, end))
            told = f"{name} is in force from {other_start} {until} and this one from {start} {own}: no day may have two"
            if start == other_start:
                corrected = ", or set that edition's text right under its own name, with correction = 1 (or its next number)"
                right = "begin on another day" + (corrected if table == "class" else "")
            else:
                right = "begin after its end" if start > other_start else "end before it begins"
            problems.add(f"{table}.valid_from", "overlap", f"{told}; {right}")
    problems.raise_if_any()


def _refuse_contradiction(pattern: Pattern, rule: ClassRule) -> None:
    """The class's required and forbidden options stand in the pattern's table with the same word, and what it offers is made."""
    problems = Collector()
    offered = {o.code: (i, o.choice) for i, o in enumerate(pattern.options)}
    ruled = rule.sail_or_none(pattern.sail_kind).options
    for said in ruled:
        place, choice = offered.get(said.option, (None, None))
        if said.choice is Choice.OPTIONAL or choice is said.choice:
            continue
        if place is not None:
            message = f"{said.option} is {said.choice.value} by {said.rule} and not {choice}"
            problems.add(f"options[{place}].choice", "against_the_class", message)
        elif said.choice is Choice.REQUIRED:
            problems.add("options", "against_the_class", f"{said.option} is required by {said.rule} and missing from the table")
    problems.extend(formats.makes_nothing(pattern))
    problems.raise_if_any()


def _refuse_ambiguous(prices: costing_prices.SupplierList) -> None:
    """A row's number is where a cost stands on papers, a supplier's code what is ordered: neither may mean two materials."""
    problems = Collector()
    for key, what in (("row", "row number"), ("their_code", "code")):
        first: dict[object, int] = {}
        for i, row in enumerate(prices.rows):
            said = getattr(row, key)
            if (other := first.setdefault(said, i)) != i:
                told = f"{row.material} has the {what} {said} of {prices.rows[other].material}, in rows[{other}]: give each its own"
                problems.add(f"rows[{i}].{key}", "twice", told)
    problems.raise_if_any()


def _new_materials(file: formats.PriceFile) -> list[Material]:
    """The materials of a list that are not known yet; InputError for every code that means something else already."""
    wanted = _materials(file)
    known = {m.code: m for m in Material.objects.filter(code__in=wanted)}
    problems = Collector()
    for code, material in wanted.items():
        held = known.get(code)
        if held is not None and material.description and held.description and held.description != material.description:
            differs = ", ".join(k for k, v in material.description.items() if held.description.get(k) != v)
            problems.add(f"cloth.{code}", "other_material", f"{code} is stored with another {differs}; give this cloth a code of its own")
        if held is not None and held.unit and material.unit and supplier_unit(held.unit)[0] != supplier_unit(material.unit)[0]:
            problems.add(f"rows.{code}.unit", "other_unit", f"{code} is counted in {held.unit} and not in {material.unit}")
    problems.raise_if_any()
    return [m for code, m in wanted.items() if code not in known]


def _materials(file: formats.PriceFile) -> dict[str, Material]:
    units = {row.material: row.unit for row in file.prices.rows}
    cloths = {c.code: c for c in file.cloths}
    return {
        code: Material(
            code=code,
            name=cloths[code].name if code in cloths else file.names[code],
            unit=units.get(code, ""),
            role=cloths[code].role if code in cloths else "other",
            description=_described(cloths[code]) if code in cloths else {},
        )
        for code in units | cloths
    }


def _described(cloth: Cloth) -> dict[str, Any]:
    """A cloth's properties as text: a database that rewrites numbers must not make it another cloth."""
    return {name: str(value) for name, value in asdict(cloth).items() if name != "colours"}


def gone_since_the_list_before(file: formats.PriceFile) -> tuple[tuple[str, str], ...]:
    """(material, colour) of what the supplier's list before has and this one has not; colour empty: all of the material."""
    before = _list_before(file)
    return () if before is None else gone_between(before, file)


def changes_since_the_list_before(file: formats.PriceFile) -> tuple[RowChange, ...]:
    """Every material beside the supplier's list before, with what somebody must look at."""
    before = _list_before(file)
    return compare_lists(before.prices if before else None, file.prices)


def _list_before(file: formats.PriceFile) -> formats.PriceFile | None:
    earlier = SupplierList.objects.filter(supplier=file.prices.supplier, valid_from__lt=file.prices.valid_from)
    row = earlier.order_by("-valid_from").first()
    return None if row is None else formats.read_prices(row.source)


def _discontinued(file: formats.PriceFile, supplier_list: SupplierList) -> list[Discontinued]:
    gone = gone_since_the_list_before(file)
    ids = dict(Material.objects.filter(code__in={code for code, _ in gone}).values_list("code", "pk"))
    start = file.prices.valid_from
    return [Discontinued(supplier_list=supplier_list, material_id=ids[code], colour=colour, gone_on=start) for code, colour in gone]


def _price_rows(file: formats.PriceFile, supplier_list: SupplierList) -> list[SupplierPrice]:
    ids = dict(Material.objects.filter(code__in=file.names).values_list("code", "pk"))
    return [
        SupplierPrice(
            supplier_list=supplier_list, material_id=ids[row.material], row=row.row, their_code=row.their_code, unit=row.unit,
            from_quantity_e3=int(brk.from_quantity.scaleb(3)), unit_cost_e4=int(brk.unit_cost.scaleb(4)),
        )
        for row in file.prices.rows
        for brk in row.breaks
    ]  # fmt: skip
