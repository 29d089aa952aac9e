"""Headsails, storm jib and trysail in every cut that makes them: the outline kept, seams that fit, sizes that hold when sewn."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, unary_union
from shapely.ops import nearest_points

from costing import cloth, sail
from costing.cloth import Panel, TakeUp
from costing.errors import InputError
from costing.sail import Point as SailPoint
from costing.sail import SailShape
from tests.cloth.made_jibs import ROLLS, SAILS, built, make_of
from tests.cloth.skerling_main import Main
from tests.cloth.tape import tape

CASES = [(cut, name) for cut in ("cross-cut", "mitre", "vertical") for name, shape in SAILS.items() if shape.kind in cloth.CUTS[cut].KINDS]


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"{case[0]} {case[1]}")
def case(request: pytest.FixtureRequest) -> tuple[SailShape, Main]:
    cut, name = request.param
    return SAILS[name], built(cut, SAILS[name])


def seam_lines(main: Main) -> list[LineString]:
    """The seams in the sail, from what the finished panels share: at most one line a pair."""
    found = []
    for one, other in itertools.combinations([Polygon(p.finished) for p in main.panels], 2):
        shared = one.buffer(0.02).intersection(other.buffer(0.02))
        if shared.area > 0.05 * 20:
            box = shared.minimum_rotated_rectangle
            corners = list(box.exterior.coords)
            sides = sorted(itertools.pairwise(corners), key=lambda side: math.dist(*side))
            (a, b), (c, d) = sides[0], sides[1]
            found.append(LineString((((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), ((c[0] + d[0]) / 2, (c[1] + d[1]) / 2))))
    return found


def drawn_in(main: Main, line: LineString, *, away: float = 60.0) -> float:
    """What the seams draw in along a line: 1.5 mm each times the sine of the angle at which they meet."""
    total = 0.0
    for seam in seam_lines(main):
        met = line.project(nearest_points(line, seam)[0])
        if seam.distance(line) > away or not 60 < met < line.length - 60:
            continue  # the mitre ends on the clew point itself and shortens neither leech nor foot
        (ax, ay), (bx, by) = (np.subtract(g.coords[-1], g.coords[0]) for g in (seam, line))
        sine = abs(ax * by - ay * bx) / (math.hypot(ax, ay) * math.hypot(bx, by))
        total += main.make.take_up.per_seam_mm * sine
    return total


class TestOutlineKept:
    @pytest.mark.parametrize(("cut", "name"), CASES)
    def test_with_nothing_taken_out_or_added_the_panels_are_the_outline(self, cut: str, name: str) -> None:
        main = built(cut, SAILS[name], plain=True)
        whole = Polygon(main.cut.ring)
        together = unary_union([Polygon(p.finished).buffer(0.01) for p in main.panels])
        assert together.hausdorff_distance(whole) < 1.0
        assert sum(Polygon(p.cut).area for p in main.panels) == pytest.approx(whole.area, rel=1e-6)

    @pytest.mark.parametrize(("cut", "name"), CASES)
    def test_a_plain_cut_panel_is_its_finished_one_turned_and_never_mirrored(self, cut: str, name: str) -> None:
        for panel in built(cut, SAILS[name], plain=True).panels:
            one, other = Polygon(panel.cut), Polygon(panel.finished)
            assert one.exterior.is_ccw == other.exterior.is_ccw
            assert one.area == pytest.approx(other.area, rel=1e-6)
            assert one.length == pytest.approx(other.length, abs=0.1)


class TestSeams:
    def test_neighbours_sew_lines_are_equally_long(self, case: tuple[SailShape, Main]) -> None:
        panels = case[1].panels
        pairs = [(a, b) for a, b in itertools.pairwise(panels) if a.upper_sew and b.lower_sew]
        halves = 2 if panels[0].place.startswith("upper half") else 1
        assert len(pairs) == len(panels) - halves
        for below, above in pairs:
            assert LineString(below.upper_sew).length == pytest.approx(LineString(above.lower_sew).length, abs=0.5)

    def test_strike_up_marks_of_neighbours_meet(self, case: tuple[SailShape, Main]) -> None:
        for below, above in itertools.pairwise(case[1].panels):
            if below.upper_sew and above.lower_sew:
                one, other = ticks(below, below.upper_sew), ticks(above, above.lower_sew)
                assert len(one) == len(other) >= 1
                assert one == pytest.approx(other, abs=0.5)

    def test_every_panel_fits_the_roll_and_lies_in_its_corner(self, case: tuple[SailShape, Main]) -> None:
        for panel in case[1].panels:
            shape = Polygon(panel.cut)
            assert shape.is_valid
            assert shape.bounds[:2] == pytest.approx((0, 0), abs=1e-9)
            assert shape.bounds[3] <= ROLLS["mitre"].usable_width_mm + 1e-6

    def test_every_mark_lies_on_its_panel(self, case: tuple[SailShape, Main]) -> None:
        for panel in case[1].panels:
            shape = Polygon(panel.cut).buffer(0.2)
            for mark in panel.marks:
                assert all(shape.covers(Point(p)) for p in mark.line), (panel.mark, mark.kind)


def ticks(panel: Panel, sew: tuple[SailPoint, ...]) -> list[float]:
    """How far along a sew line its strike-up marks stand."""
    line = LineString(sew)
    starts = [Point(m.line[0]) for m in panel.marks if m.kind == "strike-up"]
    return sorted(line.project(start) for start in starts if line.distance(start) < 0.3)


@pytest.fixture(scope="module", params=[name for cut, name in CASES if cut == "mitre"])
def made(request: pytest.FixtureRequest) -> Main:
    return built("mitre", SAILS[request.param])


class TestMitre:
    def test_both_halves_are_equally_long_along_it(self, made: Main) -> None:
        pieces = [(s.overlap, LineString(s.line).length) for p in made.panels for s in p.more_sews]
        upper, lower = (sum(length for overlap, length in pieces if overlap is side) for side in (True, False))
        assert upper == pytest.approx(lower, abs=0.5)

    def test_it_halves_the_angle_at_the_clew(self, made: Main) -> None:
        clew, head, tack = (np.array(p) for p in (made.cut.clew_point, made.cut.head_point, made.cut.tack_point))
        ends = {p for panel in made.panels for p in panel.finished if on_mitre(panel, made, p)}
        end = np.array(max(ends, key=lambda p: math.dist(p, made.cut.clew_point)))
        to_end, to_head, to_tack = (v / np.hypot(*v) for v in (end - clew, head - clew, tack - clew))
        assert to_end @ to_head == pytest.approx(to_end @ to_tack, abs=1e-6)

    def test_seams_stand_square_to_leech_above_and_to_foot_below(self, made: Main) -> None:
        clew, head, tack = (np.array(p) for p in (made.cut.clew_point, made.cut.head_point, made.cut.tack_point))
        lines = {"upper": head - clew, "lower": tack - clew}
        for below, above in itertools.pairwise(made.panels):
            if below.upper_sew and above.lower_sew:
                (seam,) = seam_lines(replace(made, panels=(below, above)))
                way, edge = np.subtract(seam.coords[-1], seam.coords[0]), lines[above.place.split()[0]]
                assert abs(way @ edge) / (np.hypot(*way) * np.hypot(*edge)) < 1e-3

    def test_its_broadseam_is_all_there_at_the_luff(self, made: Main) -> None:
        """The curve leaves the straight line through its clew end by what is taken out."""
        pieces = [np.array(s.line) for p in made.panels for s in p.more_sews if s.overlap]
        luff = max(pieces, key=lambda line: bend(line))
        assert 0 < bend(luff) <= 7.0

    def test_strike_ups_stand_at_the_same_parts_on_both_halves(self, made: Main) -> None:
        found = {side: mitre_ticks(made, side) for side in (True, False)}
        assert found[True] == pytest.approx(found[False], abs=0.6)
        assert len(found[True]) >= 1

    @pytest.mark.parametrize("name", [name for cut, name in CASES if cut == "mitre"])
    def test_no_broadseam_is_proposed_for_a_seam_that_ends_on_it(self, name: str) -> None:
        """`panels` refuses one."""
        own = built("mitre", SAILS[name]).make
        shaped = replace(own, seams=tuple(replace(s, broadseam_mm=3.0) for s in own.seams or (cloth.Seam(0.0),)))
        proposed = cloth.with_proposed_seams(SAILS[name], shaped, ROLLS["mitre"])
        assert cloth.panels(sail.outline(cloth.cut_shape(SAILS[name], proposed)), proposed, ROLLS["mitre"])

    def test_a_seam_that_ends_on_it_has_no_broadseam(self, made: Main) -> None:
        first = next(i for i, p in enumerate(made.panels) if p.lower_ends[0] == "mitre") if any(
            p.lower_ends[0] == "mitre" for p in made.panels) else None  # fmt: skip
        if first is None:
            assert all(p.lower_ends[0] != "mitre" for p in made.panels)
            return
        seams = tuple(replace(s, broadseam_mm=4.0) for s in made.make.seams)
        with pytest.raises(InputError) as caught:
            cloth.panels(made.cut, replace(made.make, seams=seams), ROLLS["mitre"])
        assert "broadseam_at_mitre" in {p.code for p in caught.value.problems}


def on_mitre(panel: Panel, made: Main, point: SailPoint) -> bool:
    others = [Polygon(p.finished) for p in made.panels if p.place != panel.place]
    return any(other.distance(Point(point)) < 0.01 for other in others)


def bend(line: np.ndarray) -> float:
    along = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    away = line - line[0]
    return float(abs(away[:, 0] * along[1] - away[:, 1] * along[0]).max())


def mitre_ticks(made: Main, overlap: bool) -> list[float]:
    """Strike-up marks along the whole mitre, measured from the luff over the panels of one half."""
    pieces = [(panel, s.line) for panel in made.panels for s in panel.more_sews if s.overlap is overlap]
    # from the luff to the clew: the upper half's panels count from the clew up, the lower half's from the clew forward
    found, start = [], 0.0
    for panel, line in reversed(pieces):
        found += [start + t for t in ticks(panel, line)]
        start += LineString(line).length
    return sorted(found)


class TestSewn:
    def test_edges_between_corners_hold(self, case: tuple[SailShape, Main]) -> None:
        """What the pen draws along each edge, less tabling and seams, is the finished edge to 1 mm."""
        shape, main = case
        finished, cross = sail.outline(shape), main.make.cut == "cross-cut"
        for name in ("luff", "leech", "foot"):
            drawn = sum(LineString(m.line).length for p in main.panels for m in p.marks if m.kind == "edge" and m.text == name)
            edge = LineString(getattr(finished, name))
            fraction = getattr(main.make.take_up, f"{name}_fraction")
            chord = LineString((edge.coords[0], edge.coords[-1]))
            # a cross-cut's take-up is counted along the leech alone
            seams = 0.0 if cross and name != "leech" else drawn_in(main, chord, away=0.03 * edge.length)
            assert drawn - fraction * edge.length - seams == pytest.approx(edge.length, abs=1.0), name

    def test_widths_hold(self, case: tuple[SailShape, Main]) -> None:
        """A tape over the cut panels, from leech point to luff, reads what was asked, less what the seams draw in."""
        shape, main = case
        asked = sail.measure(sail.outline(shape))
        for name, at in sail.leech_points(main.cut).items():
            luff = LineString(main.cut.luff)
            across = LineString((at, luff.interpolate(luff.project(Point(at))).coords[0]))
            drawn = 0.0 if main.make.cut == "cross-cut" else drawn_in(main, across, away=0.0)
            assert tape(main, across) - drawn == pytest.approx(asked[name], abs=1.0), name

    def test_the_luff_perpendicular_is_said_as_the_tape_reads_it(self, case: tuple[SailShape, Main]) -> None:
        """It follows from the three edges and the shaping; without take-up, so that only shaping tells."""
        shape, shaped = case
        make = replace(shaped.make, take_up=TakeUp(0, 0, 0, 0))
        main = built(make.cut, shape, make=make)
        luff = LineString(main.cut.luff)
        across = LineString((main.cut.clew_point, luff.interpolate(luff.project(Point(main.cut.clew_point))).coords[0]))
        said = cloth.sewn_sizes(shape, make)["luff_perpendicular"]
        assert said == pytest.approx(tape(main, across), abs=1.0)

    def test_nothing_shaped_nothing_to_say(self) -> None:
        shape = SAILS["dinghy jib"]
        assert cloth.sewn_sizes(shape, make_of("vertical", shape, plain=True)) == {}


class TestThreads:
    @pytest.mark.parametrize(("cut", "name"), CASES)
    def test_the_strong_threads_lie_along_leech_and_foot(self, cut: str, name: str) -> None:
        """Of a plain panel: the leech's chord runs across the roll where the fill is strong, along it where the warp is."""
        main = built(cut, SAILS[name], plain=True)
        for panel in main.panels:
            corner = "foot" if panel.place.startswith("lower half") else "leech"
            end = main.cut.tack_point if corner == "foot" else main.cut.head_point
            angle = turned_by(panel) + math.atan2(*np.subtract(end, main.cut.clew_point)[::-1])
            across = abs(math.sin(angle))
            assert across == pytest.approx(0.0 if cut == "vertical" else 1.0, abs=1e-3)

    def test_tablings_and_outer_patches_lie_with_the_body(self) -> None:
        main, plain = built("vertical", SAILS["dinghy jib"]), built("vertical", SAILS["dinghy jib"], plain=True)
        leech = next(p for p in main.parts if p.id.startswith("LEECH-TABLING"))
        wide, high = Polygon(leech.outer).bounds[2:]
        assert wide > 3 * high
        for part in (p for p in main.parts if p.id in ("TACK-1", "CLEW-1", "HEAD-1")):
            assert abs(math.sin(turned_by_ring(part.on_sail, part.outer) - turned_by(plain.panels[0]))) < 0.02, part.id


def turned_by(panel: Panel) -> float:
    return turned_by_ring(panel.finished, panel.cut)


def turned_by_ring(one: tuple[SailPoint, ...], other: tuple[SailPoint, ...]) -> float:
    """By how much the second ring is the first one turned, from where its corners lie seen from its middle."""
    a, b = (ring - np.array(Polygon(ring).centroid.coords[0]) for ring in (np.array(one), np.array(other)))
    corner = a[np.hypot(*a.T).argmax()]
    fits = []
    for other_corner in b[np.abs(np.hypot(*b.T) - np.hypot(*corner)) < 0.05]:
        turn = math.atan2(*other_corner[::-1]) - math.atan2(*corner[::-1])
        c, s = math.cos(turn), math.sin(turn)
        fits.append((Polygon(a @ np.array(((c, s), (-s, c)))).symmetric_difference(Polygon(b)).area, turn))
    misfit, turn = min(fits)
    assert misfit < 1e-4 * Polygon(b).area
    return turn
