"""House and price files: what they mean, and everything that can be wrong with them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.cloth import Orientation
from costing.errors import InputError
from costing.takeoff.kinds import DRIVERS
from costing.work import cost_of_minute
from loft.catalogue import formats
from tests import skerling

HOUSE = skerling.text("larkfield_2026.toml")

# Common practice, no source: the loft's starting minutes, by operation and driver, as its owner wrote them down.
MINUTES = {
    "check_and_confirm": {"order": "20", "boat": "6"},
    "cutting_file": {"sail": "5", "variant": "15"},
    "lay_and_cut": {"lay": "8", "laid_m2": "1.2"},
    "sort_panels": {"panel": "1.5"},
    "stick_seams": {"seam_m": "2.5"},
    "sew_seams": {"seam_m": "2.0", "seam": "4"},
    "stick_light_seams": {"three_step_seam_m": "2.5"},
    "sew_three_step": {"three_step_seam_m": "1.2", "three_step_seam": "3"},
    "edge_tape": {"edge_tape_m": "3"},
    "webbed_rings": {"webbed_ring": "8"},
    "spread_and_fair": {"sail": "15", "body_m2": "2"},
    "corner_patches": {"patch": "8", "patch_layer": "3"},
    "cunningham_patch": {"cunningham": "8"},
    "tabling": {"leech_m": "3", "foot_m": "3"},
    "luff_tape": {"luff_m": "4"},
    "shelf_foot": {"shelf_foot_m": "8"},
    "pocket_short": {"pocket_short": "15"},
    "pocket_full": {"pocket_full": "22"},
    "window": {"window": "25"},
    "rings": {"ring": "4", "eyelet": "2", "slide": "3"},
    "hanks": {"hank": "3"},  # as a slide
    "headboard": {"headboard": "18"},
    "reef_rows": {"reef": "60"},
    "numbers": {"number": "10", "number_character": "3"},
    "insignia": {"insignia_side": "6"},
    "battens": {"batten": "4"},
    "measure": {"sail": "15"},
    "royalty_label": {"royalty_label": "3"},
    "tell_tales": {"tell_tale_set": "5"},
    "inspect_and_pack": {"sail": "20"},
}


def house_problems(text: str) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as raised:
        formats.read_house(text)
    return [(p.path, p.code, p.message) for p in raised.value.problems]


def test_labour_standards() -> None:
    labour = formats.read_house(HOUSE).labour
    assert {o.operation: {t.driver: str(t.minutes) for t in o.terms} for o in labour.operations} == MINUTES
    assert {t.driver for o in labour.operations for t in o.terms} <= DRIVERS.keys()
    assert all("no source" in o.source for o in labour.operations)
    # a productive hour costs paid hour / productive part: 29.50 / 0.75 = 39.33 an hour
    assert cost_of_minute(labour) * 60 == Decimal("29.50") / Decimal("0.75")


@pytest.mark.parametrize(
    ("operation", "words"),
    [
        ("lay_and_cut", "two people or a trolley"),
        ("sew_seams", "Guards on, power off to thread"),
        ("window", "blunt scissors only"),
        ("rings", "Hands clear of the ring press"),
        ("battens", "under tension"),
        ("inspect_and_pack", "Count pins, needles and blades"),
    ],
)
def test_work_that_can_hurt_carries_a_caution_that_defers(operation: str, words: str) -> None:
    caution = next(o.caution for o in formats.read_house(HOUSE).labour.operations if o.operation == operation)
    assert words in caution and "come first" in caution


def test_the_invented_house() -> None:
    house = formats.read_house(HOUSE)
    batch = next(t for t in house.terms if t.code == "ASSOC-2026")
    assert [(t.from_sails, str(t.discount)) for t in batch.tiers] == [(5, "0.05"), (10, "0.10"), (20, "0.15")]
    assert (batch.deposit_fraction, batch.valid_days) == (Decimal("0.5"), 30)
    assert (batch.minimum_sails, batch.below_minimum, batch.late_joiners) == (5, "STANDARD", True)
    assert [(t.below_minimum, t.late_joiners) for t in house.terms if t.code == "STANDARD"] == [("", False)]
    assert (house.margins.target, house.margins.warning, house.margins.floor) == (Decimal("0.42"), Decimal("0.35"), Decimal("0.25"))
    assert [(t.code, t.fraction) for t in house.taxes] == [("S", Decimal("0.20")), ("Z", Decimal(0))]
    assert [p.material for p in house.pass_through] == ["LABEL-SK13", "MEASURING-SK13"]
    assert (house.table.length_mm, house.table.gap_mm, house.currency.code) == (12000.0, 4.0, "GBP")


@pytest.mark.parametrize(
    ("label", "was", "now", "expected"),
    [
        (
            "margins out of order",
            "floor = 0.25",
            "floor = 0.45",
            ("margins.target", "out_of_order", "0.45 (floor), 0.35 (warning) and 0.42 (target) should rise"),
        ),
        ("a tax that has no rate", 'sails = "S"', 'sails = "X"', ("tax.sails", "unknown_tax", "'X' is not one of the rates S, Z")),
        (
            "nothing productive",
            "productive_fraction = 0.75",
            "productive_fraction = 0",
            ("labour.productive_fraction", "zero", "should be above 0: it divides the rate"),
        ),
        (
            "a currency that is none",
            'currency = "GBP"',
            'currency = "QQQ"',
            ("profile.currency", "unknown_currency", "'QQQ' is not one of AUD, BHD"),
        ),
        (
            "tiers that do not rise",
            "from_sails = 10",
            "from_sails = 5",
            ("terms[1].tiers[1].from_sails", "not_rising", "the tiers rise in number"),
        ),
        (
            "terms below the minimum that the file has not",
            'below_minimum = "STANDARD"',
            'below_minimum = "STANDART"',
            ("terms[1].below_minimum", "unknown_terms", "there are no terms 'STANDART' in this file; did you mean STANDARD?"),
        ),
        (
            "terms below the minimum that have one themselves",
            'below_minimum = "STANDARD"',
            'below_minimum = "ASSOC-2026"',
            ("terms[1].below_minimum", "asks_for_a_number", "terms ASSOC-2026 ask for 5 sails themselves"),
        ),
        (
            "late joiners in words",
            "late_joiners = true",
            'late_joiners = "yes"',
            ("terms[1].late_joiners", "wrong_value", "'yes' should be true or false"),
        ),
        (
            "a station that the loft has not",
            'station = "cutter"',
            'station = "cuter"',
            ("labour.operations[1].station", "wrong_value", "'cuter' is not one of desk, cutter, sewer, finisher; did you mean cutter?"),
        ),
        (
            "an operation twice",
            'operation = "stick_seams"',
            'operation = "sort_panels"',
            ("labour.operations[4].operation", "twice", "sort_panels stands in operations[3] already"),
        ),
        (
            "a negative number",
            "minutes = 20 }",
            "minutes = -20 }",
            ("labour.operations[0].terms[0].minutes", "out_of_range", "-20 is less than 0"),
        ),
        ("a number as text", "deposit = 0.5", 'deposit = "0,5"', ("terms[0].deposit", "wrong_value", "a decimal point and not a comma")),
        ("no number", "deposit = 0.5", "deposit = nan", ("terms[0].deposit", "wrong_value", "should be a number")),
        ("no switch", "= false  # true: holes", '= "table"  # true: holes', ("table.window_holes", "wrong_value", "true or false")),
        ("a table of no length", 'length = "12 m"', 'length = "0 m"', ("table.length", "zero", "should be above 0")),
    ],
)
def test_a_wrong_house(label: str, was: str, now: str, expected: tuple[str, str, str]) -> None:
    assert was in HOUSE, label
    path, code, words = expected
    found = [message for p, c, message in house_problems(HOUSE.replace(was, now, 1)) if (p, c) == (path, code)]
    assert len(found) == 1 and words in found[0], label


def test_a_supplier_list() -> None:
    file = formats.read_prices(skerling.text("tarnside_2026.toml"))
    cloths = {c.code: c for c in file.cloths}
    assert (cloths["DW170"].width_mm, cloths["DW170"].usable_width_mm, cloths["DW170"].orientation) == (1370.0, 1355.0, Orientation.FILL)
    assert round(cloths["DW150"].gsm, 1) == 149.9  # 3.5 sailmaker's ounces, 42.828 g/m2 each
    row = next(r for r in file.prices.rows if r.material == "DW170")
    assert (row.row, row.unit, [(b.from_quantity, str(b.unit_cost)) for b in row.breaks]) == (
        12, "m", [(0, "16.40"), (50, "15.20"), (80, "13.95")],
    )  # fmt: skip
    assert file.names["FILM-05"] == "clear window film 0.5 mm"


def test_everything_wrong_with_a_supplier_list_at_once() -> None:
    with pytest.raises(InputError) as raised:
        formats.read_prices(skerling.text("bad/prices_wrong.toml"))
    assert {(p.path, p.code) for p in raised.value.problems} == {
        ("list.valid_to", "ends_before_start"),
        ("list.currency", "unknown_currency"),
        ("cloth[0].usable_width", "above_width"),
        ("cloth[0].orientation", "wrong_value"),
        ("rows[0].breaks[2].from", "not_rising"),
        ("rows[0].breaks[2].cost", "wrong_value"),
        ("rows[1].breaks[0].from", "not_zero"),
        ("rows[1].breaks[0].cost", "too_fine"),
        ("rows[1].material", "twice"),
    }


@pytest.mark.parametrize(
    ("label", "was", "now", "expected"),
    [
        (
            "a break finer than is kept",
            "from = 50,",
            "from = 50.0005,",
            ("rows[0].breaks[1].from", "too_fine", "50.0005 has more than three decimals"),
        ),
        (
            "an endless number",
            "cost = 16.40",
            "cost = inf",
            ("rows[0].breaks[0].cost", "wrong_value", "Infinity should be a number without quotes"),
        ),
        (
            "a cost beyond reason",
            "cost = 16.40",
            "cost = 1e9",
            ("rows[0].breaks[0].cost", "out_of_range", "1000000000 is not between 0 and 1000000"),
        ),
        (
            "a unit that is a sentence",
            'unit = "m"',
            'unit = "metres of one metre each"',
            ("rows[0].unit", "too_long", "has 24 characters; at most 20 are kept"),
        ),
    ],
)
def test_a_wrong_supplier_list(label: str, was: str, now: str, expected: tuple[str, str, str]) -> None:
    text = skerling.text("tarnside_2026.toml")
    assert was in text, label
    with pytest.raises(InputError) as raised:
        formats.read_prices(text.replace(was, now, 1))
    assert [(p.path, p.code, p.message) for p in raised.value.problems] == [expected], label


def test_every_kit_item_of_the_pattern_has_a_price_and_its_driver_exists() -> None:
    house = skerling.house()
    priced = {row.material for one in house.lists for row in one.rows}
    counted = {k.counts_as for k in house.pattern.kit}
    assert {k.material for k in house.pattern.kit} | {p.material for p in house.pass_through} <= priced
    assert {k.per for k in house.pattern.kit} <= DRIVERS.keys() | counted


def test_the_order_of_work_names_operations_of_the_house() -> None:
    house = skerling.house()
    assert set(house.pattern.steps) <= {o.operation for o in house.labour.operations}


@pytest.mark.parametrize("gap", ["0 mm", "4 m"])
def test_a_gap_that_no_tool_needs_is_told_at_its_row(gap: str) -> None:
    text = skerling.text("larkfield_2026.toml").replace('gap = "4 mm"', f'gap = "{gap}"')
    with pytest.raises(InputError) as caught:
        formats.read_house(text)
    ((path, code),) = [(p.path, p.code) for p in caught.value.problems]
    assert (path, code) == ("table.gap", "impossible")


@pytest.mark.parametrize(("label", "width", "where"), [("no width", "0 mm", "width"), ("all rim", "12 mm", "width")])
def test_a_roll_without_usable_width_is_told_at_its_row(label: str, width: str, where: str) -> None:
    text = skerling.text("tarnside_2026.toml").replace('width = "36 in"', f'width = "{width}"')
    with pytest.raises(InputError) as caught:
        formats.read_prices(text)
    (found,) = caught.value.problems
    assert (found.path, found.code) == (f"cloth[5].{where}", "zero"), label
    assert "no usable width: its rims take 15 mm" in found.message


def test_a_width_that_is_no_length_is_told_once() -> None:
    text = skerling.text("tarnside_2026.toml").replace('width = "36 in"', 'width = "-36 in"')
    with pytest.raises(InputError) as refused:
        formats.read_prices(text)
    (found,) = refused.value.problems
    assert found.path.endswith("].width") and "write it without a sign" in found.message
