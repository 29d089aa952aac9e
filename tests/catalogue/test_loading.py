"""Loading files: what is stored, what is refused, and that a refused or dry run changes nothing."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

import pytest
from django.db.models import Model

from costing.errors import InputError
from loft.catalogue import formats, selectors, services
from loft.catalogue.models import HouseStandard, Material, PatternVersion, RuleEdition, SupplierList, SupplierPrice
from loft.common import selectors as common
from loft.common.models import LoftProfile
from tests import skerling

pytestmark = pytest.mark.django_db

CLASS = skerling.text("skerling_13_2025.toml")
PATTERN = skerling.text("sk13_main_v3.toml")
PRICES = skerling.text("tarnside_2026.toml")
HOUSE = skerling.text("larkfield_2026.toml")
TABLES: tuple[type[Model], ...] = (RuleEdition, PatternVersion, SupplierList, SupplierPrice, Material, HouseStandard, LoftProfile)


def stored() -> dict[str, int]:
    return {table.__name__: table._default_manager.count() for table in TABLES}


def refused(load: Callable[..., services.LoadReport], text: str) -> list[tuple[str, str, str]]:
    """The problems of a load that is refused; nothing may have changed."""
    before = stored()
    with pytest.raises(InputError) as raised:
        load(text=text)
    assert stored() == before
    return [(p.path, p.code, p.message) for p in raised.value.problems]


@pytest.mark.parametrize(
    ("load", "text", "subject"),
    [
        (services.load_class, CLASS, "Skerling 13 (SK13), edition 2025"),
        (services.load_pattern, PATTERN, "SK13-MAIN version 3"),
        (services.load_prices, PRICES, "Tarnside Sailcloth, list 2026"),
        (services.load_house, HOUSE, "House standards 2026"),
    ],
)
def test_loaded_once_then_unchanged_and_a_dry_run_stores_nothing(load: Callable[..., services.LoadReport], text: str, subject: str) -> None:
    if load is services.load_pattern:
        services.load_class(text=CLASS)
    before = stored()
    dry = load(text=text, dry_run=True)
    assert (dry.subject, dry.outcome, dry.dry_run) == (subject, "new", True)
    assert stored() == before
    assert load(text=text).outcome == "new"
    after = stored()
    assert after != before
    assert load(text=text).outcome == "unchanged"
    assert load(text="# another comment\n" + text).outcome == "unchanged"
    assert stored() == after


@pytest.mark.parametrize(
    ("label", "load", "text", "was", "now", "path"),
    [
        ("class", services.load_class, CLASS, 'maximum = "5230 mm"', 'maximum = "5240 mm"', "class.edition"),
        ("pattern", services.load_pattern, PATTERN, "factor = 9.7", "factor = 9.8", "pattern.version"),
        ("prices", services.load_prices, PRICES, "cost = 16.40", "cost = 14.95", "list.version"),
        ("house", services.load_house, HOUSE, "target = 0.42", "target = 0.45", "house.version"),
    ],
)
def test_other_content_under_the_same_name_is_refused(
    label: str, load: Callable[..., services.LoadReport], text: str, was: str, now: str, path: str
) -> None:
    services.load_class(text=CLASS)
    load(text=text)
    assert was in text, label
    ((found, code, message),) = refused(load, text.replace(was, now, 1))
    assert (found, code) == (path, "other_content")
    assert "is stored with other content; what is loaded is never edited" in message


def edition(name: str, valid_from: str, valid_to: str = "") -> str:
    end = f"\nvalid_to = {valid_to}" if valid_to else ""
    return CLASS.replace('edition = "2025"', f'edition = "{name}"').replace("valid_from = 2025-03-01", f"valid_from = {valid_from}{end}")


@pytest.mark.parametrize(
    ("label", "valid_from", "valid_to", "allowed"),
    [
        ("the next, while the stored one has an open end", "2027-03-01", "", True),
        ("one before, which ends the day before", "2023-01-01", "2025-02-28", True),
        ("one before with an open end, which gives way", "2023-01-01", "", True),
        ("one before that ends on the first day of the stored one", "2023-01-01", "2025-03-01", False),
        ("the same first day", "2025-03-01", "", False),
    ],
)
def test_editions_never_claim_the_same_day(label: str, valid_from: str, valid_to: str, allowed: bool) -> None:
    services.load_class(text=CLASS)
    text = edition("other", valid_from, valid_to)
    if allowed:
        assert services.load_class(text=text).outcome == "new", label
        return
    own, right = ("to 2025-03-01", "end before it begins") if valid_to else (
        "on", "begin on another day, or set that edition's text right under its own name, with correction = 1 (or its next number)"
    )  # fmt: skip
    told = f"edition 2025 is in force from 2025-03-01 on and this one from {valid_from} {own}: no day may have two; {right}"
    assert refused(services.load_class, text) == [("class.valid_from", "overlap", told)], label


def test_an_edition_inside_another_is_refused() -> None:
    services.load_class(text=edition("2023", "2023-01-01", "2024-12-31"))
    services.load_class(text=CLASS)
    found = refused(services.load_class, skerling.text("bad/class_overlapping_edition.toml"))
    assert found == [
        (
            "class.valid_from", "overlap", "edition 2023 is in force from 2023-01-01 to 2024-12-31 and this one from 2024-03-01 to "
            "2025-12-31: no day may have two; begin after its end",
        ),
        (
            "class.valid_from", "overlap", "edition 2025 is in force from 2025-03-01 on and this one from 2024-03-01 to 2025-12-31: "
            "no day may have two; end before it begins",
        ),
    ]  # fmt: skip


def test_widths_in_the_wrong_order_are_doubted() -> None:
    """Half and quarter width in each other's rows: taken, as the document may print it so, with a warning."""
    text = CLASS.replace('minimum = "1380 mm", maximum = "1475 mm"', 'maximum = "1995 mm"')
    text = text.replace('measurement = "quarter_width", maximum = "1995 mm"', 'measurement = "quarter_width", maximum = "1475 mm"', 1)
    assert services.load_class(text=text, dry_run=True).warnings == (
        "mainsail: half width of at most 1,995 mm (C.6.3 (f)) is more than the quarter width below it, at most 1,475 mm (C.6.3 (e)): "
        "are the two swapped?",
    )
    assert services.load_class(text=CLASS, dry_run=True).warnings == ()


