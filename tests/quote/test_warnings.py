"""What does not stop a quote and should be seen by the desk."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from costing.measurements import SailKind
from costing.quote import BatchRequest, House, SailRequest, price_batch
from costing.rules import NumberStyle
from tests import skerling

BASE = SailRequest("row 2", "Heron", "Maud Pellow", "214")


def _warnings(*sails: SailRequest, house: House | None = None, on: date = skerling.PRICED_ON) -> tuple[str, ...]:
    return price_batch(BatchRequest("Association", "trade", sails), house or _house(), on=on).batch.warnings


def _house(**terms: object) -> House:
    house = skerling.house()
    return replace(house, terms=replace(house.terms, **{"minimum_sails": 0, **terms}))  # type: ignore[arg-type]


def test_nothing_to_say() -> None:
    assert _warnings(BASE) == ()


@pytest.mark.parametrize(
    ("label", "terms", "told"),
    [
        ("too few sails", {"minimum_sails": 5}, "terms ASSOC-2026 ask for at least 5 sails; there are 1"),
        ("after the cut-off", {"cut_off": date(2026, 3, 1)}, "the cut-off of terms ASSOC-2026 was 2026-03-01"),
    ],
)
def test_terms(label: str, terms: dict[str, object], told: str) -> None:
    assert _warnings(BASE, house=_house(**terms)) == (told,), label


def test_the_cut_off_day_itself_is_in_time() -> None:
    assert _warnings(BASE, house=_house(cut_off=skerling.PRICED_ON)) == ()


def test_editions() -> None:
    house = _house()
    rules = replace(house.class_rule, edition="2027", valid_from=date(2027, 3, 1))
    assert _warnings(BASE, house=replace(house, class_rule=rules)) == (
        "edition 2027 of Skerling 13 is in force from 2027-03-01; the batch is priced for 2026-03-02",
        "pattern SK13-MAIN version 3 was drawn for edition 2025; the limits are those of 2027",
    )


def test_two_sails_for_one_boat_and_numbers_that_cannot_be_read() -> None:
    second = replace(BASE, path="row 3", number_colour="WHITE")
    assert _warnings(BASE, second) == (
        "sail number 214 is ordered 2 times: check that the sails are meant for one boat",
        "row 3, Heron 214: the numbers are as white as the sail and cannot be read",
    )


@pytest.mark.parametrize(
    ("colour", "told"),
    [
        ("black", ()),
        (
            "yellow",
            ("row 2, Heron 214: the numbers are yellow on white, contrast 1.4 where 3 is the least: they are hard to read on the water",),
        ),
        (
            "puce",
            ("row 2, Heron 214: the numbers are puce on white: no luminance of puce is known, look by eye whether they can be read",),
        ),
    ],
)
def test_numbers_are_told_that_do_not_stand_out_on_the_cloth(colour: str, told: tuple[str, ...]) -> None:
    assert _warnings(replace(BASE, number_colour=colour)) == told


def test_colours_that_the_class_does_not_want_are_told() -> None:
    style = NumberStyle(SailKind.MAINSAIL, "C.6.6 (a)", 300.0, 60.0, 60.0, colours=("black", "red"))
    house = _house()
    rules = replace(house.class_rule, numbers=(style,), insignia_colours=("yellow",))
    assert _warnings(replace(BASE, number_colour="blue"), house=replace(house, class_rule=rules)) == (
        "row 2, Heron 214: the numbers are blue; the class wants them black or red (C.6.6 (a))",
        "row 2, Heron 214: no colour that the class allows its insignia (yellow) stands out on white",
    )
    rules = replace(rules, insignia_colours=("yellow", "blue"))
    assert _warnings(replace(BASE, number_colour="Red"), house=replace(house, class_rule=rules)) == ()


def test_insignia_are_not_asked_about_where_a_sail_wears_none() -> None:
    house = _house()
    rules = replace(house.class_rule, insignia_colours=("yellow",))
    without = replace(BASE, declined=BASE.declined | {"insignia"})
    assert _warnings(without, house=replace(house, class_rule=rules)) == ()


def test_thin_margins_are_named() -> None:
    """With 42 % aimed at, 42 % off the price leaves nothing: below the floor for the sail and for the batch."""
    house = _house(early_discount=skerling.house().margins.target)
    told = _warnings(BASE, house=house)
    assert [t.split(":")[0] for t in told] == ["row 2, Heron 214", "the whole batch"]
    assert all("is below the floor of 25 %; the owner must agree" in t for t in told)


def test_numbers_without_characters_in_the_kit() -> None:
    """Minutes are charged and no material: told once with every row, also where the pattern has no such option and so always numbers."""
    own = _house()
    bare = replace(own.pattern, kit=tuple(i for i in own.pattern.kit if i.per != "number_character"))
    always = replace(bare, options=tuple(o for o in bare.options if o.code != "numbers"))
    for pattern in (bare, always):
        assert _warnings(BASE, replace(BASE, path="row 3", boat="Dipper", sail_number="187"), house=replace(own, pattern=pattern)) == (
            'row 2, row 3: no row of [[kit]] of SK13-MAIN is per = "number_character": '
            "the minutes of its sail numbers are charged and no characters",
        )
