"""What no headsail, storm jib or trysail is made of or in, and what each kind is made with."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import LineString, Polygon

from costing import cloth, sail
from costing.cloth import Edge, EdgeMethod, EdgePatch, Orientation, Pocket, Seam
from costing.errors import InputError
from costing.measurements import SailKind
from costing.sail import LuffCurve, SailShape
from tests.cloth.made_jibs import ROLLS, SAILS, built, make_of
from tests.cloth.skerling_main import FINISHED


class TestRefusals:
    @pytest.mark.parametrize(
        ("label", "cut", "orientation", "right"),
        [
            ("warp on a cross-cut", "cross-cut", Orientation.WARP, "take a fill-oriented or balanced cloth"),
            ("warp on a mitre cut", "mitre", Orientation.WARP, "take a fill-oriented or balanced cloth"),
            ("fill on a vertical cut", "vertical", Orientation.FILL, "take a warp-oriented or balanced cloth"),
        ],
    )
    def test_a_cloth_whose_strong_threads_lie_the_wrong_way(self, label: str, cut: str, orientation: Orientation, right: str) -> None:
        make = make_of(cut, SAILS["dinghy jib"])
        with pytest.raises(InputError) as caught:
            cloth.panels(sail.outline(SAILS["dinghy jib"]), make, replace(ROLLS[cut], orientation=orientation))
        (problem,) = caught.value.problems
        assert (problem.path, problem.code) == ("cloth.orientation", "orientation"), label
        assert right in problem.message

    @pytest.mark.parametrize("cut", ["cross-cut", "mitre", "vertical"])
    def test_balanced_cloth_suits_every_cut(self, cut: str) -> None:
        make = make_of(cut, SAILS["dinghy jib"])
        shape = sail.outline(cloth.cut_shape(SAILS["dinghy jib"], make))
        assert cloth.panels(shape, make, replace(ROLLS[cut], orientation=Orientation.BALANCED))

    @pytest.mark.parametrize(("cut", "shape"), [("mitre", FINISHED), ("vertical", FINISHED), ("vertical", SAILS["storm jib"])])
    def test_a_kind_that_is_not_made_so_says_what_is(self, cut: str, shape: SailShape) -> None:
        make = make_of("cross-cut", shape)
        with pytest.raises(InputError) as caught:
            cloth.panels(sail.outline(shape), replace(make, cut=cut), ROLLS[cut])
        assert caught.value.problems[0].code == "cut_of_another_kind"
        assert "is made cross-cut" in caught.value.problems[0].message

    def test_a_pocket_across_a_vertical_seam(self) -> None:
        make = make_of("vertical", SAILS["dinghy jib"])
        long = Pocket("long", 0.4, make.seams[0].height_mm + 40, 25, False, "")
        with pytest.raises(InputError) as caught:
            built("vertical", SAILS["dinghy jib"], make=replace(make, pockets=(long,)))
        assert [(p.path, p.code) for p in caught.value.problems] == [("make.pockets[long]", "seam_too_near")]

    def test_a_short_batten_within_the_leech_panel_is_drawn(self) -> None:
        make = replace(make_of("vertical", SAILS["dinghy jib"]), pockets=(Pocket("one", 0.5, 250, 25, False, ""),))
        main = built("vertical", SAILS["dinghy jib"], make=make)
        (mark,) = [m for p in main.panels for m in p.marks if m.kind == "pocket"]
        assert LineString(mark.line).length == pytest.approx(262.0, abs=0.01)
        (x0, _), (x1, _) = mark.line[0], mark.line[-1]
        assert abs(x0 - x1) < 1e-6  # square to the leech: across the roll

    def test_a_ring_in_the_way_of_the_mitre(self) -> None:
        make = make_of("mitre", SAILS["dinghy jib"])
        at = next(1.0 * h for h in range(200, 3000, 10) if _in_the_way(make, h))
        with pytest.raises(InputError) as caught:
            built("mitre", SAILS["dinghy jib"], make=replace(make, edge_patches=(EdgePatch("eye", "luff", at, 120, 2, "", ""),)))
        assert any("the mitre; 10 mm are needed" in p.message for p in caught.value.problems)

    def test_a_mitre_curve_too_sharp_to_sew(self) -> None:
        make = replace(make_of("mitre", SAILS["dinghy jib"]), mitre_broadseam_mm=60.0)
        with pytest.raises(InputError) as caught:
            built("mitre", SAILS["dinghy jib"], make=make)
        assert "broadseam_too_sharp" in {p.code for p in caught.value.problems}


def _in_the_way(make: cloth.Make, height: float) -> bool:
    try:
        built("mitre", SAILS["dinghy jib"], make=replace(make, edge_patches=(EdgePatch("eye", "luff", height, 120, 2, "", ""),)))
    except InputError as error:
        return any("the mitre;" in p.message for p in error.problems)
    return False


class TestStaySag:
    def test_a_hollow_luff_is_hollow_in_the_cut_sail(self) -> None:
        main = built("cross-cut", SAILS["dinghy jib"])
        assert max(x for x, _ in main.cut.luff) == pytest.approx(12.0, abs=0.1)

    def test_a_straight_luff_stays_straight(self) -> None:
        straight = replace(SAILS["dinghy jib"], luff_curve=LuffCurve(()))
        assert all(abs(x) < 1e-9 for x, _ in built("vertical", straight).cut.luff)


class TestKinds:
    @pytest.mark.parametrize("kind", [SailKind.HEADSAIL, SailKind.STORM_JIB, SailKind.TRYSAIL])
    def test_every_kind_is_made_cross_cut(self, kind: SailKind) -> None:
        name = next(n for n, shape in SAILS.items() if shape.kind is kind)
        assert len(built("cross-cut", SAILS[name]).panels) > 1

    def test_a_folded_foot_of_a_storm_jib_is_marked_to_fold(self) -> None:
        make = replace(make_of("cross-cut", SAILS["storm jib"]), foot=Edge(EdgeMethod.FOLDED, 25, 35))
        main = built("cross-cut", SAILS["storm jib"], make=make)
        assert {m.text for p in main.panels for m in p.marks if m.kind == "fold"} == {"foot"}

    def test_seams_are_kept_where_the_pattern_has_them(self) -> None:
        make = make_of("vertical", SAILS["dinghy jib"])
        moved = replace(make, seams=(Seam(make.seams[0].height_mm - 100),))
        main = built("vertical", SAILS["dinghy jib"], make=moved)
        # the panel at the leech is 100 mm narrower than the roll: it has the leech's hollow and allowance beside the seam's distance
        assert Polygon(main.panels[0].cut).bounds[3] == pytest.approx(moved.seams[0].height_mm + 5, abs=1.0)
