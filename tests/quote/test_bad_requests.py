"""Everything wrong with a batch, in one answer, each with its row and column."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from costing.errors import InputError, Problem
from costing.quote import BatchRequest, House, SailRequest, price_batch
from costing.rules import Choice, OptionRule
from costing.sail import LuffCurve
from costing.takeoff import KitItem
from tests import skerling

BASE = SailRequest("row 2", "Heron", "Maud Pellow", "214")


def _refused(*sails: SailRequest, house: House | None = None, on: date = skerling.PRICED_ON) -> tuple[Problem, ...]:
    request = BatchRequest("Association", "trade", sails)
    with pytest.raises(InputError) as refused:
        price_batch(request, house or skerling.house(), on=on)
    return refused.value.problems


@pytest.mark.parametrize(
    ("label", "change", "path", "code", "told"),
    [
        ("unknown cloth", {"cloth": "DW17O"}, "row 2.cloth", "unknown_cloth", "did you mean DW170?"),
        ("film is no sailcloth", {"cloth": "FILM-05"}, "row 2.cloth", "unknown_cloth", "there is no sailcloth 'FILM-05'"),
        ("too light for the class", {"cloth": "DW150"}, "row 2.cloth", "cloth_too_light",
         "the class asks for at least 160 g/m2 (C.6.2 (c))"),
        ("warp-oriented on a cross-cut", {"cloth": "WP175"}, "row 2.cloth", "orientation", "take a fill-oriented or balanced cloth"),
        ("no price on the day", {"cloth": "DW185"}, "row 2.cloth", "no_price", "no price for DW185 on 2 Mar 2026; no list names it"),
        ("colour that the cloth has not", {"colour": "tan"}, "row 2.colour", "unknown_colour", "white, light grey, red, not in 'tan'"),
        ("unknown option", {"options": frozenset({"windoe"})}, "row 2.options", "unknown_option", "did you mean window?"),
        ("required option left out", {"declined": frozenset({"numbers"})}, "row 2.options", "required_option",
         "Sail numbers on both sides is required (C.6.6 (a)) and cannot be left out"),
        ("forbidden option chosen", {"options": frozenset({"reef"})}, "row 2.options", "forbidden_option", "Reef is forbidden (C.6.5 (b))"),
        ("both chosen and left out", {"options": frozenset({"window"}), "declined": frozenset({"window"})}, "row 2.options",
         "contradiction", "both chosen and left out"),
        ("over a limit", {"sizes": {"leech_length": Decimal("5580")}}, "row 2.leech_length", "outside_maximum", "10 mm over the maximum"),
        ("ten times off", {"sizes": {"luff_length": Decimal("52100")}}, "row 2.luff_length", "looks_like_a_slip", "5,210 mm meant"),
        ("a thousand times off", {"sizes": {"luff_length": Decimal("5.21")}}, "row 2.luff_length", "looks_like_a_slip", "5,210 mm meant"),
        ("wider than the station below", {"sizes": {"quarter_width": Decimal("1450")}}, "row 2.half_width", "wider_than_below",
         "larger than the quarter width"),
        ("number that is none", {"sail_number": "2;4"}, "row 2.sail_number", "characters", "is no sail number"),
    ],
)  # fmt: skip
def test_one_problem(label: str, change: dict[str, object], path: str, code: str, told: str) -> None:
    problems = _refused(replace(BASE, **change))  # type: ignore[arg-type]
    assert [(p.path, p.code) for p in problems] == [(path, code)], label
    assert told in problems[0].message


def test_a_part_that_the_pattern_cannot_have_is_told_at_the_pattern_s_row() -> None:
    house = skerling.house()
    lower, middle, top = house.pattern.make.pockets
    make = replace(house.pattern.make, pockets=(lower, replace(middle, batten_length_mm=1640.0), top))
    (problem,) = _refused(BASE, house=replace(house, pattern=replace(house.pattern, make=make)))
    assert (problem.path, problem.code) == ("row 2.make.pockets[1].batten_length", "pocket_too_long")
    assert problem.message.startswith("pattern SK13-MAIN version 3: pocket middle is 1,652 mm long inside")
    told = _refused(
        BASE, replace(BASE, path="row 3", boat="Dipper", owner="B", sail_number="187"),
        replace(BASE, path="row 4", boat="Wren", owner="C", sail_number="215"),
        house=replace(house, pattern=replace(house.pattern, make=make)),
    )  # fmt: skip
    assert [(p.path, p.message) for p in told] == [(problem.path, f"{problem.message}; the same stands against row 3, row 4")]


@pytest.mark.parametrize(
    ("label", "stations", "code", "told"),
    [
        # the pattern's curve: 52 mm forward at half the luff
        ("ten times", ((0.5, 500.0),), "looks_like_a_slip", "is about 10 times the offset at 0.5 of the pattern's luff, 52 mm"),
        ("inches", ((0.5, 2.0),), "looks_like_a_slip", "looks like inches: was 50.8 mm meant?"),
        ("centimetres", ((0.5, 5.0),), "looks_like_a_slip", "looks like centimetres, or a digit that is missing: was 50 mm meant?"),
        ("negative", ((0.5, -45.0),), "negative", "-45 mm at 0.5 hollows the luff, and the pattern's runs 52 mm forward: was 45 mm meant?"),
        ("six times", ((0.5, 312.0),), "out_of_range", "312 mm at 0.5 is far more than the pattern's 52 mm"),
    ],
)
def test_a_luff_curve_that_cannot_be_meant_is_told_as_the_curve(
    label: str, stations: tuple[tuple[float, float], ...], code: str, told: str
) -> None:
    curve = LuffCurve(((0.0, 0.0), *stations, (1.0, 0.0)))
    (problem,) = _refused(replace(BASE, luff_curve=curve))
    assert (problem.path, problem.code) == ("row 2.luff_curve", code), label
    assert told in problem.message
    assert problem.message.endswith("there, 7 mm to 104 mm can be made, or 0 for a straight luff")


@pytest.mark.parametrize("offset", [0.0, 7.0, 104.0])
def test_what_a_refused_luff_curve_is_told_to_be_can_be_made(offset: float) -> None:
    curve = LuffCurve(((0.0, 0.0), (0.5, offset), (1.0, 0.0)))
    request = BatchRequest("Association", "trade", (replace(BASE, luff_curve=curve),))
    (sail,) = price_batch(request, skerling.house(), on=skerling.PRICED_ON).batch.sails
    assert sail.label == "Heron 214"


def test_a_bad_luff_curve_comes_with_the_sizes_that_are_wrong() -> None:
    curve = LuffCurve(((0.0, 0.0), (0.5, 500.0), (1.0, 0.0)))
    problems = _refused(replace(BASE, luff_curve=curve, sizes={"leech_length": Decimal("5580")}))
    assert {p.path for p in problems} == {"row 2.luff_curve", "row 2.leech_length"}


def test_no_triangle() -> None:
    sizes = {"luff_length": Decimal("2900"), "leech_length": Decimal("5560"), "foot_length": Decimal("2400")}
    problems = _refused(replace(BASE, sizes=sizes))
    assert "triangle" in " ".join(p.message for p in problems)


def test_one_number_for_two_owners_is_told_on_both_rows() -> None:
    other = SailRequest("row 9", "Siskin", "Gil Ashby", " 214")
    problems = _refused(BASE, other)
    assert [(p.path, p.code) for p in problems] == [("row 2.sail_number", "duplicate_number"), ("row 9.sail_number", "duplicate_number")]
    assert problems[0].message.endswith("Maud Pellow (Heron, row 2), Gil Ashby (Siskin, row 9)")


def test_all_problems_of_all_boats_in_one_answer() -> None:
    wrong = (
        replace(BASE, cloth="WP17", colour="tan", sizes={"leech_length": Decimal("5580"), "foot_length": Decimal("2461")}),
        replace(BASE, path="row 3", sail_number="7", options=frozenset({"reef", "windoe"}), declined=frozenset({"numbers"})),
        replace(BASE, path="row 4", owner="Jory Thwaite", cloth="DW150", colour="tan"),
    )
    found = {(p.path, p.code) for p in _refused(*wrong)}
    assert found == {
        ("row 2.cloth", "unknown_cloth"), ("row 2.leech_length", "outside_maximum"), ("row 2.foot_length", "outside_maximum"),
        ("row 3.options", "forbidden_option"), ("row 3.options", "unknown_option"), ("row 3.options", "required_option"),
        ("row 2.sail_number", "duplicate_number"), ("row 4.sail_number", "duplicate_number"), ("row 4.cloth", "cloth_too_light"),
    }  # fmt: skip


def test_every_material_without_a_price_is_named() -> None:
    house = skerling.house()
    ended = tuple(replace(one, valid_to=date(2026, 12, 31)) if one.supplier.startswith("Skerling") else one for one in house.lists)
    problems = _refused(BASE, house=replace(house, lists=ended), on=date(2027, 1, 2))
    assert {p.path for p in problems} == {"prices.INSIGNIA-SK13", "prices.LABEL-SK13", "prices.MEASURING-SK13"}
    assert "no price for LABEL-SK13 on 2 Jan 2027; the nearest list is Skerling Class Association" in " ".join(p.message for p in problems)


def test_the_class_may_require_what_the_pattern_leaves_open() -> None:
    house = skerling.house()
    rule = house.class_rule.sail(house.pattern.sail_kind)
    strict = replace(rule, options=(OptionRule("window", Choice.REQUIRED, "C.9"),))
    strict_house = replace(house, class_rule=replace(house.class_rule, sails=(strict,)))
    problems = _refused(replace(BASE, declined=frozenset({"window"})), house=strict_house)
    assert [(p.code, p.message) for p in problems] == [("required_option", "Window is required (C.9) and cannot be left out")]


def test_a_design_outside_a_limit_is_refused_even_if_nobody_asked_for_it() -> None:
    """Window area 0.56 x 0.36 = 0.2016 m2 over a limit of 0.2 m2."""
    house = skerling.house()
    rule = house.class_rule.sail(house.pattern.sail_kind)
    limits = tuple(replace(x, maximum=Decimal("0.2")) if x.measurement == "window_area" else x for x in rule.limits)
    strict = replace(house, class_rule=replace(house.class_rule, sails=(replace(rule, limits=limits),)))
    problems = _refused(replace(BASE, options=frozenset({"window"})), house=strict)
    assert [(p.path, p.code) for p in problems] == [("row 2.window_area", "outside_maximum")]
    assert "0.2016 m2 is 0.0016 m2 over the maximum of 0.2 m2 (C.6.2 (e))" in problems[0].message


def test_what_the_house_got_wrong_is_told_beside_what_the_boats_got_wrong() -> None:
    house = skerling.house()
    pattern = replace(house.pattern, kit=(*house.pattern.kit, KitItem("BAG-3", "sails", Decimal(1))))
    broken = replace(house, pattern=pattern, sail_tax="X")
    codes = [p.code for p in _refused(replace(BASE, colour="tan"), house=broken)]
    assert codes == ["unknown_driver", "unknown_tax", "unknown_colour"], codes


def test_an_empty_batch() -> None:
    assert [(p.path, p.code) for p in _refused()] == [("sails", "empty")]
