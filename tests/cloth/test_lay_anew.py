"""Sections handed out and taken back, the exact push to the left, and holes filled before all else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.affinity import translate

from costing import cloth
from costing.cloth import Cloth, Lay, Orientation, Part, Table
from costing.cloth.anew import loosened, settled
from costing.cloth.push import Jammed, pushed_left
from costing.cloth.shapes import Turned, pieces

Parts = dict[str, tuple[Part, ...]]

ROLL = Cloth("ROLL", "roll", "woven", "firm", 1370, 1370, 170, Orientation.FILL, True, ("white",))
TOUCHING = Table(length_mm=12000, gap_mm=0.01)
CUT = Table(length_mm=12000, gap_mm=4)


def shape(*corners: tuple[float, float]) -> Turned:
    ring = np.array(corners, dtype=float)
    width, height = np.ptp(ring, axis=0)
    return Turned(0, (ring,), float(width), float(height), 0.0, 0.0)


SQUARE = shape((0, 0), (10, 0), (10, 10), (0, 10))
#: Its hollow on the right is 6 deep and 4 high.
HOLLOW = shape((0, 0), (10, 0), (10, 3), (4, 3), (4, 7), (10, 7), (10, 10), (0, 10))
SMALL = shape((0, 0), (5, 0), (5, 3), (0, 3))


class TestPush:
    """Distances worked out by hand."""

    def test_side_by_side_they_touch(self) -> None:
        assert pushed_left([SQUARE, SQUARE], [1, 30], [0, 5]) == pytest.approx([0, 10])

    def test_one_above_the_other_both_reach_the_start(self) -> None:
        assert pushed_left([SQUARE, SQUARE], [5, 30], [0, 10]) == pytest.approx([0, 0])

    def test_into_a_hollow(self) -> None:
        assert pushed_left([HOLLOW, SMALL], [0, 20], [0, 3.5]) == pytest.approx([0, 4])

    def test_what_lies_in_a_hollow_keeps_its_neighbour_off(self) -> None:
        assert pushed_left([HOLLOW, SMALL, SQUARE], [0, 4.5, 40], [0, 3.5, 0]) == pytest.approx([0, 4, 10])
        assert pushed_left(
            [HOLLOW, replace(SMALL, rings=(SMALL.rings[0] * (2, 1),), width=10.0), SQUARE], [0, 4, 40], [0, 3.5, 0]
        ) == pytest.approx([0, 4, 14])

    def test_a_small_overlap_comes_apart(self) -> None:
        assert pushed_left([SQUARE, SQUARE], [0, 9.5], [0, 0]) == pytest.approx([0, 10])

    def test_no_further_than_asked(self) -> None:
        assert pushed_left([SQUARE, SQUARE], [50, 90], [0, 0], reach_mm=7) == pytest.approx([43, 83])

    def test_a_shape_across_another_cannot_come_apart(self) -> None:
        # its middle is right of the back of the hollow, and left of the middle of the front below
        with pytest.raises(Jammed, match="in a ring"):
            pushed_left([HOLLOW, SMALL], [0, 2], [0, 1.5])

    def test_measured_parts_do_not_overlap_afterwards_and_end_sooner(self, measured_main: Parts) -> None:
        kinds = pieces([("", p) for p in measured_main["S0"][:12]], 1370, TOUCHING, keep_holes=False)
        shapes = [kind.turns[0] for kind in kinds]
        x = np.cumsum([0.0, *(s.width for s in shapes[:-1])])
        pushed = pushed_left(shapes, x.tolist(), [0.0] * len(shapes))
        laid = [translate(shapely.Polygon(s.rings[0]), at, 0) for s, at in zip(shapes, pushed, strict=True)]
        assert max(a.intersection(b).area for n, a in enumerate(laid) for b in laid[:n]) < 1e-3
        assert pushed[-1] < x[-1] - 100


class TestAnew:
    def lay(self, sails: Parts, table: Table = CUT) -> Lay:
        return cloth.plan_lay(sails, ROLL, replace(table, window_holes=True))

    def test_put_back_where_it_was_it_is_as_long_at_most_and_sound(self, measured_main: Parts) -> None:
        for table in (CUT, TOUCHING):
            lay = self.lay(measured_main, table)
            loose = loosened(lay, range(1), measured_main, ROLL, table)
            spots = [(group.host.x, group.host.y, group.host.angle) for group in loose.groups]
            again = settled(loose, spots)
            assert cloth.audit_lay(again, measured_main, ROLL, table) == ()
            assert again.length_mm <= lay.length_mm

    def test_what_lies_in_a_hole_is_not_handed_out_but_goes_along(self, measured_main: Parts) -> None:
        lay = self.lay(measured_main)
        loose = loosened(lay, range(1), measured_main, ROLL, CUT)
        riders = [rider.part_id for group in loose.groups for rider in group.riders]
        assert len(riders) >= 4
        assert len(loose.items) == len(lay.placements) - len(riders)
        # everything one after another, as it is or turned half round: the window goes with what is in it
        for angle in (0, 180):
            x, spots = 0.0, []
            for item in loose.items:
                ring = np.array(item.outline) * (1 if angle == 0 else -1)
                spots.append((x - ring[:, 0].min(), -ring[:, 1].min(), angle))
                x += np.ptp(ring[:, 0]) + 10
            apart = settled(loose, spots)
            problems = {p.code for p in cloth.audit_lay(apart, measured_main, ROLL, replace(CUT, length_mm=1e6))}
            assert problems == set()

    def test_shapes_as_high_as_the_roll_are_handed_out_with_play(self, measured_main: Parts) -> None:
        loose = loosened(self.lay(measured_main), range(1), measured_main, ROLL, CUT)
        heights = sorted(np.ptp(np.array(item.outline)[:, 1]) for item in loose.items)
        assert heights[-3:] == pytest.approx([loose.height_mm - 1] * 3, abs=0.3)

    def test_two_sections_become_one(self) -> None:
        box = Part("A", "panel", "A", "ROLL", ((0.0, 0.0), (5000.0, 0.0), (5000.0, 1370.0), (0.0, 1370.0)))
        sails = {str(n): (box,) for n in range(3)}
        lay = self.lay(sails)
        assert [s.number for s in lay.sections] == [0, 1]
        loose = loosened(lay, range(2), sails, ROLL, CUT)
        joined = settled(loose, [(n * 5010.0, 0.0, 0) for n in range(3)])
        assert [s.number for s in joined.sections] == [0]
        assert joined.length_mm == pytest.approx(3 * 5000 + 3 * 4, abs=0.5)
        assert [p.code for p in cloth.audit_lay(joined, sails, ROLL, CUT)] == ["section_too_long"]
