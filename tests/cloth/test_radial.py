"""Gored spinnakers: nothing lost, nothing twice, seams that fit, mirrors that are mirrors, sizes that hold when sewn, refusals that help.

What is compared with is worked out from the cut pieces themselves (their sew lines, edge lines and rings), not from the layout.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from shapely import LineString, Point, Polygon
from shapely.affinity import scale

from costing import cloth, sail
from costing.cloth import Centre, Edge, EdgeMethod, Gores, Orientation, Panel, Patch, Seam, Sew, TakeUp
from costing.errors import InputError
from costing.measurements import SailKind
from costing.sail import Point as At
from tests.cloth.sewn import across, half_width_points, seam_pieces, together
from tests.cloth.spinnakers import CLEW, HEAD, NYLON, SAILS, TACK, bare, built, made

SYMMETRIC = tuple(label for label in SAILS if label.startswith("symmetric"))
SHAPED = pytest.mark.parametrize("label", SAILS)
MIRRORED = pytest.mark.parametrize("label", SYMMETRIC)


class TestOutlineKept:
    @SHAPED
    def test_without_take_up_and_broadseam_the_sewn_panels_are_the_outline(self, label: str) -> None:
        plain = bare(label)
        finished = Polygon(sail.outline(plain.finished).ring)
        assert together(plain).hausdorff_distance(finished.exterior) < 1.0
        assert sum(Polygon(p.finished).area for p in plain.panels) == pytest.approx(finished.area, rel=1e-5)

    @SHAPED
    def test_and_each_is_cut_as_it_is_in_the_sail(self, label: str) -> None:
        """Turned on the roll, never mirrored and never resized."""
        for panel in bare(label).panels:
            cut, own = Polygon(panel.cut), Polygon(panel.finished)
            assert cut.area == pytest.approx(own.area, rel=1e-4), panel.mark
            assert cut.exterior.is_ccw == own.exterior.is_ccw, panel.mark
            assert Polygon(_turned_onto(panel)).symmetric_difference(cut).area < 1e-3 * cut.area, panel.mark

    @SHAPED
    def test_panels_of_the_shaped_sail_make_up_the_cut_outline(self, label: str) -> None:
        shaped = built(label)
        whole = Polygon(shaped.cut.ring)
        assert together(shaped).hausdorff_distance(whole.exterior) < 1.0
        assert sum(Polygon(p.finished).area for p in shaped.panels) == pytest.approx(whole.area, rel=1e-5)


def _turned_onto(panel: Panel) -> list[At]:
    """The finished edge turned so that one of its sew lines lies on that of the cut panel."""
    sew = panel.more_sews[0]
    (ax, ay), (bx, by) = sew.line[0], sew.line[-1]
    (cx, cy), (dx, dy) = sew.on_sail[0], sew.on_sail[-1]
    turn = math.atan2(by - ay, bx - ax) - math.atan2(dy - cy, dx - cx)
    c, s = math.cos(turn), math.sin(turn)
    return [((x - cx) * c - (y - cy) * s + ax, (x - cx) * s + (y - cy) * c + ay) for x, y in panel.finished]


class TestSeams:
    @SHAPED
    def test_neighbours_sew_lines_are_equally_long(self, label: str) -> None:
        pieces = list(seam_pieces(built(label)))
        assert len(pieces) >= len(SAILS[label][1].seams) + sum(g.count for g in SAILS[label][1].gores)
        for one, other, sew, back in pieces:
            mine, its = LineString(sew.line).length, LineString(back.line).length
            assert mine == pytest.approx(its, abs=0.5), f"{one.mark} to {other.mark} at {sew.seam}"
            assert LineString(sew.on_sail).length == pytest.approx(mine, abs=0.5 + 1e-3), "the shaping curve is eased in"

    @SHAPED
    def test_both_panels_name_the_same_piece_of_the_sail(self, label: str) -> None:
        for _, _, sew, back in seam_pieces(built(label)):
            assert [c for p in sew.on_sail for c in p] == pytest.approx([c for p in back.on_sail for c in p], abs=1e-6)

    @SHAPED
    def test_half_the_overlap_lies_outside_each_sew_line(self, label: str) -> None:
        shaped = built(label)
        for one, other, sew, back in seam_pieces(shaped):
            for panel, line in ((one, sew.line), (other, back.line)):
                middle = LineString(line).interpolate(0.5, normalized=True)
                assert Polygon(panel.cut).exterior.distance(middle) == pytest.approx(shaped.make.seam_overlap_mm / 2, abs=0.05)
                assert Polygon(panel.cut).contains(middle)

    def test_what_is_full_in_the_middle_is_taken_out_at_the_ends(self) -> None:
        """Two gores with 8 mm between them: each stands 4 mm outside the straight line half way, nothing at both ends."""
        (gore,) = (p for p in built("symmetric tri-radial").panels if p.mark == "H2")
        (sew,) = (s for s in gore.more_sews if s.seam == "head seam 2")
        chord = LineString((sew.line[0], sew.line[-1]))
        assert max(chord.distance(Point(p)) for p in sew.line) == pytest.approx(4.0, abs=0.01)
        assert chord.distance(LineString(sew.line).interpolate(0.5, normalized=True)) == pytest.approx(4.0, abs=0.01)

    @SHAPED
    def test_strike_up_marks_meet(self, label: str) -> None:
        """Of every two panels, the ticks of both stand at the same distance from the start of their seam."""
        compared = 0
        for one, other, sew, back in seam_pieces(built(label)):
            at = [_ticks(panel, piece) for panel, piece in ((one, sew), (other, back))]
            assert len(at[0]) == len(at[1]) >= 1, f"{one.mark} to {other.mark}"
            assert at[0] == pytest.approx(at[1], abs=0.5)
            compared += len(at[0])
        assert compared >= 16

    @SHAPED
    def test_marks_lie_on_their_panel(self, label: str) -> None:
        for panel in built(label).panels:
            room = Polygon(panel.cut).buffer(0.05)
            for mark in panel.marks:
                assert all(room.contains(Point(p)) for p in mark.line), f"{panel.mark}: {mark.kind} {mark.text}"
            (named,) = (m for m in panel.marks if m.kind == "mark")
            assert named.text == panel.mark


def _ticks(panel: Panel, sew: Sew) -> list[float]:
    line = LineString(sew.line)
    named = [m for m in panel.marks if m.kind == "strike-up" and m.text.rsplit(" ", 1)[0] == sew.to]
    ticks = [m for m in named if line.distance(Point(m.line[0])) < 0.5]
    return sorted(line.project(Point(m.line[0])) for m in ticks)


class TestWarp:
    @SHAPED
    def test_gores_lie_along_the_warp(self, label: str) -> None:
        """The corner is at one end of the roll's direction, and the middle of what the gore ends on is level with it."""
        shaped = built(label)
        corners = {"H": shaped.cut.head_point, "T": shaped.cut.tack_point, "C": shaped.cut.clew_point}
        for panel in shaped.panels:
            if panel.mark[0] == "P":
                continue
            ends = [s for s in panel.more_sews if s.seam.endswith("joint")]
            first, last = _outermost([p for s in ends for p in (s.line[0], s.line[-1])])
            apexes = [s.line[0] for s in panel.more_sews if " seam " in s.seam]
            assert apexes
            assert all(math.dist(s.on_sail[0], corners[panel.mark[0]]) < 1e-6 for s in panel.more_sews if " seam " in s.seam)
            x, y = (first[0] + last[0]) / 2, (first[1] + last[1]) / 2
            assert all(apex[1] == pytest.approx(y, abs=0.01) and apex[0] < x for apex in apexes), panel.mark

    def test_a_cross_cut_centre_lies_square_to_the_centreline_and_a_vertical_one_along_it(self) -> None:
        across = built("symmetric tri-radial").panel("P1")
        (seam,) = (s for s in across.more_sews if s.seam == "seam 1")
        assert seam.line[0][1] == pytest.approx(seam.line[-1][1], abs=1e-6)
        upright = built("asymmetric tri-radial, vertical centre").panel("P2")
        for seam in (s for s in upright.more_sews if s.seam in ("seam 1", "seam 2")):
            assert seam.line[0][1] == pytest.approx(seam.line[-1][1], abs=1e-6)

    @pytest.mark.parametrize("label", SAILS)
    def test_fill_oriented_cloth_is_refused(self, label: str) -> None:
        with pytest.raises(InputError, match=r"does not suit a .* sail: its gores run along the warp"):
            built(label, replace(NYLON, orientation=Orientation.FILL))
        assert built(label, replace(NYLON, orientation=Orientation.BALANCED)).panels

    def test_no_part_is_ever_flipped(self) -> None:
        """On cloth whose sides differ, as on any: a mirrored gore is a part of its own."""
        shaped = built("symmetric tri-radial")
        assert not NYLON.same_faced
        assert {p.angles for p in shaped.parts} == {(0, 180)}
        assert {"T1", "C1", "H1", "H5"} <= {p.id for p in shaped.parts}


