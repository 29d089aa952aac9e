"""Reads of the catalogue: stored files as the calculation's objects.

Versions are never edited, so a text is read once a process and kept.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache

from django.db.models import Exists, Max, Min, OuterRef, Q, QuerySet, Subquery

from costing import prices as costing_prices
from costing import quote
from costing.errors import Collector, did_you_mean
from costing.prices.rates import MOST_DAYS_OLD, DayRates
from costing.prices.retail import RetailList
from costing.rules import ClassRule
from loft.catalogue import formats
from loft.catalogue.assortment import Assortment, assortment
from loft.catalogue.models import ExchangeRate, HouseStandard, Material, PatternVersion, RetailVersion, RuleEdition, SupplierList
from loft.common.errors import NotFound

read_class = lru_cache(maxsize=64)(formats.read_class)
read_pattern = lru_cache(maxsize=64)(formats.read_pattern)
read_prices = lru_cache(maxsize=64)(formats.read_prices)
read_retail = lru_cache(maxsize=16)(formats.read_retail)
read_house = lru_cache(maxsize=16)(formats.read_house)


def house(*, pattern: str, on: date, terms: str = "", version: int | None = None) -> quote.House:
    """What the loft brings to a calculation on a day, with the newest version of the class's other patterns; four queries.

    version: of the pattern, the newest when left out; terms: the house's first when empty. InputError names everything that is
    unknown or not in force on the day.
    """
    found, wrong = nearest_house(pattern=pattern, on=on, terms=terms, version=version)
    wrong.raise_if_any()
    assert found  # missing, it is a problem already
    return found


def nearest_house(*, pattern: str, on: date, terms: str = "", version: int | None = None) -> tuple[quote.House | None, Collector]:
    """What `house` gives, and what is wrong with it: then the nearest edition, house file and terms, to read a list by all the same.

    None where the pattern is unknown, or no edition or no house file was ever loaded.
    """
    wrong = Collector()
    found, others = _patterns_of_class(pattern, version, wrong)
    own = _house_file(on, wrong) or _first_house_file()
    known = editions(found.class_code) if found else ()
    rule = _edition_in_force(found.class_code, known, on, wrong) if found else None
    if rule is None and known:
        rule = next((r for r in known if r.valid_from <= on), known[-1])
    chosen = (_terms(own, terms, wrong) or own.terms[0]) if own else None
    sold = assortment_of(on=on)
    files = sold.files
    if not files and (first := SupplierList.objects.order_by("valid_from").first()):
        wrong.add("on", "no_list", f"no supplier list is in force on {on}: the first that is loaded, {first}, begins on {first.valid_from}")
    if not (found and own and rule and chosen):
        return None, wrong
    house = quote.House(
        class_rule=rule,
        pattern=found,
        cloths=sold.cloths,
        lists=tuple(file.prices for file in files),
        labour=own.labour_on(on),
        terms=chosen,
        margins=own.margins,
        taxes=own.taxes,
        sail_tax=own.sail_tax,
        pass_through=tuple(p for p in own.pass_through if p.class_code in ("", found.class_code)),
        table=own.table,
        currency=own.currency,
        end_of_roll_fraction=own.end_of_roll_fraction,
        editions=known,
        change_fee=own.change_fee,
        others=others,
        rates=rates(tuple(file.prices for file in files), on=on, currency=own.currency.code),
        gone=sold.gone,
        special_as_bought=own.special_as_bought,
        overhead=own.overhead,
        gift_flag=own.gift_flag,
    )
    return house, wrong


def rates(lists: Iterable[costing_prices.SupplierList], *, on: date, currency: str) -> tuple[DayRates, ...]:
    """The exchange rates that may hold on a day; read only when one of the lists is in another currency."""
    return () if all(listed.currency == currency for listed in lists) else day_rates(on=on)


def day_rates(*, on: date) -> tuple[DayRates, ...]:
    """The exchange rates of the days that may hold on a day; where none does, those of the nearest days, so that they can be named."""
    by_day: dict[date, dict[str, Decimal]] = {}
    stored = ExchangeRate.objects.all()
    rows = list(stored.filter(on__lte=on, on__gte=on - timedelta(days=MOST_DAYS_OLD)))
    if not rows:
        before, after = stored.filter(on__lt=on).aggregate(day=Max("on")), stored.filter(on__gt=on).aggregate(day=Min("on"))
        rows = list(stored.filter(on__in=[found["day"] for found in (before, after) if found["day"]]))
    for row in rows:
        by_day.setdefault(row.on, {})[row.currency] = Decimal(row.per_euro_e6).scaleb(-6)
    return tuple(DayRates(day, found) for day, found in sorted(by_day.items()))


def standing_editions() -> QuerySet[RuleEdition]:
    """Of every edition the text that holds: the one that was corrected last."""
    same = RuleEdition.objects.filter(class_code=OuterRef("class_code"), edition=OuterRef("edition"))
    return RuleEdition.objects.filter(~Exists(same.filter(correction__gt=OuterRef("correction"))))


def class_rules() -> tuple[ClassRule, ...]:
    """Every edition of every class, the newest of a class first."""
    return tuple(read_class(text) for text in _texts(standing_editions().order_by("class_code", "-valid_from")))


def editions(class_code: str) -> tuple[ClassRule, ...]:
    """Every edition of a class, the newest first."""
    return tuple(read_class(text) for text in _texts(standing_editions().filter(class_code=class_code).order_by("-valid_from")))


def class_rule(*, code: str, edition: str) -> ClassRule:
    """One edition as its text stands; NotFound when it was never loaded."""
    for text in _texts(standing_editions().filter(class_code=code, edition=edition)):
        return read_class(text)
    raise NotFound(f"There is no edition {edition!r} of class {code!r}.")


def patterns() -> tuple[quote.Pattern, ...]:
    """Every version of every pattern, the newest of a pattern first."""
    return tuple(read_pattern(text) for text in _texts(PatternVersion.objects.order_by("code", "-version")))


def pattern_names(*, class_code: str) -> Mapping[str, str]:
    """The name of each pattern of a class by code, as its newest version has it; one query, no text."""
    rows = PatternVersion.objects.filter(class_code=class_code).order_by("code", "version").values_list("code", "name")
    return dict(rows)


def pattern(code: str, version: int | None = None) -> quote.Pattern:
    """One version of a pattern, the newest when left out; NotFound when it was never loaded."""
    wrong = Collector()
    found = _pattern_version(code, version, wrong)
    if found is None:
        raise NotFound("; ".join(p.message for p in wrong))
    return found


def supplier_lists() -> tuple[costing_prices.SupplierList, ...]:
    """Every version of every supplier's list, the newest of a supplier first."""
    return tuple(read_prices(text).prices for text in _texts(SupplierList.objects.order_by("supplier", "-valid_from")))


