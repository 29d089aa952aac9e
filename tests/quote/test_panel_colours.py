"""Panels in a colour of their own: each colour is a lay and a roll, and which colours they are makes no other design."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing import cloth
from costing.cloth import ColourSlot
from costing.errors import Collector, InputError
from costing.prices import Gone, SupplierList
from costing.quote import BatchResult, Design, House, SailRequest, colours, freeze_design, price_batch, thaw_design
from costing.quote.batch import made_of
from costing.quote.costs import needs
from costing.quote.wanted import wanted_sails
from tests import skerling, spinnakers

ACCENT = ("H1", "H3", "H5", "T2", "C2")


def priced(*wanted: str, house: House | None = None) -> BatchResult:
    boats = [SailRequest(f"row {i}", f"Boat {i}", f"Owner {i}", None, colour=colour) for i, colour in enumerate(wanted, start=2)]
    return price_batch(spinnakers.request(*boats), house or spinnakers.symmetric(), on=skerling.PRICED_ON)


def design_of(result: BatchResult) -> Design:
    (found,) = result.designs.values()
    return found


def refused(*wanted: str, house: House | None = None) -> list[tuple[str, str, str]]:
    with pytest.raises(InputError) as caught:
        priced(*wanted, house=house)
    return [(p.path, p.code, p.message) for p in caught.value.problems]


@pytest.mark.parametrize(
    ("label", "text", "written", "slots"),
    [
        ("one colour", "red", "red", frozenset()),
        ("none asked for: the cloth's first", "", "white", frozenset()),
        ("two", "red + accent white", "red + accent white", frozenset({"accent"})),
        ("as people write it", " Red +Accent  ROYAL BLUE", "red + accent royal blue", frozenset({"accent"})),
        ("an accent of the body's colour is no accent", "red + accent red", "red", frozenset()),
    ],
)
def test_a_line_of_colours(label: str, text: str, written: str, slots: frozenset[str]) -> None:
    (sail,) = priced(text).batch.sails
    assert sail.colour == written, label
    assert colours.slots_in(written) == slots, label


def test_each_colour_is_a_lay_of_its_own_parts() -> None:
    design = design_of(priced("white + accent red"))
    body, accent = design.lays
    assert (body.material, body.colour, accent.material, accent.colour) == ("NR41", "", "NR41", "accent")
    assert sorted(p.part_id for p in accent.placements) == sorted(ACCENT)
    assert {p.id for p in design.parts} - set(ACCENT) == {p.part_id for p in body.placements}
    for lay in design.lays:
        own = {"": tuple(p for p in design.parts if p.colour == lay.colour)}
        assert cloth.audit_lay(lay, own, design.cloth, design.table) == ()


def test_which_colours_they_are_makes_no_other_design_but_that_there_are_two_does() -> None:
    assert len(priced("white + accent red", "yellow + accent royal blue").designs) == 1
    assert len(priced("white + accent red", "white", "red").designs) == 2


def test_metres_and_set_up_are_of_each_colour() -> None:
    design = design_of(result := priced("white + accent red"))
    (line,) = (line for line in result.batch.sails[0].cost_lines if line.code == "NR41")
    metres = [Decimal(str(round(lay.length_mm / 1000, 3))) for lay in design.lays]
    assert line.quantity == sum(metres, Decimal(0))
    assert line.how == f"white: laid in 1 section, {metres[0].normalize()} m; red: laid in 1 section, {metres[1].normalize()} m"
    # a roll is loaded for each: 8 minutes a lay, twice
    (cut,) = (o for o in result.batch.sails[0].operations if o.operation == "lay_and_cut")
    assert cut.lay_min == 2 * 8


def test_what_a_sail_needs_of_a_cloth_is_the_sum_over_its_colours() -> None:
    request, house = spinnakers.request(SailRequest("row 2", "Heron", "M", None, colour="white + accent red")), spinnakers.symmetric()
    (wanted,) = wanted_sails(request, house, Collector())
    design = design_of(priced("white + accent red"))
    taken = needs(made_of(wanted, design, (), house))
    assert taken["NR41"] == (sum((Decimal(str(round(lay.length_mm / 1000, 3))) for lay in design.lays), Decimal(0)), "m")


def test_special_cloth_is_bought_by_colour() -> None:
    """Sold by 10 m at least: what the two colours take, 7 and 3 m or so, is bought as 10 m of each."""
    house = spinnakers.symmetric()
    lists = tuple(_by_ten(listed) for listed in house.lists)
    result = priced("white + accent red", house=replace(house, lists=lists, special_as_bought=True))
    (line,) = (line for line in result.batch.sails[0].cost_lines if line.code == "NR41")
    assert line.quantity == Decimal(20)
    assert line.how.count("10 m charged") == 2


def _by_ten(listed: SupplierList) -> SupplierList:
    rows = tuple(replace(row, minimum=Decimal(10), special=True) if row.material == "NR41" else row for row in listed.rows)
    return replace(listed, rows=rows)


def test_a_design_with_colours_comes_back_from_its_bytes() -> None:
    design = design_of(priced("white + accent red"))
    assert thaw_design(freeze_design(design)) == design


@pytest.mark.parametrize(
    ("label", "text", "told"),
    [
        ("a slot that the pattern has not", "white + stripe red", "'stripe red' names no panels that may have a colour of their own"),
        ("a slot without a colour", "white + accent", "after + stands one of accent and its colour"),
        ("a colour that the cloth has not", "white + accent tan", "NR41 comes in white, red, royal blue, yellow, not in 'tan'"),
    ],
)
def test_a_colour_that_cannot_be_made(label: str, text: str, told: str) -> None:
    ((path, code, message),) = refused(text)
    assert (path, code) == ("row 2.colour", "unknown_colour"), label
    assert told in message, label


def test_a_sail_whose_pattern_has_no_slots_is_of_one_colour() -> None:
    boat = replace(skerling.batch().sails[0], colour="white + accent red")
    with pytest.raises(InputError) as caught:
        price_batch(replace(skerling.batch(), sails=(boat,)), skerling.house(), on=skerling.PRICED_ON)
    assert "this sail is of one colour" in caught.value.problems[0].message


@pytest.mark.parametrize(
    ("label", "slots", "code"),
    [
        ("a panel that the sail has not", (ColourSlot("accent", ("H1", "H9")),), "unknown_panel"),
        ("a panel in two slots", (ColourSlot("accent", ("H1",)), ColourSlot("stripe", ("H1",))), "panel_twice"),
    ],
)
def test_a_pattern_that_colours_wrongly(label: str, slots: tuple[ColourSlot, ...], code: str) -> None:
    house = spinnakers.symmetric()
    wrong = replace(house, pattern=replace(house.pattern, make=replace(house.pattern.make, colours=slots)))
    line = " + ".join(["white", *(f"{slot.name} {colour}" for slot, colour in zip(slots, ("red", "yellow"), strict=False))])
    assert [found[1] for found in refused(line, house=wrong)] == [code], label


def test_a_panel_in_a_colour_that_is_no_longer_sold() -> None:
    house = spinnakers.symmetric()
    without = replace(house.cloths["NR41"], colours=("white", "royal blue", "yellow"))
    gone = (Gone("NR41", "red", "Tarnside Sailcloth", "2026-B", skerling.PRICED_ON),)
    later = replace(house, cloths={**house.cloths, "NR41": without}, gone=gone)
    ((path, code, message),) = refused("white + accent red", house=later)
    assert (path, code) == ("row 2.colour", "discontinued")
    assert message.startswith("NR41 in red is discontinued")
    assert len(priced("white + accent yellow", house=later).batch.sails) == 1


def test_every_colour_of_a_line() -> None:
    assert colours.all_in("white + accent red + stripe white") == ("white", "red")
    assert colours.all_in("royal blue") == ("royal blue",)