def _outermost(points: list[At]) -> tuple[At, At]:
    return max(((a, b) for a in points for b in points), key=lambda pair: math.dist(*pair))


class TestMirrors:
    @MIRRORED
    def test_left_and_right_gores_are_true_mirrors(self, label: str) -> None:
        shaped = built(label)
        heads = next(g.count for g in shaped.make.gores if g.corner is HEAD)
        pairs = [(f"H{k}", f"H{heads + 1 - k}") for k in range(1, heads // 2 + 1)]
        pairs += [(p.mark, "C" + p.mark[1:]) for p in shaped.panels if p.mark[0] == "T"]
        assert len(pairs) >= 2
        for left, right in pairs:
            one, other = Polygon(shaped.panel(left).cut), Polygon(shaped.panel(right).cut)
            flipped = _in_the_corner(scale(one, yfact=-1, origin=(0, 0)))
            assert flipped.hausdorff_distance(other) < 0.05, f"{left} and {right}"
            assert one.symmetric_difference(other).area > 0.01 * one.area, "a mirror is not the same part turned"

    @MIRRORED
    def test_the_centre_and_an_odd_gore_are_their_own_mirrors_about_the_fold(self, label: str) -> None:
        shaped = built(label)
        folded = [p for p in shaped.panels if any(m.kind == "fold" for m in p.marks)]
        assert {p.mark for p in shaped.panels if p.mark[0] == "P"} <= {p.mark for p in folded}
        heads = next(g.count for g in shaped.make.gores if g.corner is HEAD)
        assert ({f"H{heads // 2 + 1}"} if heads % 2 else set()) == {p.mark for p in folded if p.mark[0] == "H"}
        for panel in folded:
            (fold,) = (m.line for m in panel.marks if m.text == "centreline")
            upright = fold[0][0] == pytest.approx(fold[-1][0], abs=1e-6)
            factors = {"xfact": -1, "origin": fold[0]} if upright else {"yfact": -1, "origin": fold[0]}
            assert scale(Polygon(panel.cut), **factors).hausdorff_distance(Polygon(panel.cut)) < 0.05, panel.mark

    def test_an_asymmetric_sail_has_no_fold(self) -> None:
        shaped = built("asymmetric radial head")
        assert not [m for p in shaped.panels for m in p.marks if m.kind == "fold"]


def _in_the_corner(ring: Polygon) -> Polygon:
    x, y = ring.bounds[:2]
    return Polygon([(a - x, b - y) for a, b in ring.exterior.coords])


#: Seams that the half width crosses: all of the head (one fewer than gores) where its points lie above the joint, none in the centre.
HALF_WIDTH_CROSSES = dict(zip(SAILS, (4, 0, 3, 5, 0), strict=True))


class TestSewnSizes:
    """With take-up and shaping on: measured on the cut pieces along what the pen draws, less what sewing draws in at each seam crossed."""

    @SHAPED
    @pytest.mark.parametrize("edge", ["luff", "leech", "foot"])
    def test_edges(self, label: str, edge: str) -> None:
        shaped = built(label)
        drawn = [LineString(m.line).length for p in shaped.panels for m in p.marks if m.kind == "edge" and m.text == edge]
        finished = getattr(sail.outline(shaped.finished), edge)
        straight = math.dist(finished[0], finished[-1])
        taken = getattr(shaped.make.take_up, f"{edge}_fraction") * straight + shaped.make.take_up.per_seam_mm * (len(drawn) - 1)
        assert len(drawn) > 1 or (edge == "foot" and label == "symmetric radial head")
        # a foot or leech is a curve: held are the straight lines between the corners (ERS), and these the curve follows to a millimetre
        chord = math.dist(getattr(shaped.cut, edge)[0], getattr(shaped.cut, edge)[-1])
        assert chord - taken == pytest.approx(straight, abs=1.0)
        assert sum(drawn) == pytest.approx(LineString(getattr(shaped.cut, edge)).length, abs=1.0)

    @SHAPED
    def test_half_width(self, label: str) -> None:
        shaped = built(label)
        finished = dict(shaped.finished.widths)["half_width"]
        on_cloth, crossed = across(shaped, *half_width_points(shaped.cut))
        assert crossed == HALF_WIDTH_CROSSES[label]
        assert on_cloth - crossed * shaped.make.take_up.per_seam_mm == pytest.approx(finished, abs=1.0)

    @SHAPED
    def test_foot_median(self, label: str) -> None:
        shaped = built(label)
        finished = sail.measure(sail.outline(shaped.finished))["foot_median"]
        foot = shaped.cut.foot
        on_cloth, crossed = across(shaped, shaped.cut.head_point, foot[len(foot) // 2])
        assert crossed >= 1
        assert on_cloth - crossed * shaped.make.take_up.per_seam_mm == pytest.approx(finished, abs=1.0)

    def test_by_hand(self) -> None:
        """Radial head, luff 5200, leech 4700, foot 2800; joint and seam 1 end on both edges, the half width lies between them."""
        finished, make = SAILS["asymmetric radial head"]
        cut = cloth.cut_shape(finished, replace(make, gores=(replace(make.gores[0], reach_mm=1500.0),), seams=(Seam(300, 7),)))
        assert cut.luff_length == pytest.approx(5200 * 1.001 + 2 * 1.0)
        assert cut.leech_length == pytest.approx(4700 * 1.001 + 2 * 1.0)
        assert cut.foot_length == pytest.approx(2800 * 1.0015)
        assert dict(cut.widths)["half_width"] == pytest.approx(2700)
        # the foot median crosses both, seam 1 nearly in its middle, where it is 7 mm full
        median = sail.measure(sail.outline(finished))["foot_median"]
        assert cut.foot_median == pytest.approx(median + 2 * 1.0 - 7, abs=0.2)


class TestCutEdge:
    @SHAPED
    def test_contains_sew_lines_and_edges_and_stays_inside_the_sail(self, label: str) -> None:
        shaped = built(label)
        for panel in shaped.panels:
            ring = Polygon(panel.cut)
            assert ring.is_valid, panel.mark
            assert ring.bounds[:2] == pytest.approx((0, 0), abs=1e-9)
            assert ring.bounds[3] <= NYLON.usable_width_mm + 1e-6
            assert ring.area > Polygon(panel.finished).area

    @SHAPED
    def test_the_lay_of_it_passes_the_audit(self, label: str) -> None:
        shaped = built(label)
        lay = cloth.plan_lay({"": shaped.parts}, NYLON, cloth.Table())
        assert cloth.audit_lay(lay, {"": shaped.parts}, NYLON, cloth.Table()) == ()

    def test_a_tip_is_not_cut_further_out_than_the_sail(self) -> None:
        """Two sew lines that meet at 9 degrees would put their allowances 70 mm beyond the head point."""
        shaped = built("symmetric tri-radial")
        gore = shaped.panel("H3")
        apex = next(s.line[0] for s in gore.more_sews if s.seam == "head seam 2")
        assert apex[0] - min(x for x, _ in gore.cut) < 15


class TestPatches:
    def test_layers_of_a_corner_have_their_warp_on_the_load_line(self) -> None:
        made_of = (NYLON, replace(NYLON, orientation=Orientation.BALANCED))
        layers, balanced = ([p for p in built("symmetric tri-radial", body).parts if p.id.startswith("HEAD-")] for body in made_of)
        assert len(layers) == len(balanced) == 3
        # the load line of the head is the centreline: on the roll it lies along x, so each layer is its own mirror about y
        for ring in (Polygon(p.outer) for p in (*layers, *balanced)):
            assert scale(ring, yfact=-1, origin=(0, ring.bounds[3] / 2)).symmetric_difference(ring).area < 0.02 * ring.area

    def test_three_layers_at_each_corner(self) -> None:
        assert len([p for p in built("asymmetric radial head").parts if p.kind == "patch"]) == 9


def refused(label: str, body: cloth.Cloth = NYLON, **changed: object) -> list[str]:
    with pytest.raises(InputError) as caught:
        built(label, body, **changed)
    return [f"{p.path} | {p.code} | {p.message}" for p in caught.value.problems]


TRI = "symmetric tri-radial"


class TestRefused:
    @pytest.mark.parametrize(
        ("label", "gores", "code"),
        [
            ("no gores", (), "gores_missing"),
            ("a tack of a symmetric sail", (Gores(HEAD, 5, 2000), Gores(CLEW, 4, 0, 1000), Gores(TACK, 4, 0, 1000)), "gores_of_no_corner"),
            ("one gore", (Gores(HEAD, 1, 2000), Gores(CLEW, 4, 0, 1000)), "gore_count"),
            ("a corner twice", (Gores(HEAD, 5, 2000), Gores(HEAD, 6, 2000), Gores(CLEW, 4, 0, 1000)), "gores_twice"),
            ("a head that reaches the foot", (Gores(HEAD, 5, 4200), Gores(CLEW, 4, 0, 1000)), "reach"),
            ("a clew that reaches the head's gores", (Gores(HEAD, 5, 2000), Gores(CLEW, 4, 2500, 1000)), "reach"),
            ("no foot left between", (Gores(HEAD, 5, 2000), Gores(CLEW, 4, 0, 1300)), "foot_taken"),
            ("too sharp a curve", (Gores(HEAD, 5, 2000, 0, 60), Gores(CLEW, 4, 0, 1000)), "broadseam_too_sharp"),
            ("fullest at its end", (Gores(HEAD, 5, 2000, 0, 6, 1.0), Gores(CLEW, 4, 0, 1000)), "not_inside"),
        ],
    )
    def test_gores(self, label: str, gores: tuple[Gores, ...], code: str) -> None:
        assert any(f"| {code} |" in told for told in refused(TRI, gores=gores)), label

    def test_too_few_gores_for_the_roll_say_which_panel_and_by_how_much(self) -> None:
        told = refused("asymmetric radial head", gores=(Gores(HEAD, 2, 3000),), seams=(Seam(-50), Seam(1200)))
        assert any("panel H1 would be" in t and "take more gores at that corner" in t for t in told)

    def test_seams_of_the_centre(self) -> None:
        assert "seam_outside" in refused(TRI, seams=(Seam(2600),))[0]
        assert "seam_order" in refused(TRI, seams=(Seam(850), Seam(855)))[0]
        assert "panel_too_wide" in refused(TRI, seams=())[0]

    def test_what_would_make_the_halves_of_a_symmetric_sail_differ(self) -> None:
        assert "make.leech | not_symmetric" in refused(TRI, leech=Edge(EdgeMethod.TAPED, 20, 4))[0]
        assert "make.take_up.leech | not_symmetric" in refused(TRI, take_up=TakeUp(1, 0.001, 0.002, 0.001))[0]
        for tack in ((Patch(TACK, 0.06, 4, 25, ""),), (), (Patch(TACK, 0.06, None, 25, ""),)):
            patches = (*tack, Patch(CLEW, 0.06, tack[0].layers if tack and tack[0].layers is None else 3, 25, ""))
            assert "make.patches | not_symmetric" in refused(TRI, patches=patches)[0]

    def test_a_vertical_centre_of_a_radial_head(self) -> None:
        assert "vertical_centre" in refused("symmetric radial head", centre=Centre.VERTICAL)[0]

    def test_a_main_is_not_made_so(self) -> None:
        finished, make = SAILS[TRI]
        main = replace(sail.outline(finished), kind=SailKind.MAINSAIL)
        with pytest.raises(InputError, match="a mainsail is not made tri-radial"):
            cloth.panels(main, make, NYLON)


class TestProposedSeams:
    def test_a_cross_cut_centre_uses_the_width_from_the_head_down(self) -> None:
        finished, make = SAILS["asymmetric radial head"]
        cut = sail.outline(cloth.cut_shape(finished, make))
        heights = cloth.propose_seams(cut, make, replace(NYLON, usable_width_mm=1200))
        # less the overlap of 11 mm and what the seams shape into a panel, at most 7 mm
        assert [b - a for a, b in itertools.pairwise(heights)] == pytest.approx([1182.0])
        assert made(finished, replace(make, seams=tuple(Seam(h) for h in heights))).panels

    def test_a_vertical_centre_is_divided_evenly(self) -> None:
        finished, make = SAILS["asymmetric tri-radial, vertical centre"]
        cut = sail.outline(cloth.cut_shape(finished, make))
        beside = cloth.propose_seams(cut, make, NYLON)
        assert len(beside) == 2
        assert made(finished, replace(make, seams=tuple(Seam(s) for s in beside))).panels
