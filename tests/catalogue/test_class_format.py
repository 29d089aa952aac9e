"""A class file: what it means, and everything that can be wrong with it at once."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.errors import InputError
from costing.measurements import SailKind
from costing.rules import Choice, ClassRule
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
