"""Jibs and storm jibs from the class's limits to a price, in every cut; amounts worked out by hand beside each."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
import shapely

from costing.cloth import audit_lay
from costing.cloth.features import hank_points
from costing.cloth.frame import edges_in_frame
from costing.cloth.make import Hanks
from costing.errors import InputError
from costing.quote import Design
from tests import headsails, skerling

CUTS = ("cross-cut", "mitre", "vertical")
HEAD = "boat,owner,sail_number,luff_length,luff_curve,options,cloth\n"


def first(cut: str) -> Design:
    result = headsails.priced(cut)
    return result.designs[result.batch.sails[0].design_key]


def refused(row: str, cut: str = "cross-cut") -> list[tuple[str, str]]:
    with pytest.raises(InputError) as caught:
        headsails.priced_boats(headsails.house(cut), (HEAD + row + "\n").encode())
    return [(p.path, p.code) for p in caught.value.problems]


@pytest.mark.parametrize("cut", CUTS)
class TestEveryCut:
    def test_four_boats_are_three_or_fewer_designs_inside_the_class(self, cut: str) -> None:
        result = headsails.priced(cut)
        assert len(result.batch.sails) == 4
        for design in result.designs.values():
            assert all(room.room >= 0 for room in design.headroom)
            assert {r.limit.rule for r in design.headroom} >= {"C.7.3 (a)", "C.7.3 (b)", "C.7.3 (c)", "C.7.3 (e)", "C.7.3 (f)"}

    def test_the_sizes_are_limit_less_margin(self, cut: str) -> None:
        # C.7.3: luff 3750, leech 3400, foot 1680 less 10 each; half width 735 less 5
        sizes = dict(first(cut).sizes)
        found = [str(sizes[n]) for n in ("luff_length", "leech_length", "foot_length", "half_width")]
        assert found == ["3740.0", "3390.0", "1670.0", "730.0"]

    def test_every_lay_passes_its_audit(self, cut: str) -> None:
        design = first(cut)
        for lay in design.lays:
            sails = {"": tuple(p for p in design.parts if p.material == lay.material)}
            assert audit_lay(lay, sails, skerling.house().cloths[lay.material], design.table) == ()

    def test_seams_are_counted_once(self, cut: str) -> None:
        # cross-cut: between 3 panels; vertical: between 2; mitre: one of 2 above, 1 below and the mitre itself
        assert first(cut).takeoff.amount("seam") == {"cross-cut": 2, "vertical": 1, "mitre": 2 + 1 + 1}[cut]

    def test_totals_are_the_sum_of_the_lines(self, cut: str) -> None:
        batch = headsails.priced(cut).batch
        assert batch.totals.net == sum((sail.net for sail in batch.sails), Decimal(0))
        assert batch.totals.gross == batch.totals.net + batch.totals.tax


@pytest.mark.parametrize(("cut", "smaller"), [("cross-cut", True), ("vertical", False)])
def test_the_luff_perpendicular_stands_against_its_limit_as_the_sewn_sail_has_it(cut: str, smaller: bool) -> None:
    """The flat sail's is 1508.2 mm; what is taken out and given back to an edge moves it. The limit is 1520 (C.7.3 (e))."""
    design = first(cut)
    (room,) = [r for r in design.headroom if r.limit.rule == "C.7.3 (e)"]
    assert (room.value < Decimal("1508.2")) is smaller
    assert abs(room.value - Decimal("1508.2")) > Decimal("1.5")
    assert room.room == Decimal(1520) - room.value


class TestTakeOff:
    def test_hanks_one_near_each_end_and_none_farther_apart_than_stated(self) -> None:
        # the cut luff, 3740 x 1.002 and what the broadseams take, less 60 mm at each end: 3637 mm are 7 parts of at most 600
        assert math.ceil((3740 - 120) / 600) == 7
        assert first("cross-cut").takeoff.amount("hank") == 8

    def test_hanks_are_drawn_where_they_are_pressed_on(self) -> None:
        drawn = [m for p in first("cross-cut").panels for m in p.marks if m.kind == "hank"]
        assert len(drawn) == 8

    def test_wire_tape_and_rings_by_the_kit(self) -> None:
        materials = {m.material: m for m in first("cross-cut").takeoff.materials}
        assert materials["LUFF-WIRE-3"].amount == Decimal("3.740") * Decimal("1.08")
        assert materials["LUFF-TAPE-100"].amount == Decimal("3.740") * Decimal("1.03")
        assert (materials["RING-12"].amount, materials["HANK-8"].amount, materials["BATTEN-20"].amount) == (3, 8, 2)

    @pytest.mark.parametrize("cut", ["cross-cut", "mitre", "vertical"])
    def test_no_hank_sits_on_a_seam(self, cut: str) -> None:
        """On the cloth: 10 mm for its foot and 10 mm clear of each sew line, 15 mm more where the overlap lies."""
        hanks = 0
        for panel in first(cut).panels:
            places = [shapely.Point(m.line[2]) for m in panel.marks if m.kind == "hank"]
            hanks += len(places)
            for sew, overlap in ((panel.lower_sew, 0), (panel.upper_sew, 15), *((s.line, 0) for s in panel.more_sews)):
                assert not sew or all(shapely.LineString(sew).distance(place) > overlap + 19.5 for place in places), (panel.mark, cut)
        assert hanks == first(cut).takeoff.amount("hank") >= 8

    def test_a_hank_on_a_seam_moves_to_its_nearer_side_and_the_others_stay(self) -> None:
        design, make = first("cross-cut"), headsails.pattern().make
        edges = edges_in_frame(design.cut_outline, make)
        plain = hank_points(edges, Hanks(600.0))
        height = plain[3, 1] + 4.0  # the fourth from the tack, 4 mm below a seam
        across = np.array(((edges.across(height)[0], height), (edges.across(height)[1], height)))
        moved = hank_points(edges, Hanks(600.0), [across], 15.0)
        steps = np.hypot(*(moved - plain).T)
        assert [round(float(step)) for step in steps[[0, 1, 2, 4, 5, 6, 7]]] == [0] * 7
        assert height - moved[3, 1] == pytest.approx(15 + 10 + 10, abs=0.1)
        assert np.hypot(*np.diff(moved, axis=0).T).max() <= 600.0

    def test_one_hank_more_where_moving_would_leave_too_long_a_gap(self) -> None:
        design, make = first("cross-cut"), headsails.pattern().make
        edges = edges_in_frame(design.cut_outline, make)
        tight = Hanks(float(np.hypot(*np.diff(hank_points(edges, Hanks(600.0))[:2], axis=0)[0])) + 1.0)
        height = hank_points(edges, tight)[3, 1]
        across = np.array(((edges.across(height)[0], height), (edges.across(height)[1], height)))
        assert (len(hank_points(edges, tight)), len(hank_points(edges, tight, [across], 15.0))) == (8, 9)

    def test_minutes_of_hanks_and_tell_tales(self) -> None:
        sail = headsails.priced().batch.sails[0]
        minutes = {o.operation: str(o.own_min) for o in sail.operations}
        # hanks 8 x 3 (as slides), three rings at 4, one set of tell-tales 5 (common practice, no source); luff tape 3.74 m x 4
        assert (minutes["hanks"], minutes["rings"], minutes["tell_tales"]) == ("24.000", "12.000", "5.000")
        assert minutes["luff_tape"] == "14.960"

    def test_no_numbers_where_the_class_forbids_them(self) -> None:
        for sail in headsails.priced().batch.sails:
            assert sail.numbers is None
            assert "numbers" not in {o.operation for o in sail.operations}


