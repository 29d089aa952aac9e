"""Panels against the outline they divide: nothing lost, nothing twice, seams that fit, refusals that say what would be right."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from shapely import LineString, Point, Polygon, unary_union

from costing import cloth, sail
from costing.cloth import Edge, EdgeMethod, Make, Orientation, Panel, Pocket, Seam, TakeUp, Window
from costing.cloth.frame import frame_of
from costing.errors import InputError
from tests.cloth.skerling_main import BODY, FINISHED, MAKE, Main, built


def refused(make: Make, body: cloth.Cloth = BODY) -> tuple[str, ...]:
    with pytest.raises(InputError) as caught:
        cloth.panels(sail.outline(cloth.cut_shape(FINISHED, make)), make, body)
    return tuple(f"{p.path} | {p.code} | {p.message}" for p in caught.value.problems)


def extent(panel: Panel) -> tuple[float, float, float, float]:
    return Polygon(panel.cut).bounds


class TestCutShape:
    def test_take_up_by_hand(self) -> None:
        # leech: 5560 x 1.001 + 4 seams x 1.5; foot: 2440 x 1.001. The tack's height: (5560^2 + 2440^2 - 5210^2) / (2 x 5560) = 874 mm, so
        # all broadseams end on the luff, which runs 5560 - 874 = 4686 mm of the roll's width in 5210 mm
        cut = cloth.cut_shape(FINISHED, MAKE)
        assert cut.leech_length == pytest.approx(5571.56)
        assert cut.luff_length == pytest.approx(5210 * 1.002 + (10 + 8 + 5 + 3) * 4686 / 5210, abs=0.01)
        assert cut.foot_length == pytest.approx(2442.44)

    def test_widths_and_curves_stay(self) -> None:
        cut = cloth.cut_shape(FINISHED, MAKE)
        assert (cut.widths, cut.top_width, cut.foot_round, cut.luff_curve) == (
            FINISHED.widths,
            FINISHED.top_width,
            FINISHED.foot_round,
            FINISHED.luff_curve,
        )

    def test_a_seam_that_ends_on_the_foot_takes_out_of_the_luff_what_has_not_faded_at_the_tack(self) -> None:
        # 10 mm at 600 mm, none at 1600: at the tack, 874 mm, 7.26 mm are left for the luff, and 2.74 mm went from the foot
        low = replace(MAKE, seams=(Seam(600, 10), Seam(1600)), take_up=TakeUp(0, 0, 0, 0))
        cut = cloth.cut_shape(FINISHED, low)
        assert cut.luff_length - FINISHED.luff_length == pytest.approx(7.26 * 4686 / 5210, abs=0.01)
        assert cut.foot_length - FINISHED.foot_length == pytest.approx(2.74 * 874 / 2440, abs=0.01)

    def test_a_seam_whose_panel_ends_below_the_tack_takes_out_of_the_foot_alone(self) -> None:
        low = replace(MAKE, seams=(Seam(300, 10), Seam(800)), take_up=TakeUp(0, 0, 0, 0))
        cut = cloth.cut_shape(FINISHED, low)
        assert cut.luff_length == FINISHED.luff_length
        assert cut.foot_length - FINISHED.foot_length == pytest.approx(10 * 874 / 2440, abs=0.01)

    @pytest.mark.parametrize("first", [320, 1270])
    def test_the_panels_sewn_together_have_the_finished_edges(self, first: float) -> None:
        """Along the edge lines that the pen draws, less the take-up: within half a millimetre of the finished sail."""
        seams = tuple(Seam(first + 1340 * k, broadseam, 0.45) for k, broadseam in enumerate((10, 8, 5, 3)))
        main, finished = built(replace(MAKE, seams=seams)), sail.outline(FINISHED)
        take_up = {"luff": 0.002, "leech": 0.001, "foot": 0.001}
        for name, fraction in take_up.items():
            drawn = sum(LineString(m.line).length for p in main.panels for m in p.marks if m.kind == "edge" and m.text == name)
            edge = LineString(getattr(finished, name)).length
            drawn_in = fraction * edge + (4 * 1.5 if name == "leech" else 0)
            assert drawn - drawn_in == pytest.approx(edge, abs=0.5), name


class TestOutlineKept:
    def test_finished_panels_make_up_the_outline(self, skerling: Main, plain: Main) -> None:
        for main in (skerling, plain):
            whole = Polygon(main.cut.ring)
            together = unary_union([Polygon(p.finished) for p in main.panels])
            assert together.area == pytest.approx(whole.area, rel=1e-4)
            assert together.hausdorff_distance(whole) < 1.0
            assert sum(Polygon(p.finished).area for p in main.panels) == pytest.approx(whole.area, rel=1e-4)

    def test_without_allowances_the_cut_panels_laid_back_are_the_outline(self, plain: Main) -> None:
        frame = frame_of(plain.cut)
        back = []
        for panel in plain.panels:
            corner = frame.to_roll(panel.finished).min(axis=0)
            back.append(Polygon(frame.to_sail([(x + corner[0], y + corner[1]) for x, y in panel.cut])))
        together, whole = unary_union(back), Polygon(plain.cut.ring)
        assert together.area == pytest.approx(whole.area, rel=1e-4)
        assert together.hausdorff_distance(whole) < 1.0

    def test_a_cut_panel_is_never_mirrored(self, skerling: Main) -> None:
        """Luff to the left, face up: the PORT side, where the sail coordinates also have it."""
        for panel in skerling.panels:
            left = min(x for x, _ in panel.lower_sew or panel.upper_sew)
            luff_end = (panel.lower_sew or panel.upper_sew)[0][0]
            assert luff_end == left
        upper = skerling.panels[1]
        assert upper.upper_sew[0][0] > upper.lower_sew[0][0]  # the luff leans aft, the sail narrows upward


class TestSeams:
    def test_neighbours_sew_lines_are_equally_long(self, skerling: Main) -> None:
        for below, above in itertools.pairwise(skerling.panels):
            assert LineString(below.upper_sew).length == pytest.approx(LineString(above.lower_sew).length, abs=0.5)

    def test_the_upper_panel_carries_the_whole_overlap(self, skerling: Main) -> None:
        leech_end = skerling.panels[2].lower_sew[-1]
        assert leech_end[1] == pytest.approx(MAKE.seam_overlap_mm, abs=1e-6)
        below = skerling.panels[1]
        assert below.upper_sew[0][1] == pytest.approx(extent(below)[3], abs=1e-6)

    @pytest.mark.parametrize(("panel", "taken"), [(1, 10.0), (2, 8.0), (3, 5.0), (4, 3.0)])
    def test_broadseam_is_all_there_at_the_luff_and_gone_at_run_out(self, skerling: Main, panel: int, taken: float) -> None:
        sew = skerling.panels[panel].lower_sew
        base = sew[-1][1]
        assert sew[0][1] - base == pytest.approx(taken, abs=1e-6)
        run_out = MAKE.seams[panel - 1].run_out * (sew[-1][0] - sew[0][0])
        assert all(y == pytest.approx(base, abs=1e-6) for x, y in sew if x - sew[0][0] >= run_out)
        falling = [y for _, y in sew]
        assert falling == sorted(falling, reverse=True)

    def test_strike_up_marks_meet(self, skerling: Main) -> None:
        """The ticks of both panels stand at the same distance from the leech along the sew line."""
        for below, above in itertools.pairwise(skerling.panels):
            ticks = [
                [LineString(sew).project(Point(m.line[0])) for m in panel.marks if m.kind == "strike-up" and on_line(sew, m.line[0])]
                for panel, sew in ((below, below.upper_sew), (above, above.lower_sew))
            ]
            assert len(ticks[0]) == len(ticks[1]) >= 1
            assert ticks[0] == pytest.approx(ticks[1], abs=0.5)


def on_line(line: tuple[tuple[float, float], ...], point: tuple[float, float]) -> bool:
    return LineString(line).distance(Point(point)) < 0.5


class TestCutEdge:
    def test_lies_in_the_corner_of_the_roll_inside_the_usable_width(self, skerling: Main) -> None:
        for panel in skerling.panels:
            left, low, _, high = extent(panel)
            assert (left, low) == pytest.approx((0, 0), abs=1e-9)
            assert high <= BODY.usable_width_mm + 1e-6
            assert Polygon(panel.cut).is_valid

    def test_a_seam_spacing_of_usable_width_less_overlap_is_full_width(self, skerling: Main) -> None:
        assert [p.full_width for p in skerling.panels] == [False, True, True, True, False]

    def test_contains_its_finished_edge(self, skerling: Main) -> None:
        """Laid back by its leech ends, where no broadseam shifts it."""
        frame = frame_of(skerling.cut)
        for panel in skerling.panels[1:]:
            finished = frame.to_roll(panel.finished)
            shift_h = finished[:, 1].min() - panel.lower_sew[-1][1]
            lowest = finished[abs(finished[:, 1] - finished[:, 1].min()) < 1e-6]
            shift_s = lowest[:, 0].max() - panel.lower_sew[-1][0]
            laid = Polygon([(x + shift_s, y + shift_h) for x, y in panel.cut])
            assert laid.buffer(0.01).contains(Polygon(finished))

    def test_allowances_stand_outside_the_edge_marks(self, skerling: Main) -> None:
        for panel in skerling.panels:
            edge = Polygon(panel.cut).exterior
            for mark in (m for m in panel.marks if m.kind == "edge"):
                middle = LineString(mark.line).interpolate(0.5, normalized=True)
                assert middle.distance(edge) == pytest.approx(5.0, abs=0.1)

    def test_panels_are_larger_than_the_sail(self, skerling: Main) -> None:
        assert sum(Polygon(p.cut).area for p in skerling.panels) > Polygon(skerling.cut.ring).area

    def test_a_folded_leech_is_marked_to_fold_and_left_full_is_added(self) -> None:
        folded = built(replace(MAKE, leech=Edge(EdgeMethod.FOLDED, 25, 35, left_full_mm=15)))
        marks = [m for p in folded.panels for m in p.marks if m.kind == "fold"]
        assert {m.text for m in marks} == {"leech"}
        panel = folded.panels[2]
        line = next(m.line for m in panel.marks if m.kind == "fold")
        assert LineString(line).interpolate(0.5, normalized=True).distance(Polygon(panel.cut).exterior) == pytest.approx(50, abs=0.2)


class TestFeatureMarks:
    def test_every_feature_is_drawn_once(self, skerling: Main) -> None:
        drawn = sorted((p.mark, m.kind, m.text) for p in skerling.panels for m in p.marks if m.kind in ("pocket", "window", "hole", "ring"))
        assert drawn == [
            ("P1", "hole", "window"),
            ("P1", "ring", "cunningham"),
            ("P1", "window", "window"),
            ("P2", "pocket", "lower"),
            ("P3", "pocket", "middle"),
            ("P4", "pocket", "top"),
        ]

    def test_every_mark_lies_on_its_panel(self, skerling: Main) -> None:
        for panel in skerling.panels:
            shape = Polygon(panel.cut).buffer(0.1)
            for mark in panel.marks:
                assert all(shape.covers(Point(p)) for p in mark.line), (panel.mark, mark.kind)

    def test_pocket_is_batten_and_twelve_mm(self, skerling: Main) -> None:
        lower = next(m for m in skerling.panels[1].marks if m.kind == "pocket")
        assert LineString(lower.line).length == pytest.approx(612.0)

    def test_a_full_length_pocket_runs_from_leech_to_luff(self, skerling: Main) -> None:
        panel = skerling.panels[3]
        top = next(m for m in panel.marks if m.kind == "pocket")
        edges = [LineString(m.line) for m in panel.marks if m.kind == "edge"]
        assert all(min(edge.distance(Point(end)) for edge in edges) < 0.5 for end in (top.line[0], top.line[-1]))


class TestRefusals:
    @pytest.mark.parametrize("cut_name", ["radial", ""])
    def test_an_unknown_cut(self, cut_name: str) -> None:
        assert "make.cut | unknown_cut" in refused(replace(MAKE, cut=cut_name))[0]

    def test_warp_oriented_cloth_says_what_suits(self) -> None:
        (told,) = refused(MAKE, replace(BODY, orientation=Orientation.WARP))
        assert "orientation" in told
        assert "take a fill-oriented or balanced cloth" in told

    def test_balanced_cloth_is_allowed(self) -> None:
        assert len(built(body=replace(BODY, orientation=Orientation.BALANCED)).panels) == 5

    def test_a_wide_panel_says_which_and_by_how_much(self) -> None:
        told = refused(MAKE, replace(BODY, usable_width_mm=1345))
        assert [t.split(" | ")[0] for t in told] == ["panels[1]", "panels[2]", "panels[3]"]
        assert "P2 would be 1,355.0 mm wide, 10.0 mm more" in told[0]

    @pytest.mark.parametrize(
        ("label", "heights", "code"),
        [
            ("below the clew", (-20.0, 1270.0), "seam_outside"),
            ("above the leech", (1270.0, 5800.0), "seam_outside"),
            ("in the wrong order", (2600.0, 1270.0), "seam_order"),
        ],
    )
    def test_a_seam_outside_the_sail(self, label: str, heights: tuple[float, ...], code: str) -> None:
        found = refused(replace(MAKE, seams=tuple(Seam(h) for h in heights)))
        assert code in found[0], label

    def test_a_seam_through_a_window_says_what_would_do(self) -> None:
        high = Window("window", 0.48, 900, 560, 360, "FILM-05")
        (told,) = refused(replace(MAKE, windows=(high,)))
        assert told.startswith("make.windows[window] | seam_too_near | window window lies in the way of seam 1 at 1,270 mm")
        assert "10 mm are needed: put the seam at" in told

    def test_a_seam_near_a_pocket_says_the_distance(self) -> None:
        # the pocket is 39 mm wide inside; its lower side is to lie 4 mm above the sew line
        length = math.dist(*_clew_and_head())
        near = Pocket("near", (2610 + 4 + 19.5) / length, 600, 25, False, "")
        (told,) = refused(replace(MAKE, pockets=(near,)))
        assert "pocket near lies 4 mm from seam 2 at 2,610 mm" in told

    def test_a_batten_longer_than_the_sail_is_wide(self) -> None:
        long = Pocket("long", 0.85, 900, 25, False, "")
        assert "pocket_too_long" in refused(replace(MAKE, pockets=(long,)))[0]

    def test_a_broadseam_too_sharp_to_sew(self) -> None:
        assert "broadseam_too_sharp" in refused(replace(MAKE, seams=(Seam(1270, 40, 0.3), *MAKE.seams[1:])))[0]

    def test_all_problems_at_once(self) -> None:
        high = Window("window", 0.48, 900, 560, 360, "FILM-05")
        assert len(refused(replace(MAKE, windows=(high,), pockets=(replace(MAKE.pockets[0], leech_fraction=1280 / 5560),)))) == 2


def _clew_and_head() -> tuple[tuple[float, float], tuple[float, float]]:
    cut = sail.outline(cloth.cut_shape(FINISHED, MAKE))
    return cut.clew_point, cut.head_point


class TestProposedSeams:
    def test_use_the_full_width_and_stay_clear(self) -> None:
        cut = sail.outline(cloth.cut_shape(FINISHED, MAKE))
        heights = cloth.propose_seams(cut, MAKE, BODY)
        assert [b - a for a, b in itertools.pairwise(heights)] == pytest.approx([1340.0] * (len(heights) - 1))
        made = cloth.panels(cut, replace(MAKE, seams=tuple(Seam(h) for h in heights)), BODY)
        assert len(made) == 5

    @pytest.mark.parametrize("height", [300, 500, 700, 900, 1100, 1500, 2100])
    def test_pass_a_window_and_pockets_wherever_they_lie(self, height: int) -> None:
        """Where seams at one distance cannot, each is moved down by itself; what they cut has nothing in the way, as `panels` checks."""
        pockets = tuple(Pocket(name, part, 300, 25, False, "") for name, part in (("low", 0.2), ("mid", 0.42), ("top", 0.66)))
        make = replace(MAKE, pockets=pockets, windows=(Window("window", 0.48, height, 560, 360, "FILM-05"),))
        make = cloth.with_proposed_seams(FINISHED, make, BODY)
        made = cloth.panels(sail.outline(cloth.cut_shape(FINISHED, make)), make, BODY)
        assert 5 <= len(made) <= 6

    def test_nothing_is_proposed_past_a_window_higher_than_the_roll(self) -> None:
        high = replace(MAKE, windows=(Window("tall", 0.48, 1500, 300, 1400, "FILM-05"),))
        with pytest.raises(InputError, match=r"no heights keep clear of .*window tall"):
            cloth.propose_seams(sail.outline(cloth.cut_shape(FINISHED, high)), high, BODY)

    def test_what_is_kept_to_spare_lies_between_panels_and_the_roll_s_width(self) -> None:
        cut = sail.outline(cloth.cut_shape(FINISHED, MAKE))
        heights = cloth.propose_seams(cut, MAKE, BODY, 20.0)
        assert max(b - a for a, b in itertools.pairwise(heights)) == pytest.approx(1320.0)

    def test_a_small_sail_on_a_wide_roll_needs_none(self) -> None:
        cut = sail.outline(cloth.cut_shape(FINISHED, MAKE))
        assert cloth.propose_seams(cut, MAKE, replace(BODY, usable_width_mm=6000)) == ()
