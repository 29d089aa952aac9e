"""A class file: what it means, and everything that can be wrong with it at once."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.measurements import SailKind
from costing.rules import Choice, ClassRule, LeechPoint, Measured, Station
from loft.catalogue import formats
from tests import skerling

HEAD = """
[class]
code = "P"
name = "P"
authority = "P"
edition = "1"
valid_from = 2001-01-01
hull_length = "11'6\\""
[[sail]]
kind = "mainsail"
condition = "flat"
limits = [
"""


def rule_with(*limits: str) -> ClassRule:
    return formats.read_class(HEAD + "\n".join(f"{{ rule = 'r', {limit} }}," for limit in limits) + "]")


def problems(text: str) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as raised:
        formats.read_class(text)
    return [(p.path, p.code, p.message) for p in raised.value.problems]


def test_the_invented_class() -> None:
    rule = formats.read_class(skerling.text("skerling_13_2025.toml"))
    main = rule.sail(SailKind.MAINSAIL)
    half = main.limit("half_width")
    assert (rule.code, rule.edition, rule.hull_length_mm, rule.valid_to) == ("SK13", "2025", Decimal(3960), None)
    assert half is not None
    assert (half.rule, half.minimum, half.maximum, half.printed) == ("C.6.3 (f)", Decimal(1380), Decimal(1475), "min 1380 mm, max 1475 mm")
    assert {o.option: o.choice for o in main.options}["reef"] is Choice.FORBIDDEN
    assert main.royalty_label is not None and main.royalty_label.required


# The Penguin class's printed limits (penguinclass.com/sailspec.htm, rule 23.4): feet and inches, exact in mm at 25.4 mm an inch.
@pytest.mark.parametrize(
    ("measurement", "printed", "mm"),
    [
        ("luff_length", "16'0\"", "4876.8"),
        ("foot_length", "8'8\"", "2641.6"),
        ("leech_length", "16'6\"", "5029.2"),
        ("foot_round", "0'6\"", "152.4"),
        ("quarter_width", '86.5"', "2197.1"),
    ],
)
def test_a_limit_in_feet_and_inches_is_exact_and_keeps_its_text(measurement: str, printed: str, mm: str) -> None:
    limit = rule_with(f"measurement = '{measurement}', maximum = '''{printed}'''").sails[0].limits[0]
    assert (limit.maximum, limit.printed) == (Decimal(mm), f"max {printed}")


# J/105 Class Rules, February 2000, print 7 oz as 300 g/m2 and 6 oz as 257 g/m2: the sailmaker's ounce.
@pytest.mark.parametrize(("ounces", "printed_gsm"), [("7 oz", 300), ("6 oz", 257)])
def test_cloth_weight_in_sailmakers_ounces(ounces: str, printed_gsm: int) -> None:
    limit = rule_with(f"measurement = 'cloth_weight', minimum = '{ounces}'").sails[0].limits[0]
    assert limit.minimum is not None and round(limit.minimum) == printed_gsm


@pytest.mark.parametrize(
    ("limit", "printed"),
    [
        ("measurement = 'batten_pocket_count', minimum = 3, maximum = 3", "exactly 3"),
        ("measurement = 'cloth_weight', minimum = '160 g/m2'", "min 160 g/m2"),
        ("measurement = 'top_width', maximum = '5.5 in', printed = 'not more than 5 1/2 inches'", "not more than 5 1/2 inches"),
    ],
)
def test_how_papers_quote_a_limit(limit: str, printed: str) -> None:
    assert rule_with(limit).sails[0].limits[0].printed == printed


def test_every_wrong_limit_is_named_at_once() -> None:
    found = {path: (code, message) for path, code, message in problems(skerling.text("bad/class_limits_wrong.toml"))}
    at = "sail[0].limits"
    expected = {
        f"{at}[0].measurement": ("unknown_measurement", "'luff_lenght' is not a measurement; did you mean luff_length?"),
        f"{at}[1].maximum": ("wrong_value", "'5,57 m' is not a length: write a point for the decimals"),
        f"{at}[2].minimum": ("above_maximum", "1470 mm is more than the maximum 1460 mm"),
        f"{at}[3].maximum": ("wrong_value", '860 should be text with its unit, for example "860 mm"'),
        f"{at}[4].maximum": ("missing", "a limit has a minimum, a maximum or both"),
        f"{at}[5].maximum": ("wrong_value", "'0.35' should be an area such as \"0.35 m2\""),
        f"{at}[6].minimum": ("wrong_value", "'160 gramm' is not a weight of cloth"),
        f"{at}[7].rule": ("missing", "is missing"),
        f"{at}[8].maximun": ("unknown_key", "is not known here; did you mean maximum?"),
        f"{at}[9].measurement": ("twice", "foot_length has a limit already, in limits[8]"),
    }
    assert found.keys() == expected.keys()
    for path, (code, words) in expected.items():
        assert found[path][0] == code and words in found[path][1], path


def test_every_wrong_word_of_the_head_is_named_at_once() -> None:
    found = {path: message for path, _, message in problems(skerling.text("bad/class_head_wrong.toml"))}
    assert found == {
        "class.name": "is missing",
        "class.nmae": "is not known here; did you mean name?",
        "class.authority": "is empty",
        "class.edition": "2027 should be text in quotes",
        "class.valid_from": "'1 March 2027' should be a date without quotes, year first: 2026-03-01",
        "sail[0].kind": "'mainsial' is not one of mainsail, headsail, symmetric_spinnaker, asymmetric_spinnaker, trysail, storm_jib; "
        "did you mean mainsail?",
    }


@pytest.mark.parametrize(
    ("label", "text", "words"),
    [
        ("no text", "  \n", "the file is empty"),
        ("a comma in a number", skerling.text("bad/class_not_toml.toml"), "at line 12, column 76"),
        ("a day the other way round", "valid_from = 01-02-2000  # Feb", "year first and without quotes: 2000-02-01"),
        ("a month alone", "valid_from = 2000-02", "year first and without quotes: 2000-02-01"),
        ("a day with points", "on = { from = 01.01.2026, to = 2 }", "year first and without quotes: 2000-02-01"),
        ("no day of the calendar", "valid_from = 2000-02-31", "A date is a day of the calendar"),
        ("a number with a comma", "a = 3,5", "Text stands in quotes, numbers take a decimal point"),
        ("two numbers on a line", "a = 12.5 b", "Text stands in quotes, numbers take a decimal point"),
        ("a number of thousands of digits", "code = " + "9" * 5000, "Exceeds the limit"),
        ("brackets in brackets", "code = " + "[" * 20_000, "file: "),
        ("a long code", HEAD.replace('code = "P"', f'code = "{"P" * 41}"') + "]", "class.code: has 41 characters; at most 40"),
        ("no table", "code = 3", "class: is missing"),
        ("a table that is a word", 'class = "SK13"', "class: should be a table"),
        ("no sail", HEAD.split("[[sail]]")[0], "sail: is missing"),
        ("limits that are words", HEAD.replace("limits = [", 'limits = ["luff"]'), "sail[0].limits: should be a list of tables"),
        ("no limits", HEAD + "]", "sail[0].limits: at least 1 needed"),
    ],
)
def test_a_file_that_is_no_class(label: str, text: str, words: str) -> None:
    assert words in "; ".join(f"{path}: {message}" for path, _, message in problems(text)), label


def test_an_edition_cannot_end_before_it_starts() -> None:
    text = HEAD.replace("2001-01-01", "2001-01-01\nvalid_to = 2000-12-31") + "{ rule = 'r', measurement = 'top_width', maximum = '1 m' }]"
    assert problems(text) == [("class.valid_to", "ends_before_start", "2000-12-31 is before valid_from 2001-01-01")]


def test_line_ends_and_byte_order_mark_of_another_system() -> None:
    text = skerling.text("skerling_13_2025.toml")
    assert formats.read_class("\ufeff" + text.replace("\n", "\r\n")) == formats.read_class(text)


# -- richer limits


def test_exact_permitted_station_and_dated_limits_are_read() -> None:
    limits = rule_with(
        "measurement = 'number_height', exactly = '300 mm'",
        "measurement = 'cloth_weight', permitted = ['160 g/m2', '7 oz']",
        "measurement = 'width', station = { from = 'head', distance = '1250 mm' }, maximum = '600 mm'",
        "measurement = 'width', station = { from = 'head', part = '1/3' }, maximum = '900 mm'",
        "measurement = 'width', station_stated = false, maximum = '42 in'",
        "measurement = 'leech_length', maximum = '5570 mm', measured = 'first', certified_from = 2026-01-01, certified_to = 2026-12-31",
        "measurement = 'leech_length', maximum = '5590 mm', measured = 'again'",
        "measurement = 'foot_length', open = 'nominal, no tolerance'",
    ).sails[0].limits  # fmt: skip
    number, cloth, at, third, somewhere, first, again, left_open = limits
    assert (number.minimum, number.maximum, number.printed) == (Decimal(300), Decimal(300), "exactly 300 mm")
    assert (cloth.permitted[0], round(cloth.permitted[1]), cloth.printed) == (Decimal(160), 300, "one of 160 g/m2, 7 oz")
    assert (at.value_name, third.value_name) == ("width@1250 mm from the head", "width@1/3 of the leech from the head")
    assert somewhere.station == Station() and not somewhere.station.stated
    assert (first.measured, first.certified_from, first.certified_to) == (Measured.FIRST, date(2026, 1, 1), date(2026, 12, 31))
    assert (again.measured, left_open.open) == (Measured.AGAIN, "nominal, no tolerance")


def test_a_leech_s_round_is_read_with_its_two_points() -> None:
    limits = rule_with("measurement = 'leech_round', maximum = '0 mm', station = { from = 'aft_head', to = 'half' }").sails[0].limits
    (straight,) = limits
    assert straight.station == Station(between=(LeechPoint.AFT_HEAD, LeechPoint.HALF)) and straight.station.stated
    assert (straight.value_name, straight.maximum) == ("leech_round@aft head point to half leech point", Decimal(0))


def test_formulas_are_read_and_printed_as_they_stand() -> None:
    limits = rule_with(
        "measurement = 'half_width', maximum_formula = '0.65 * foot_length'",
        "measurement = 'ratio', formula = 'half_width / foot_length', minimum = 0.55",
        "measurement = 'area', formula = 'luff_length * foot_length / 2', maximum = '8 m2'",
    ).sails[0].limits  # fmt: skip
    assert [x.printed for x in limits] == ["max 0.65 * foot_length", "min 0.55", "max 8 m2"]
    assert limits[0].maximum_formula == "0.65 * foot_length"


@pytest.mark.parametrize(
    ("label", "limits", "path", "code", "part"),
    [
        (
            "a wrong formula", ["measurement = 'half_width', maximum_formula = 'foot_length *'"],
            "limits[0].maximum_formula", "wrong_formula", "character 14",
        ),
        (
            "an area for a length", ["measurement = 'half_width', maximum_formula = 'foot_length * foot_length'"],
            "limits[0].maximum_formula", "wrong_unit", "gives an area, not a length",
        ),
        (
            "round a circle",
            [
                "measurement = 'half_width', maximum_formula = '0.6 * foot_length'",
                "measurement = 'foot_length', maximum_formula = 'half_width / 0.6'",
            ],
            "limits[0]", "circular", "mainsail.half_width needs mainsail.foot_length needs mainsail.half_width",
        ),
        (
            "by itself", ["measurement = 'half_width', maximum_formula = 'half_width + 1 mm'"],
            "limits[0]", "circular", "mainsail.half_width needs mainsail.half_width",
        ),
        (
            "exactly and maximum", ["measurement = 'foot_length', exactly = '2 m', maximum = '2.1 m'"],
            "limits[0].exactly", "given_twice", "leave out maximum",
        ),
        (
            "value and formula", ["measurement = 'foot_length', maximum = '2 m', maximum_formula = '2 m'"],
            "limits[0].maximum_formula", "given_twice", "give one of the two",
        ),
        ("a ratio of what?", ["measurement = 'ratio', minimum = 0.6"], "limits[0].formula", "missing", "say how"),
        ("a leech from where to where?", ["measurement = 'leech_round', maximum = '0 mm'"], "limits[0].station", "missing", "aft_head"),
        (
            "its points the wrong way round",
            ["measurement = 'leech_round', maximum = '5 mm', station = { from = 'clew', to = 'half' }"],
            "limits[0].station.to", "wrong_value", "half leech point is not below clew point",
        ),
        ("a width where?", ["measurement = 'width', maximum = '1 m'"], "limits[0].station", "missing", "station_stated = false"),
        (
            "a station without place", ["measurement = 'width', maximum = '1 m', station = { from = 'head' }"],
            "limits[0].station.distance", "missing", "one of the two",
        ),
        (
            "a part that is none", ["measurement = 'width', maximum = '1 m', station = { from = 'head', part = '3/3' }"],
            "limits[0].station.part", "wrong_value", "1/3",
        ),
        (
            "days that end before they start",
            ["measurement = 'foot_length', maximum = '2 m', certified_from = 2026-03-01, certified_to = 2026-02-01"],
            "limits[0].certified_to", "ends_before_start", "before",
        ),
        (
            "inches read as mm", ["measurement = 'luff_length', maximum = '192 mm'"], "limits[0].maximum", "looks_like_a_slip",
            "max 192 mm does not go with a hull of 3,505.2 mm: 192 in would be 4,876.8 mm",
        ),
        (
            "a width in inches too", ["measurement = 'half_width', maximum = '64'"], "limits[0].maximum", "looks_like_a_slip",
            "64 in would be 1,625.6 mm",
        ),
        ("feet read as mm", ["measurement = 'luff_length', minimum = '16'"], "limits[0].minimum", "looks_like_a_slip", "were inches, feet"),
        (
            "the same limit twice on the same days", ["measurement = 'foot_length', maximum = '2 m'"] * 2,
            "limits[1].measurement", "twice", "limits[0]",
        ),
    ],
)  # fmt: skip
def test_wrong_richer_limits(label: str, limits: list[str], path: str, code: str, part: str) -> None:
    found = problems(HEAD + "\n".join(f"{{ rule = 'r', {limit} }}," for limit in limits) + "]")
    assert any((p, c) == (f"sail[0].{path}", code) and part in m for p, c, m in found), (label, found)


def test_five_thousand_limits_are_refused_with_one_problem() -> None:
    rows = "\n".join(f"{{ rule = '{i}', measurement = 'width', station_stated = false, maximum = '1 m' }}," for i in range(5000))
    assert [(p, c) for p, c, _ in problems(HEAD + rows + "]")] == [("sail[0].limits", "too_many")]


NUMBERS = """
[[numbers]]
kind = "mainsail"
rule = "C.6.6 (a)"
height = "250 mm"
gap = "50 mm"
edge = "60 mm"
back_to_back = true
colours = ["black", "red"]
"""
ONE_LIMIT = "{ rule = 'r', measurement = 'top_width', maximum = '1 m' }]"


def test_a_class_s_style_of_numbers_is_read() -> None:
    rule = formats.read_class(HEAD + ONE_LIMIT + NUMBERS)
    style = rule.number_style(SailKind.MAINSAIL)
    assert style is not None and rule.number_style(SailKind.HEADSAIL) is None
    assert (style.rule, style.height_mm, style.gap_mm, style.edge_mm) == ("C.6.6 (a)", 250.0, 50.0, 60.0)
    assert (style.back_to_back, style.colours) == (True, ("black", "red"))


def test_two_styles_for_one_kind_and_a_height_without_unit_are_named_at_once() -> None:
    found = problems(HEAD + ONE_LIMIT + NUMBERS + NUMBERS.replace('"250 mm"', "250"))
    assert {(path, code) for path, code, _ in found} >= {("numbers[1].kind", "twice"), ("numbers[1].height", "wrong_value")}


def test_a_kind_by_a_sailors_word_is_one_mistake() -> None:
    text = skerling.text("skerling_13_2025.toml")
    found = problems(text.replace('kind = "symmetric_spinnaker"', 'kind = "gennaker"'))
    assert [(path, code) for path, code, _ in found] == [("sail[2].kind", "wrong_value")]
    assert found[0][2].endswith("; did you mean asymmetric_spinnaker?")


def test_a_spinnaker_may_be_either() -> None:
    found = problems(skerling.text("skerling_13_2025.toml").replace('kind = "symmetric_spinnaker"', 'kind = "spinnaker"'))
    assert found[0][2].endswith("; did you mean symmetric_spinnaker or asymmetric_spinnaker?")


def test_a_girth_is_named_as_the_width_that_it_is() -> None:
    found = problems(
        skerling.text("skerling_13_2025.toml").replace('measurement = "three_quarter_width"', 'measurement = "upper_quarter_girth"')
    )
    assert found[0][2] == "'upper_quarter_girth' is not a measurement; did you mean three_quarter_width?"


def test_a_number_is_shown_as_the_file_has_it() -> None:
    text = skerling.text("skerling_13_2025.toml")
    found = problems(text.replace('measurement = "luff_length", maximum = "5230 mm"', 'measurement = "batten_count", maximum = 4.5'))
    assert [m for _, _, m in found] == ["4.5 should be a whole number without quotes"]