def test_a_luff_shorter_than_the_foot_is_doubted() -> None:
    text = CLASS.replace('measurement = "luff_length", maximum = "5230 mm"', 'measurement = "luff_length", maximum = "2470 mm"')
    text = text.replace('measurement = "foot_length", maximum = "2460 mm"', 'measurement = "foot_length", maximum = "5230 mm"')
    (told, *_) = services.load_class(text=text, dry_run=True).warnings
    assert told.startswith("mainsail: luff length of at most 2,470 mm (C.6.3 (a)) is less than the foot length, at most 5,230 mm (C.6.3 (")


def test_a_pattern_waits_for_its_class() -> None:
    message = "edition 2025 of class SK13 is not loaded: load the class file first"
    assert refused(services.load_pattern, PATTERN) == [("pattern.edition", "unknown_edition", message)]


NO_REEF = (
    "Reef makes nothing: it would be sold and not made. It needs its patches at luff and leech: [[make.edge_patches]] with "
    'name = "reef 1 luff", edge, from_tack (at the leech from_clew), radius, layers and option = "reef"'
)


def test_a_pattern_may_not_contradict_its_class() -> None:
    services.load_class(text=CLASS)
    text = PATTERN.replace('choice = "forbidden"', 'choice = "optional"').replace('choice = "required"', 'choice = "optional"')
    assert refused(services.load_pattern, text) == [
        ("options[5].choice", "against_the_class", "reef is forbidden by C.6.5 (b) and not optional"),
        ("options[3].choice", "against_the_class", "numbers is required by C.6.6 (a) and not optional"),
        ("options[5].code", "makes_nothing", NO_REEF),
    ]


@pytest.mark.parametrize(
    ("label", "was", "now", "expected"),
    [
        (
            "an option that makes nothing",
            'option = "tell_tales"\n',
            "",
            ("options[2].code", "makes_nothing", "Tell-tales makes nothing: it would be sold and not made. It needs a row of [[kit]], or a "
             'patch, pocket, window, colour or hanks of [make] and option = "tell_tales"'),
        ),
        (
            "a reef's height that nothing is made at",
            "[sizes]\n",
            '[sizes]\nreef_height = "900 mm"\n',
            ("sizes.reef_height", "not_a_design_size",
             "a reef lies where its patches do: leave this out and write from_tack (luff) and from_clew (leech) in "
             '[[make.edge_patches]] with option = "reef"'),
        ),
    ],
)  # fmt: skip
def test_what_a_pattern_offers_is_made(label: str, was: str, now: str, expected: tuple[str, str, str]) -> None:
    services.load_class(text=CLASS)
    assert was in PATTERN
    assert refused(services.load_pattern, PATTERN.replace(was, now, 1)) == [expected], label
    assert not PatternVersion.objects.exists()


