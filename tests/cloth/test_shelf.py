"""A shelf foot: cloth, seam and minutes are parts of the sail, counted once, and worked out by hand here."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest

from costing.cloth import audit_lay
from costing.errors import InputError
from costing.quote import BatchRequest, BatchResult, price_batch
from costing.sail.shape import Line
from loft.catalogue import formats
from loft.customers import boats_csv
from tests import skerling

SHELF = """
[make.shelf]
depth = "160 mm"
allowance = "10 mm"
option = "shelf"
"""
OPTION = """
[[options]]
code = "shelf"
label = "Shelf foot"
choice = "optional"

[[kit]]
material = "THREAD-V69"
per = "shelf_foot_m"
factor = 9.7
note = "polyester thread"
"""
BOATS = b"boat,owner,sail_number,options\nHeron,Maud Pellow,214,shelf\nWren,Ada Thwaite,215,\n"


def text() -> str:
    """The main's pattern with a shelf that a boat may choose."""
    main = skerling.text("sk13_main_v3.toml")
    assert main.count("[quote]\n") == 1 and main.count("[make.luff]\n") == 1 and main.count('"rings",') == 1
    main = main.replace("[make.luff]\n", f"{SHELF}\n[make.luff]\n").replace('"rings",', '"rings", "shelf_foot",')
    return main.replace("[quote]\n", f"{OPTION}\n[quote]\n")


@pytest.fixture(scope="module")
def priced() -> BatchResult:
    house = replace(skerling.house(), pattern=formats.read_pattern(text()))
    sails = boats_csv.read_boats(BOATS, pattern=house.pattern)
    return price_batch(BatchRequest("C", "trade", sails, skerling.TERMS), house, on=skerling.PRICED_ON)


def length(line: Line) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(line))


def test_its_cloth_is_one_part_whose_curve_is_as_long_as_the_foot(priced: BatchResult) -> None:
    design, plain = (priced.designs[s.design_key] for s in priced.batch.sails)
    (shelf,) = [p for p in design.parts if p.kind == "shelf"]
    (sewn,) = [m.line for m in shelf.marks if m.kind == "sew"]
    assert length(sewn) == pytest.approx(length(design.cut_outline.foot), abs=0.5)
    # a parabola of 160 mm over its chord: the chord is 8/3 x 160 squared / the foot shorter, to the mm
    foot = length(sewn)
    assert sewn[-1][0] - sewn[0][0] == pytest.approx(foot - 8 / 3 * 160**2 / foot, abs=1.0)
    # 15 mm of overlap on one side, 10 mm folded in on the other
    assert max(y for _, y in shelf.outer) == pytest.approx(160 + 15 + 10, abs=0.1)
    assert shelf.material == "DW170" and shelf.angles == (0, 180)
    (body,) = [lay for lay in design.lays if lay.material == "DW170"]
    assert "SHELF" in {place.part_id for place in body.placements}
    assert audit_lay(body, {"": design.parts}, design.cloth, design.table) == ()
    assert not [p for p in plain.parts if p.kind == "shelf"]


def test_seam_thread_and_minutes_go_by_the_foot(priced: BatchResult) -> None:
    (shelf, plain) = priced.batch.sails
    design, without = (priced.designs[s.design_key] for s in priced.batch.sails)
    metres = Decimal(repr(round(length(design.outline.foot) / 1000, 3)))
    assert design.takeoff.amount("shelf_foot_m") == metres
    assert design.takeoff.amount("seam_m") == without.takeoff.amount("seam_m")  # its minutes are in the shelf's 8 a metre
    minutes = {o.operation: o.own_min for o in shelf.operations}
    assert minutes["shelf_foot"] == metres * 8
    assert "shelf_foot" not in {o.operation for o in plain.operations}
    thread = [sum(c.quantity for c in s.cost_lines if c.code == "THREAD-V69") for s in (shelf, plain)]
    assert thread[0] - thread[1] == pytest.approx(metres * Decimal("9.7"), abs=Decimal("0.002"))
    assert shelf.cost > plain.cost


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('depth = "160 mm"', 'depth = "0 mm"', ("make.shelf.depth", "not_positive")),
        ('option = "shelf"\n', 'option = "shelve"\n', ("make.shelf.option", "unknown_option")),
        ('per = "shelf_foot_m"\nfactor = 9.7', 'per = "foot_m"\nfactor = 9.7\ncounts_as = "shelf_foot_m"', ("counts_as", "counted_twice")),
    ],
)
def test_what_is_wrong_is_told_with_its_path(old: str, new: str, said: tuple[str, str]) -> None:
    assert text().count(old) == 1
    with pytest.raises(InputError) as refused:
        formats.read_pattern(text().replace(old, new))
    assert [(p.path.endswith(said[0]), p.code) for p in refused.value.problems] == [(True, said[1])]
