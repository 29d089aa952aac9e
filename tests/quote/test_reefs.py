"""A reef: made, timed and measured where its patches are, and a limit that a design has no value for kept in sight."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import dist
from textwrap import dedent

import pytest
from shapely import LineString, Point

from costing import quote
from costing.cloth import EdgePatch
from costing.errors import InputError
from costing.quote import Design, PricedSail, editions
from costing.rules import Choice, Limit, OptionRule
from loft.catalogue import formats
from loft.documents import quote_designs
from tests import skerling

D = Decimal
LUFF = EdgePatch("reef 1 luff", "luff", 1000.0, 120.0, 2, "", "reef")
LEECH = EdgePatch("reef 1 leech", "leech", 1000.0, 120.0, 2, "", "reef")
HEIGHT = Limit("reef_height", "C.8", D(900), None, "900 mm")
PATCHES = Limit("batten_pocket_reinforcement", "C.9", None, D(80), "80 mm", note="battens in")
THIRD = Limit("width", "C.10", None, D(900), "900 mm", open="the station is not stated")


def made(*patches: EdgePatch, limits: tuple[Limit, ...] = ()) -> tuple[PricedSail, Design]:
    """The first boat's main under a class that requires a reef, with these patches."""
    house, whole = skerling.house(), skerling.batch()
    main, *others = house.class_rule.sails
    options = (*(o for o in main.options if o.option != "reef"), OptionRule("reef", Choice.REQUIRED, "C.8"))
    rule = replace(house.class_rule, sails=(replace(main, limits=(*main.limits, *limits), options=options), *others))
    pattern = replace(house.pattern, make=replace(house.pattern.make, edge_patches=(*house.pattern.make.edge_patches, *patches)))
    pattern = replace(pattern, steps=(*pattern.steps, "reef_rows"))
    result = quote.price_batch(
        replace(whole, sails=whole.sails[:1]), replace(house, class_rule=rule, pattern=pattern), on=skerling.PRICED_ON
    )
    (design,) = result.designs.values()
    return result.batch.sails[0], design


def test_a_reef_is_cut_sewn_and_timed() -> None:
    sail, design = made(LUFF, LEECH)
    ids = [p.label for p in design.parts if p.kind == "patch" and p.id.lower().startswith("reef")]
    assert len(ids) == 2 * 2  # two layers at the luff and two at the leech
    (minutes,) = (o for o in sail.operations if o.operation == "reef_rows")
    assert minutes.own_min == 60  # one row, whatever patches it has: 60 minutes by the house's standard
    plain, _ = made()
    assert sail.cost > plain.cost


def test_its_height_is_measured_from_the_tack_and_compared() -> None:
    _, design = made(LUFF, LEECH, limits=(HEIGHT,))
    (room,) = (r for r in design.headroom if r.limit.measurement == "reef_height")
    assert (room.value, room.room) == (D(1000), D(100))  # the pattern's figure is the finished one
    with pytest.raises(InputError) as caught:
        made(LUFF, LEECH, limits=(replace(HEIGHT, minimum=D(1100)),))
    assert [p.code for p in caught.value.problems] == ["outside_minimum"]


def test_its_rings_lie_as_far_from_tack_and_clew_as_is_said() -> None:
    """In a straight line, the middle of each ring 35 mm square inside its curved edge."""
    _, design = made(LUFF, LEECH, limits=(HEIGHT,))
    rings = {ring.name: ring for ring in design.rings}
    assert list(rings) == ["cunningham", "reef 1 luff", "reef 1 leech"]
    (room,) = (r for r in design.headroom if r.limit.measurement == "reef_height")
    assert D(str(rings["reef 1 luff"].from_corner_mm)) == room.value
    outline = design.outline
    for ring, corner, edge in (
        (rings["reef 1 luff"], outline.tack_point, outline.luff), (rings["reef 1 leech"], outline.clew_point, outline.leech),
    ):  # fmt: skip
        assert ring.from_corner_mm == 1000 == pytest.approx(dist(corner, ring.at), abs=0.001)
        assert LineString(edge).distance(Point(ring.at)) == pytest.approx(35, abs=0.05)


def test_a_sail_that_was_cut_keeps_the_reef_that_it_has() -> None:
    """Earlier releases put the ring of such a pattern elsewhere: a later edition is compared with where it is, not with the pattern."""
    _, design = made(LUFF, LEECH, limits=(HEIGHT,))
    pattern = skerling.house().pattern
    reefed = replace(pattern, make=replace(pattern.make, edge_patches=(*pattern.make.edge_patches, LUFF, LEECH)))
    before = replace(design, rings=tuple(replace(r, from_corner_mm=1010.974) if r.name == LUFF.name else r for r in design.rings))
    rule = skerling.house().class_rule.sails[0]
    assert editions.values_of(before, reefed, rule)["reef_height", None] == (D("1010.974"),)


def test_a_ring_that_no_edge_has_is_refused_at_its_place() -> None:
    for far in (20.0, 6000.0):
        with pytest.raises(InputError) as caught:
            made(replace(LUFF, from_corner_mm=far), LEECH)
        assert [p.code for p in caught.value.problems] == ["off_the_edge"]


def test_its_place_is_the_pattern_s_and_its_sizes_are_said_so() -> None:
    sail, design = made(LUFF, LEECH, limits=(HEIGHT,))
    assert quote_designs.source(design, "reef_height") == "pattern"
    assert ("Reef", "C.8") in sail.required


def test_the_example_of_a_reef_makes_one() -> None:
    """What fixtures/README.md gives as the example, put into the fixtures' pattern."""
    readme = (skerling.FIXTURES / "README.md").read_text(encoding="utf-8")
    example = dedent(readme[readme.index("    [[options]]") :].partition("\n\nand `")[0])
    own = skerling.text("sk13_main_v3.toml")
    forbidden = '[[options]]\ncode = "reef"\nlabel = "Reef"\nchoice = "forbidden"\nrule = "C.6.5 (b)"\n'
    assert own.count(forbidden) == 1
    read = formats.read_pattern(own.replace(forbidden, "") + "\n" + example)
    reef = {p.name: (p.edge, p.from_corner_mm) for p in read.make.edge_patches if p.option == "reef"}
    assert reef == {"reef 1 luff": ("luff", 1000.0), "reef 1 leech": ("leech", 1100.0)}
    assert [(o.label, o.choice, o.rule) for o in read.options if o.code == "reef"] == [("Reef", Choice.REQUIRED, "C.8")]


def test_a_limit_without_a_value_stays_in_sight() -> None:
    _, design = made(limits=(HEIGHT, PATCHES, THIRD))
    assert [(x.limit.rule, x.reason) for x in design.open_limits] == [
        ("C.8", "measure the finished sail"),
        ("C.9", "measure the finished sail"),
        ("C.10", "cannot determine; the station is not stated"),
    ]