def test_a_reef_is_made_by_its_patches() -> None:
    services.load_class(text=CLASS.replace('option = "reef", choice = "forbidden"', 'option = "reef", choice = "required"'))
    offered = PATTERN.replace('label = "Reef"\nchoice = "forbidden"', 'label = "Reef"\nchoice = "required"')
    assert refused(services.load_pattern, offered) == [("options[5].code", "makes_nothing", NO_REEF)]
    row = '[[make.edge_patches]]\nname = "reef 1 {0}"\nedge = "{0}"\nfrom_tack = "1 m"\nradius = "120 mm"\nlayers = 2\noption = "reef"\n'
    patched = offered.replace("[[make.pockets]]", row.format("luff") + row.format("leech") + "[[make.pockets]]", 1)
    assert services.load_pattern(text=patched).outcome == "new"


def test_prices_are_kept_as_whole_numbers_by_row_and_break() -> None:
    services.load_prices(text=PRICES)
    rows = SupplierPrice.objects.filter(material__code="DW170").order_by("from_quantity_e3")
    assert [(r.row, r.their_code, r.unit, r.from_quantity_e3, r.unit_cost_e4) for r in rows] == [
        (12, "TS 170 F", "m", 0, 164000),
        (12, "TS 170 F", "m", 50000, 152000),
        (12, "TS 170 F", "m", 80000, 139500),
    ]
    film = Material.objects.get(code="FILM-05")
    assert (film.role, film.unit, film.description["width_mm"]) == ("film", "m", "914.4")


def test_what_a_code_means_never_changes() -> None:
    services.load_prices(text=PRICES)
    later = PRICES.replace('version = "2026"', 'version = "2027"').replace("2026-01-05", "2027-01-05")
    assert services.load_prices(text=later, dry_run=True).details[1] == "new materials: none"
    narrower = later.replace('width = "1370 mm"', 'width = "1360 mm"', 1)
    assert refused(services.load_prices, narrower) == [
        ("cloth.DW170", "other_material", "DW170 is stored with another width_mm, usable_width_mm; give this cloth a code of its own")
    ]
    by_the_roll = later.replace('unit = "m"', 'unit = "roll"', 1)
    assert refused(services.load_prices, by_the_roll) == [("rows.DW170.unit", "other_unit", "DW170 is counted in m and not in roll")]


def test_a_house_brings_the_lofts_profile() -> None:
    services.load_house(text=HOUSE)
    profile = common.loft_profile()
    assert (profile.name, profile.currency, profile.time_zone) == ("Larkfield Sail Loft", "GBP", "Europe/London")
    assert profile.address_lines == ("The Old Net Store", "3 Quay Lane", "Larkfield", "NT4 7QX")


def test_a_house_with_a_profile_that_cannot_be_is_refused_whole() -> None:
    found = refused(services.load_house, HOUSE.replace("Europe/London", "Europe/Larkfield").replace("loft@larkfield.example", "loft"))
    assert [(path, code) for path, code, _ in found] == [("profile.email", "invalid"), ("profile.time_zone", "unknown_time_zone")]


def test_two_houses_may_not_start_on_the_same_day() -> None:
    services.load_house(text=HOUSE)
    text = HOUSE.replace('version = "2026"', 'version = "2026b"')
    assert refused(services.load_house, text) == [("house.valid_from", "overlap", "version 2026 starts on 2026-01-01 too")]


def test_the_source_is_kept_with_its_sha256() -> None:
    services.load_house(text=HOUSE)
    row = HouseStandard.objects.get()
    assert (row.source, row.sha256) == (HOUSE, hashlib.sha256(HOUSE.encode("utf-8")).hexdigest())


