"""Reads of the catalogue: the house as of a day, lists, and what is said when something is not there."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from costing.errors import InputError
from loft.catalogue import selectors, services
from loft.common.errors import NotFound
from tests import skerling

pytestmark = pytest.mark.django_db

ON = skerling.PRICED_ON


@pytest.fixture(autouse=True)
def _loaded() -> None:
    services.load_class(text=skerling.text("skerling_13_2025.toml"))
    services.load_pattern(text=skerling.text("sk13_main_v3.toml"))
    for name in skerling.SUPPLIER_FILES:
        services.load_prices(text=skerling.text(name))
    services.load_house(text=skerling.text("larkfield_2026.toml"))


def problems(**asked: object) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as raised:
        selectors.house(**{"pattern": "SK13-MAIN", "on": ON} | asked)  # type: ignore[arg-type]
    return [(p.path, p.code, p.message) for p in raised.value.problems]


def test_the_house_from_the_database_is_the_house_from_the_files() -> None:
    stored = selectors.house(pattern="SK13-MAIN", on=ON, terms="ASSOC-2026")
    read = skerling.house()
    assert (stored.class_rule, stored.pattern, stored.cloths, stored.labour, stored.terms) == (
        read.class_rule, read.pattern, read.cloths, read.labour, read.terms,
    )  # fmt: skip
    assert (stored.margins, stored.taxes, stored.sail_tax, stored.pass_through, stored.table, stored.currency) == (
        read.margins, read.taxes, read.sail_tax, read.pass_through, read.table, read.currency,
    )  # fmt: skip
    assert sorted(stored.lists, key=lambda one: one.supplier) == sorted(read.lists, key=lambda one: one.supplier)
    assert stored.end_of_roll_fraction == read.end_of_roll_fraction == Decimal("0.03")


def test_the_house_takes_four_queries(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    with django_assert_num_queries(4):
        selectors.house(pattern="SK13-MAIN", on=ON, terms="ASSOC-2026")


def test_a_class_is_charged_its_own_label_and_no_other_classs() -> None:
    services.load_class(text=skerling.text("fellmere_28_2026.toml"))
    services.load_pattern(text=skerling.text("fm28_storm_jib_v1.toml"))
    own = selectors.house(pattern="SK13-MAIN", on=ON).pass_through
    assert [(p.material, p.class_code) for p in own] == [("LABEL-SK13", "SK13"), ("MEASURING-SK13", "SK13")]
    assert selectors.house(pattern="FM28-STORM-JIB", on=ON).pass_through == ()


def test_terms_left_out_are_the_houses_first() -> None:
    assert selectors.house(pattern="SK13-MAIN", on=ON).terms.code == "STANDARD"
    assert [t.code for t in selectors.terms(on=ON)] == ["STANDARD", "ASSOC-2026"]
    assert selectors.terms(on=date(2025, 12, 31)) == ()


@pytest.mark.parametrize(
    ("label", "asked", "expected"),
    [
        (
            "unknown pattern",
            {"pattern": "SK13-MIAN"},
            [("pattern", "unknown_pattern", "there is no pattern 'SK13-MIAN'; did you mean SK13-MAIN?")],
        ),
        ("unknown version", {"version": 4}, [("pattern", "unknown_version", "SK13-MAIN has no version 4; there are 3")]),
        (
            "unknown terms",
            {"terms": "ASSOC-2025"},
            [("terms", "unknown_terms", "there are no terms 'ASSOC-2025'; did you mean ASSOC-2026?")],
        ),
        (
            "a day before the class's first edition and the house's first standards",
            {"on": date(2025, 2, 28)},
            [
                ("on", "no_house_standards", "no labour standards, terms and tax are in force on 2025-02-28: load a house file"),
                ("on", "no_edition", "no edition of class SK13 is in force on 2025-02-28: 2025 from 2025-03-01 to the next"),
                (
                    "on",
                    "no_list",
                    "no supplier list is in force on 2025-02-28: the first that is loaded, Skerling Class Association of "
                    "the Northern Tarns 2026, begins on 2026-01-01",
                ),
            ],
        ),
        (
            "two things unknown at once",
            {"pattern": "JIB-7", "terms": "X"},
            [
                ("pattern", "unknown_pattern", "there is no pattern 'JIB-7'; there are SK13-MAIN"),
                ("terms", "unknown_terms", "there are no terms 'X'; there are STANDARD, ASSOC-2026"),
            ],
        ),
    ],
)
def test_what_a_house_cannot_be_made_of(label: str, asked: dict[str, object], expected: list[tuple[str, str, str]]) -> None:
    assert problems(**asked) == expected, label


def test_the_edition_in_force_on_the_day_counts() -> None:
    later = skerling.text("skerling_13_2025.toml").replace('"2025"', '"2027"').replace("2025-03-01", "2027-03-01")
    services.load_class(text=later.replace('"5230 mm"', '"5250 mm"'))
    assert selectors.house(pattern="SK13-MAIN", on=date(2027, 2, 28)).class_rule.edition == "2025"
    assert selectors.house(pattern="SK13-MAIN", on=date(2027, 3, 1)).class_rule.edition == "2027"
    assert [r.edition for r in selectors.class_rules()] == ["2027", "2025"]
    assert selectors.class_rule(code="SK13", edition="2025").valid_from == date(2025, 3, 1)


@pytest.mark.parametrize(
    ("on", "suppliers"),
    [
        (date(2026, 1, 4), {skerling.CUSTOMER: "2026"}),
        (date(2026, 12, 31), {skerling.CUSTOMER: "2026", "Fellgate Loft Supplies": "2026-1", "Tarnside Sailcloth": "2026"}),
        (date(2025, 12, 31), {"Fellgate Loft Supplies": "2025"}),
        (date(2027, 1, 4), {skerling.CUSTOMER: "2026", "Fellgate Loft Supplies": "2026-1", "Tarnside Sailcloth": "2026"}),
        (date(2027, 1, 5), {skerling.CUSTOMER: "2026", "Fellgate Loft Supplies": "2026-1", "Tarnside Sailcloth": "2027"}),
    ],
)
def test_the_list_of_each_supplier_in_force_on_the_day(on: date, suppliers: dict[str, str]) -> None:
    later = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2027"').replace("2026-01-05", "2027-01-05")
    services.load_prices(text=later)
    ends = skerling.text("fellgate_2026.toml").replace('version = "2026-1"', 'version = "2025"')
    services.load_prices(text=ends.replace("valid_from = 2026-01-12", "valid_from = 2025-01-12\nvalid_to = 2025-12-31"))
    assert {f.prices.supplier: f.prices.version for f in selectors.supplier_files(on=on)} == suppliers
    assert len(selectors.supplier_lists()) == 5


def test_the_newest_version_of_a_pattern_unless_one_is_asked_for() -> None:
    services.load_pattern(text=skerling.text("sk13_main_v3.toml").replace("version = 3", "version = 4"))
    assert selectors.pattern("SK13-MAIN").version == 4
    assert selectors.pattern("SK13-MAIN", 3).version == 3
    assert [p.version for p in selectors.patterns()] == [4, 3]
    assert selectors.house(pattern="SK13-MAIN", on=ON, version=3).pattern.version == 3


@pytest.mark.parametrize(
    ("label", "read", "words"),
    [
        ("pattern", lambda: selectors.pattern("JIB"), "there is no pattern 'JIB'"),
        ("version", lambda: selectors.pattern("SK13-MAIN", 9), "SK13-MAIN has no version 9"),
        ("edition", lambda: selectors.class_rule(code="SK13", edition="1999"), "no edition '1999' of class 'SK13'"),
    ],
)
def test_one_that_is_not_there(label: str, read: object, words: str) -> None:
    assert callable(read)
    with pytest.raises(NotFound, match=words):
        read()