class TestRefusals:
    @pytest.mark.parametrize(
        ("label", "row", "cut", "expected"),
        [
            ("a luff over its limit", "Heron,A,214,3760 mm,,,", "cross-cut", ("row 2.luff_length", "outside_maximum")),
            ("numbers that the class forbids", "Heron,A,214,,,numbers,", "cross-cut", ("row 2.options", "forbidden_option")),
            ("hanks left out that the class requires", "Heron,A,214,,,no hanks,", "cross-cut", ("row 2.options", "required_option")),
            ("warp cloth on a cross-cut", "Heron,A,214,,,,WP175", "cross-cut", ("row 2.cloth", "orientation")),
            ("fill cloth on a vertical cut", "Heron,A,214,,,,DW170", "vertical", ("row 2.cloth", "orientation")),
            ("a luff full where the stay sags", "Heron,A,214,,0.5:8,,", "cross-cut", ("row 2.luff_curve", "forward")),
            ("a luff hollow by far too much", "Heron,A,214,,0.5:-80,,", "cross-cut", ("row 2.luff_curve", "out_of_range")),
        ],
    )
    def test_said_under_the_row(self, label: str, row: str, cut: str, expected: tuple[str, str]) -> None:
        assert expected in refused(row, cut), label

    def test_a_stay_that_sags_otherwise_is_a_variant(self) -> None:
        result = headsails.priced_boats(headsails.house(), (HEAD + "Heron,A,214,,0.25:-9 0.5:-12 0.75:-9,,\n").encode())
        (design,) = result.designs.values()
        assert design.variant
        assert max(x for x, _ in design.outline.luff) == pytest.approx(12.0, abs=0.1)


class TestStormJib:
    def test_area_and_luff_stand_against_the_boats_own_rig(self) -> None:
        """0.255 x luff x (LP + 2 x half width), at most 5 % of IM squared (Offshore Special Regulations, second-hand)."""
        sail = headsails.storm_jibs().batch.sails[0]
        sizes = dict(headsails.storm_jibs().designs[sail.design_key].sizes)
        area = Decimal("0.255") * sizes["luff_length"] * (sizes["luff_perpendicular"] + 2 * sizes["half_width"]) / 1_000_000
        im = Decimal(9620) * 2840 / (2840 - 55 + 92)
        (said,) = [text for text in sail.assumed if text.startswith("On this boat's rig: area")]
        found, most = (float(word) for word in said.replace("On this boat's rig: area ", "").split(" m2")[0].split(" of at most "))
        assert found == pytest.approx(float(area), abs=0.002)
        assert most == pytest.approx(float(Decimal("0.05") * im * im / 1_000_000), abs=0.001)

    def test_a_boat_with_too_little_rig_is_refused(self) -> None:
        small = b"boat,owner,sail_number,forestay_height,foretriangle_base,forestay_offset,mast_width\nWren,A,7,8.0 m,2.5 m,55 mm,92 mm\n"
        with pytest.raises(InputError) as caught:
            headsails.priced_boats(headsails.storm_house(), small)
        assert [(p.path, p.code) for p in caught.value.problems] == [("row 2.area", "outside_maximum")]

    def test_a_boat_whose_rig_asks_for_nothing_else_has_the_patterns_own_sail(self) -> None:
        (design,) = headsails.storm_jibs().designs.values()
        assert not design.variant

    def test_it_is_made_of_the_cloth_that_is_seen(self) -> None:
        assert {(s.colour, s.cloth_label.split(" ")[0]) for s in headsails.storm_jibs().batch.sails} == {("fluorescent orange", "woven")}