def test_everything_that_can_be_wrong_with_a_class_is_told_at_once_and_nothing_stored() -> None:
    """Minimum above maximum, a name misspelt, a circle, inches read as mm, a broken formula, days turned round, a storm sail unchecked."""
    services.load_class(text=skerling.text("skerling_13_2025.toml"))
    with pytest.raises(InputError) as refused:
        services.load_class(text=skerling.text("bad/class_everything_wrong.toml"))
    told = {(p.path, p.code): p.message for p in refused.value.problems}
    assert told.keys() == {
        ("numbers[0].height", "not_positive"),
        ("sail[0].limits[0].maximum", "looks_like_a_slip"),
        ("sail[0].limits[1].measurement", "unknown_measurement"),
        ("sail[0].limits[2]", "circular"),
        ("sail[0].limits[3]", "circular"),
        ("sail[0].limits[4].minimum", "above_maximum"),
        ("sail[0].limits[5].maximum_formula", "wrong_formula"),
        ("sail[0].limits[6].station", "missing"),
        ("sail[0].limits[7].certified_to", "ends_before_start"),
        ("sail[1].storm_rules.checked_by", "not_checked"),
    }
    assert told["sail[0].limits[1].measurement", "unknown_measurement"].endswith("did you mean leech_length?")
    assert told["sail[0].limits[0].maximum", "looks_like_a_slip"].endswith("206 in would be 5,232.4 mm")
    assert [row.edition for row in RuleEdition.objects.all()] == ["2025"]


def test_a_corrected_text_of_an_edition_stands_and_the_wrong_one_is_kept() -> None:
    """Wrong limit and wrong first day set right under the edition's own name; other editions may then have that day."""
    services.load_class(text=CLASS)
    services.load_pattern(text=PATTERN)
    wrong_again = CLASS.replace('maximum = "5230 mm"', 'maximum = "5240 mm"', 1)
    ((_, _, told),) = refused(services.load_class, wrong_again)
    assert told.endswith("never edited: a corrected text of this edition has correction = 1 under [class]")
    right = wrong_again.replace("valid_from = 2025-03-01", "correction = 1\nvalid_from = 2025-04-01")
    report = services.load_class(text=right)
    assert (report.subject, report.outcome) == ("Skerling 13 (SK13), edition 2025, corrected text 1", "new")
    assert report.details[3:] == (
        "against the text of edition 2025 that stood so far:",
        "  mainsail: limit changed: Luff length, max 5230 mm (C.6.3 (a)) -> max 5240 mm (C.6.3 (a))",
        "  in force changed: from 2025-03-01 to the next edition -> from 2025-04-01 to the next edition",
    )
    (standing,) = selectors.editions("SK13")
    assert (standing, selectors.class_rule(code="SK13", edition="2025")) == (formats.read_class(right), standing)
    assert [row.source for row in RuleEdition.objects.order_by("correction")] == [CLASS, right]
    assert services.load_class(text=right).outcome == "unchanged"
    assert services.load_class(text=edition("2024", "2025-03-01")).outcome == "new"  # its day is free again
    third = right.replace("correction = 1", "correction = 3")
    said = "of edition 2025 corrected text 1 stands: the next one has correction = 2"
    assert refused(services.load_class, third) == [("class.correction", "wrong_number", said)]


def test_a_correction_names_the_patterns_that_it_makes_impossible_and_needs_something_to_correct() -> None:
    said = "edition 2025 of class SK13 is not loaded, so there is nothing to correct: leave correction out"
    tight = CLASS.replace("valid_from = 2025-03-01", "correction = 1\nvalid_from = 2025-03-01")
    tight = tight.replace('minimum = "1380 mm", maximum = "1475 mm"', 'maximum = "1200 mm"')
    assert refused(services.load_class, tight) == [("class.correction", "nothing_to_correct", said)]
    services.load_class(text=CLASS)
    services.load_pattern(text=PATTERN)
    (warning, *_) = services.load_class(text=tight, dry_run=True).warnings
    assert warning.startswith("SK13-MAIN version 3 cannot be quoted by this text: ")


def test_a_wrong_supplier_list_is_replaced_from_a_later_day() -> None:
    services.load_prices(text=PRICES)
    ((_, _, told),) = refused(services.load_prices, PRICES.replace("cost = 16.40", "cost = 14.95", 1))
    assert "give the corrected list a version of its own and a valid_from after 20" in told