def assortment_of(*, on: date) -> Assortment:
    """What suppliers sell on a day and what they have stopped selling; one query."""
    return assortment((read_prices(text) for text in _texts(SupplierList.objects.filter(valid_from__lte=on))), on)


def supplier_files(*, on: date) -> tuple[formats.PriceFile, ...]:
    """The list of each supplier that is in force on a day, with the cloths that it describes."""
    return tuple(read_prices(row.source) for row in lists_in_force(SupplierList.objects.all(), on))


def lists_in_force(rows: QuerySet[SupplierList], on: date) -> tuple[SupplierList, ...]:
    """The list of each supplier that is in force on a day."""
    newest = {row.supplier: row for row in rows.filter(valid_from__lte=on).order_by("supplier", "valid_from")}
    return tuple(row for row in newest.values() if row.valid_to is None or row.valid_to >= on)


def list_heads() -> QuerySet[SupplierList]:
    """Every supplier list without its text, by supplier, the newest first."""
    return SupplierList.objects.defer("source").order_by("supplier", "-valid_from")


def material_keys(codes: Collection[str]) -> Mapping[str, int]:
    """The primary keys of materials by code; NotFound names those that no list has brought."""
    found = dict(Material.objects.filter(code__in=codes).values_list("code", "pk"))
    if unknown := sorted(set(codes) - found.keys()):
        raise NotFound(f"There is no material {', '.join(unknown)}.")
    return found


def material_names(codes: Collection[str]) -> Mapping[str, str]:
    """The names of materials by code."""
    return dict(Material.objects.filter(code__in=codes).values_list("code", "name"))


def retail_lists() -> tuple[RetailList, ...]:
    """Every version of the loft's own prices, by class, the newest first."""
    return tuple(read_retail(row.source) for row in RetailVersion.objects.order_by("class_code", "-valid_from"))


