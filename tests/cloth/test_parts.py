"""Every piece of a sail: how many, how large, from what, and where it belongs."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate, translate

from costing import cloth, sail
from costing.cloth import Edge, EdgeMethod, EdgePatch, Make, Orientation, Part, Patch, Placement, Table, Window
from costing.cloth.features import PANE_BORDER_MM
from costing.cloth.frame import frame_of
from costing.errors import InputError
from costing.measurements import Corner
from costing.sail.shape import Line
from tests.cloth.skerling_main import BODY, FILM, FINISHED, MAKE, Main, built


def of_kind(main: Main, kind: str) -> list[Part]:
    return [p for p in main.parts if p.kind == kind]


def refused(make: Make, finished: sail.SailShape = FINISHED) -> list[str]:
    with pytest.raises(InputError) as caught:
        built(make, finished)
    return [f"{p.path} | {p.code} | {p.message}" for p in caught.value.problems]


def reach(part: Part, corner: tuple[float, float]) -> float:
    """Reinforcement size by the ERS: greatest distance from the corner point to the patch edge (from memory, G.6 of the 2009-16 layout)."""
    return max(Point(corner).distance(Point(p)) for p in part.on_sail)


def laid(ring: Line, at: Placement) -> Polygon:
    return translate(rotate(Polygon(ring), at.angle, origin=(0, 0)), at.x, at.y)


class TestWhole:
    def test_a_main_of_its_parts(self, skerling: Main) -> None:
        counted = {kind: len(of_kind(skerling, kind)) for kind in ("panel", "patch", "pocket", "tabling", "window")}
        # patches 4 + 4 + 5 (7.6 m2: four layers, clew one more) and 2 of the cunningham; tablings 5 along the leech, 3 along the foot
        assert counted == {"panel": 5, "patch": 15, "pocket": 3, "tabling": 8, "window": 1}

    def test_ids_are_unique_and_every_part_can_be_laid(self, skerling: Main) -> None:
        assert len({p.id for p in skerling.parts}) == len(skerling.parts)
        for part in skerling.parts:
            shape = Polygon(part.outer)
            assert shape.is_valid, part.id
            assert shape.bounds[:2] == pytest.approx((0, 0), abs=1e-9), part.id
            assert shape.bounds[3] <= BODY.usable_width_mm, part.id
            assert shape.buffer(-8).area > 0, f"{part.id} is a sliver"

    def test_each_names_its_material_and_is_marked(self, skerling: Main) -> None:
        assert {p.material for p in of_kind(skerling, "window")} == {FILM.code}
        assert {p.material for p in skerling.parts if p.kind != "window"} == {BODY.code}
        for part in skerling.parts:
            (mark,) = (m for m in part.marks if m.kind == "mark")
            assert mark.text == part.id
            assert Polygon(part.outer).contains(Point(mark.line[0]))

    def test_cut_area_is_larger_than_the_sail(self, skerling: Main) -> None:
        area = sum(cloth.net_area_mm2(p) for p in skerling.parts if p.material == BODY.code)
        assert area > Polygon(skerling.cut.ring).area

    def test_on_the_sail_no_part_is_mirrored_or_resized(self, skerling: Main) -> None:
        for part in skerling.parts:
            if part.kind != "panel":
                assert Polygon(part.on_sail).area == pytest.approx(Polygon(part.outer).area)
                assert Polygon(part.on_sail).exterior.is_ccw == Polygon(part.outer).exterior.is_ccw, part.id

    def test_panels_become_parts_as_they_are(self, skerling: Main) -> None:
        assert [(p.id, p.outer, p.full_width) for p in of_kind(skerling, "panel")] == [
            (p.mark, p.cut, p.full_width) for p in skerling.panels
        ]

    def test_a_hole_is_cut_after_sewing(self, skerling: Main) -> None:
        assert all(part.holes == () for part in skerling.parts)

    def test_a_hole_on_the_table_is_the_pane_less_its_border(self, skerling: Main) -> None:
        made = cloth.parts(skerling.cut, skerling.panels, MAKE, BODY, patch_caps={}, window_holes=True)
        ((panel, hole),) = [(part, hole) for part in made for hole in part.holes]
        (drawn,) = [mark.line for own in skerling.panels if own.mark == panel.id for mark in own.marks if mark.kind == "hole"]
        # the film is sewn on over a border of 15 mm all round (common practice, no source)
        box = Polygon(hole).minimum_rotated_rectangle.exterior
        sides = sorted(Point(a).distance(Point(b)) for a, b in itertools.pairwise(box.coords))
        assert sides[::2] == pytest.approx([360 - 2 * PANE_BORDER_MM, 560 - 2 * PANE_BORDER_MM], abs=0.01)
        assert Polygon(hole).equals(Polygon(drawn))
        assert Polygon(panel.outer).contains(Polygon(hole))
        assert not [mark for mark in panel.marks if mark.kind == "hole"]
        assert [mark for mark in panel.marks if mark.kind == "window"]

    def test_parts_lie_in_a_hole_on_the_table_and_the_lay_is_shorter(self, skerling: Main) -> None:
        table = Table(window_holes=True)
        body = tuple(p for p in skerling.parts if p.material == BODY.code)
        made = cloth.parts(skerling.cut, skerling.panels, MAKE, BODY, patch_caps={}, window_holes=True)
        holed = tuple(p for p in made if p.material == BODY.code)
        lay = cloth.plan_lay({"": holed}, BODY, table)
        assert cloth.audit_lay(lay, {"": holed}, BODY, table) == ()
        assert lay.length_mm < cloth.plan_lay({"": body}, BODY, table).length_mm
        host = next(p for p in holed if p.holes)
        placed = {p.part_id: p for p in lay.placements}
        hole = laid(host.holes[0], placed[host.id])
        assert [p.id for p in holed if p is not host and hole.contains(laid(p.outer, placed[p.id]))]

    def test_two_features_with_one_name_are_refused(self) -> None:
        twice = (*MAKE.edge_patches, replace(MAKE.edge_patches[0], from_corner_mm=900))
        assert any("name_twice" in told for told in refused(replace(MAKE, edge_patches=twice)))


class TestCornerPatches:
    @pytest.mark.parametrize(
        ("corner", "point", "radius"),
        # 9 % of the cut luff, 5246.42, at head and tack; of the cut leech, 5571.56, at the clew
        [("HEAD", "head_point", 472.18), ("TACK", "tack_point", 472.18), ("CLEW", "clew_point", 501.44)],
    )
    def test_sizes_by_hand(self, skerling: Main, corner: str, point: str, radius: float) -> None:
        layers = [p for p in skerling.parts if p.id.startswith(f"{corner}-")]
        at = getattr(skerling.cut, point)
        sizes = [reach(p, at) for p in layers]
        # the rim is drawn in short straight pieces, up to 0.7 mm inside the arc, never outside
        assert radius - 0.7 <= sizes[0] <= radius + 0.01
        steps = [a - b for a, b in itertools.pairwise(sizes)]
        assert steps == pytest.approx([25.0] * len(steps), abs=0.5)

    @pytest.mark.parametrize(("corner", "point"), [("TACK", "tack_point"), ("CLEW", "clew_point")])
    def test_foot_leg_is_at_most_its_share_of_the_foot(self, skerling: Main, corner: str, point: str) -> None:
        largest = next(p for p in skerling.parts if p.id == f"{corner}-1")
        at = Point(getattr(skerling.cut, point))
        foot = LineString(skerling.cut.foot)
        on_foot = [p for p in largest.on_sail if foot.distance(Point(p)) < 1.0]
        assert max(at.distance(Point(p)) for p in on_foot) == pytest.approx(0.15 * 2442.44, abs=2.0)

    def test_stay_inside_the_sail_and_touch_their_corner(self, skerling: Main) -> None:
        whole = Polygon(skerling.cut.ring).buffer(0.1)
        corners = {"HEAD": skerling.cut.head_point, "TACK": skerling.cut.tack_point, "CLEW": skerling.cut.clew_point}
        for part in of_kind(skerling, "patch"):
            shape = Polygon(part.on_sail)
            assert whole.contains(shape), part.id
            if part.id.split("-")[0] in corners:
                assert shape.distance(Point(corners[part.id.split("-")[0]])) < 0.1, part.id

    def test_the_class_caps_a_patch(self, skerling: Main) -> None:
        capped = cloth.parts(skerling.cut, skerling.panels, MAKE, BODY, patch_caps={Corner.HEAD: 400.0})
        head = next(p for p in capped if p.id == "HEAD-1")
        assert reach(head, skerling.cut.head_point) == pytest.approx(400.0, abs=0.5)

    def test_outer_layer_lies_along_the_body_and_inner_ones_along_the_load(self, skerling: Main) -> None:
        frame = frame_of(skerling.cut)
        outer, inner = (next(p for p in skerling.parts if p.id == f"CLEW-{n}") for n in (1, 2))
        laid = frame.to_roll(outer.on_sail)
        assert laid - laid.min(axis=0) == pytest.approx(np.array(outer.outer), abs=1e-6)
        # the corner of an inner layer points straight down or up the fill: its middle is above or below the corner
        corner = frame.to_roll((skerling.cut.clew_point,))[0]
        laid = frame.to_roll(inner.on_sail)
        index = min(range(len(laid)), key=lambda i: float(((laid[i] - corner) ** 2).sum()))
        tip, box = inner.outer[index], Polygon(inner.outer).bounds
        assert tip[1] == pytest.approx(box[1], abs=1e-6)
        assert box[0] + 100 < tip[0] < box[2] - 100

    @pytest.mark.parametrize(
        ("label", "scale", "layers"),
        # layers below 5, 9, 12 m2: 3, 4, 5, one more at the clew (common practice, no source)
        [("3.7 m2", 0.7, 3 + 3 + 4), ("7.6 m2", 1.0, 4 + 4 + 5), ("10.3 m2", 1.16, 5 + 5 + 6)],
    )
    def test_layers_by_area(self, label: str, scale: float, layers: int) -> None:
        main = built(plain_make(), scaled(scale), replace(BODY, usable_width_mm=9000))
        assert len([p for p in main.parts if p.kind == "patch"]) == layers, label

    def test_above_twelve_square_metres_the_pattern_must_say(self) -> None:
        big = scaled(1.3)
        cut = sail.outline(big)
        wide = replace(BODY, usable_width_mm=9000)
        with pytest.raises(InputError) as caught:
            cloth.parts(cut, cloth.panels(cut, plain_make(), wide), plain_make(), wide, patch_caps={})
        assert [p.code for p in caught.value.problems] == ["layers_unknown"] * 3
        given = replace(plain_make(), patches=(Patch(Corner.HEAD, 0.09, 7, 25, ""),))
        made = cloth.parts(cut, cloth.panels(cut, given, wide), given, wide, patch_caps={})
        assert len([p for p in made if p.kind == "patch"]) == 7

    def test_a_layer_too_small_to_sew_is_refused(self) -> None:
        tiny = (Patch(Corner.TACK, 0.03, 6, 25, ""),)
        (told,) = refused(replace(MAKE, patches=tiny))
        assert "patch_too_small" in told
        assert "take fewer layers" in told


def plain_make() -> Make:
    return replace(MAKE, seams=(), pockets=(), windows=(), edge_patches=())


def scaled(by: float) -> sail.SailShape:
    return replace(
        FINISHED,
        luff_length=FINISHED.luff_length * by,
        leech_length=FINISHED.leech_length * by,
        foot_length=FINISHED.foot_length * by,
        widths=tuple((name, width * by) for name, width in FINISHED.widths),
        top_width=FINISHED.top_width * by,
        foot_round=FINISHED.foot_round * by,
    )


class TestOtherPieces:
    def test_a_pocket_is_batten_room_and_turn_in(self, skerling: Main) -> None:
        lower = next(p for p in skerling.parts if p.id == "POCKET-LOWER")
        # 600 + 12 long, 25 + 14 wide, 10 turned in all round
        assert Polygon(lower.outer).bounds == pytest.approx((0, 0, 632, 59))

    def test_an_edge_patch_is_a_half_disc_on_the_luff(self, skerling: Main) -> None:
        first, second = (next(p for p in skerling.parts if p.id == f"CUNNINGHAM-{n}") for n in (1, 2))
        assert cloth.net_area_mm2(first) == pytest.approx(3.1416 / 2 * 120**2, rel=0.02)
        assert cloth.net_area_mm2(second) == pytest.approx(3.1416 / 2 * 95**2, rel=0.02)

    def test_an_edge_patch_on_no_edge_is_refused(self) -> None:
        foot = EdgePatch("shelf", "foot", 900, 120, 2, "", "")
        assert "unknown_edge" in refused(replace(MAKE, edge_patches=(foot,)))[0]

    def test_film_may_lie_any_way_and_cloth_only_along_its_threads(self, skerling: Main) -> None:
        assert {p.angles for p in of_kind(skerling, "window")} == {(0, 90, 180, 270)}
        assert {p.angles for p in skerling.parts if p.kind != "window"} == {(0, 180)}

    def test_a_pane_has_its_size(self, skerling: Main) -> None:
        (pane,) = of_kind(skerling, "window")
        assert Polygon(pane.outer).bounds == pytest.approx((0, 0, 560, 360))

    def test_two_windows(self) -> None:
        second = Window("window aft", 0.75, 480, 300, 200, FILM.code)
        main = built(replace(MAKE, windows=(*MAKE.windows, second)))
        assert [p.id for p in of_kind(main, "window")] == ["WINDOW", "WINDOW-AFT"]

    def test_tabling_strips_follow_their_edge_end_to_end(self, skerling: Main) -> None:
        strips = [Polygon(p.on_sail) for p in skerling.parts if p.id.startswith("LEECH-TABLING")]
        leech = LineString(skerling.cut.leech)
        assert sum(leech.intersection(s).length for s in strips) == pytest.approx(leech.length + 4 * MAKE.seam_overlap_mm, abs=2.0)
        assert all(s.area / (25 + 5) == pytest.approx(leech.length / 5 + 15, rel=0.02) for s in strips)

    def test_only_cut_edges_have_strips(self) -> None:
        taped = built(replace(MAKE, leech=Edge(EdgeMethod.TAPED, 25, 5), foot=Edge(EdgeMethod.FOLDED, 25, 35)))
        assert of_kind(taped, "tabling") == []

    def test_warp_cloth_for_patches_alone_still_points_its_strong_side(self, skerling: Main) -> None:
        """On warp-oriented cloth the load line of an inner layer lies along the roll."""
        warp = replace(BODY, orientation=Orientation.WARP)
        made = cloth.parts(skerling.cut, skerling.panels, MAKE, warp, patch_caps={})
        across, along = (next(p for p in some if p.id == "TACK-2") for some in (skerling.parts, made))
        ax, ay = Polygon(across.outer).bounds[2:]
        bx, by = Polygon(along.outer).bounds[2:]
        assert (bx, by) == pytest.approx((ay, ax), abs=1e-6)