def retail_list(*, class_code: str, on: date) -> RetailList | None:
    """The loft's own prices for a class that hold on a day; None when there are none."""
    row = RetailVersion.objects.filter(class_code=class_code, valid_from__lte=on).order_by("-valid_from").first()
    return None if row is None or (row.valid_to is not None and row.valid_to < on) else read_retail(row.source)


def tax_rates(*, on: date) -> tuple[quote.TaxRate, ...]:
    """The tax rates that hold on a day; empty before the first house file."""
    own = _house_file(on, Collector())
    return own.taxes if own else ()


def gift_flag(*, on: date) -> Decimal | None:
    """The cost of gifts to one person in twelve months above which tax is looked at."""
    own = _house_file(on, Collector())
    return own.gift_flag if own else None


def terms(*, on: date) -> tuple[quote.Terms, ...]:
    """The conditions of sale to choose from on a day, the usual ones first; empty before the first house file."""
    own = _house_file(on, Collector())
    return own.terms if own else ()


def _texts(rows: Iterable[RuleEdition] | Iterable[PatternVersion] | Iterable[SupplierList]) -> Iterable[str]:
    return (row.source for row in rows)


def _patterns_of_class(code: str, version: int | None, wrong: Collector) -> tuple[quote.Pattern | None, tuple[quote.Pattern, ...]]:
    """A pattern, and the newest version of every other one of its class; one query unless it is unknown."""
    same_code = PatternVersion.objects.filter(code=OuterRef("code")).order_by("-version").values("version")[:1]
    of_class = PatternVersion.objects.filter(code=code).order_by("-version").values("class_code")[:1]
    wanted = Q(version=Subquery(same_code)) | Q(code=code, version=version)
    rows = list(PatternVersion.objects.filter(wanted, class_code=Subquery(of_class)).order_by("code", "-version"))
    own = [row for row in rows if row.code == code and version in (None, row.version)]
    if not own:
        return _pattern_version(code, version, wrong), ()
    return read_pattern(own[0].source), tuple(read_pattern(row.source) for row in rows if row.code != code)


def _pattern_version(code: str, version: int | None, wrong: Collector) -> quote.Pattern | None:
    rows = PatternVersion.objects.filter(code=code).order_by("-version")
    if version is not None:
        rows = rows.filter(version=version)
    row = rows.first()
    if row is not None:
        return read_pattern(row.source)
    known = list(PatternVersion.objects.order_by("code", "version").values_list("code", "version"))
    if version is not None and code in (c for c, _ in known):
        stored = ", ".join(str(v) for c, v in known if c == code)
        wrong.add("pattern", "unknown_version", f"{code} has no version {version}; there are {stored}")
    else:
        wrong.add("pattern", "unknown_pattern", f"there is no pattern {code!r}{did_you_mean(code, (c for c, _ in known))}")
    return None


def _edition_in_force(class_code: str, known: tuple[ClassRule, ...], on: date, wrong: Collector) -> ClassRule | None:
    """known: every edition, the newest first."""
    latest = next((rule for rule in known if rule.valid_from <= on), None)
    if latest is not None and latest.in_force(on):
        return latest
    there_are = "; ".join(f"{r.edition} from {r.valid_from} to {r.valid_to or 'the next'}" for r in reversed(known)) or "none is loaded"
    wrong.add("on", "no_edition", f"no edition of class {class_code} is in force on {on}: {there_are}")
    return None


def _house_file(on: date, wrong: Collector) -> formats.HouseFile | None:
    row = HouseStandard.objects.filter(Q(valid_from__lte=on)).order_by("-valid_from").first()
    if row is None:
        wrong.add("on", "no_house_standards", f"no labour standards, terms and tax are in force on {on}: load a house file")
        return None
    return read_house(row.source)


def _first_house_file() -> formats.HouseFile | None:
    row = HouseStandard.objects.order_by("valid_from").first()
    return None if row is None else read_house(row.source)


def _terms(own: formats.HouseFile, code: str, wrong: Collector) -> quote.Terms | None:
    if not code:
        return own.terms[0]
    for found in own.terms:
        if found.code == code:
            return found
    wrong.add("terms", "unknown_terms", f"there are no terms {code!r}{did_you_mean(code, (t.code for t in own.terms))}")
    return None
