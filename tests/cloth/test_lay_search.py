"""Steps spent on a lay: shorter, the same each time, ended when asked, and never believed without an audit."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from shapely import Polygon
from shapely.affinity import translate

from costing import cloth
from costing.cloth import Cloth, Lay, Orientation, Part, Table
from costing.cloth.improve import shortest_sound
from costing.cloth.meetings import Meetings
from costing.cloth.shapes import pieces
from costing.errors import CostingBug
from tests.cloth.skerling_main import BODY, Main

Parts = dict[str, tuple[Part, ...]]

TABLE = Table(length_mm=12000, gap_mm=4)
ROLL = Cloth("ROLL", "roll", "woven", "firm", 1370, 1370, 170, Orientation.FILL, True, ("white",))
TOUCHING = Table(length_mm=12000, gap_mm=0.01)


def box(name: str, width: float, height: float, angles: tuple[int, ...] = (0, 180)) -> Part:
    return Part(name, "panel", name, "ROLL", ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height)), angles=angles)


class TestMeasuredMain:
    """A nesting library alone stands at 10.7 % after 20 s (data/SOURCE.md); the lay before any step at 11.0 %."""

    def test_steps_shorten_it(self, measured_main: Parts) -> None:
        lay = cloth.plan_lay(measured_main, ROLL, replace(TOUCHING, window_holes=True), steps=4000, seed=1)
        assert cloth.audit_lay(lay, measured_main, ROLL, TOUCHING) == ()
        assert lay.length_mm < 0.995 * cloth.plan_lay(measured_main, ROLL, replace(TOUCHING, window_holes=True)).length_mm
        assert lay.length_mm > lay.bound_mm

    def test_the_same_for_the_same_steps_and_seed(self, measured_main: Parts) -> None:
        first, again = (cloth.plan_lay(measured_main, ROLL, TOUCHING, steps=80, seed=3) for _ in range(2))
        assert first == again
        assert first != cloth.plan_lay(measured_main, ROLL, TOUCHING, steps=80, seed=4)


class TestSkerling:
    def test_the_gap_is_kept_and_never_longer(self, skerling: Main) -> None:
        sails = {"a": skerling.parts, "b": skerling.parts}
        lay = cloth.plan_lay(sails, BODY, TABLE, steps=400)
        assert cloth.audit_lay(lay, sails, BODY, TABLE) == ()
        assert lay.length_mm <= cloth.plan_lay(sails, BODY, TABLE).length_mm
        assert len(lay.placements) == 62

    def test_stopped_at_once_is_the_lay_without_steps(self, skerling: Main) -> None:
        sails = {"": skerling.parts}
        assert cloth.plan_lay(sails, BODY, TABLE, steps=10**9, should_stop=lambda: True) == cloth.plan_lay(sails, BODY, TABLE)

    def test_stopped_on_the_way_is_sound(self, skerling: Main) -> None:
        asked = itertools.count()
        lay = cloth.plan_lay({"": skerling.parts}, BODY, TABLE, steps=10**9, should_stop=lambda: next(asked) > 100)
        assert cloth.audit_lay(lay, {"": skerling.parts}, BODY, TABLE) == ()

    def test_progress_goes_from_section_to_section_up_to_1(self, skerling: Main) -> None:
        told: list[tuple[float, float]] = []
        lay = cloth.plan_lay(
            {str(n): skerling.parts for n in range(3)}, BODY, TABLE, steps=60, progress=lambda share, mm: told.append((share, mm))
        )
        shares = [share for share, _ in told]
        assert shares == sorted(shares)
        assert shares[-1] == 1
        assert told[-1][1] == pytest.approx(lay.length_mm, abs=0.01)


class TestNeighbours:
    @pytest.mark.parametrize("steps", [0, 100])
    def test_no_sail_is_spread_over_more_than_two_sections_in_a_row(self, skerling: Main, steps: int) -> None:
        sails = {f"{n:02}": skerling.parts for n in range(7)}
        lay = cloth.plan_lay(sails, BODY, TABLE, neighbours=True, steps=steps)
        assert cloth.audit_lay(lay, sails, BODY, TABLE) == ()
        for sail in sails:
            own = {p.section for p in lay.placements if p.sail == sail}
            assert max(own) - min(own) <= 1, sail

    def test_without_the_switch_they_are(self, skerling: Main) -> None:
        lay = cloth.plan_lay({f"{n:02}": skerling.parts for n in range(7)}, BODY, TABLE)
        assert any(len({p.section for p in lay.placements if p.sail == f"{n:02}"}) > 2 for n in range(7))


class TestByHand:
    def test_a_part_finds_the_turn_that_lies_across(self) -> None:
        # one beside the other they need 900 of the 1,370 mm, and the longer one can lie across the roll at 600 mm
        sails = {"": (box("A", 1300, 600, (0, 90)), box("B", 600, 1370, (0,)))}
        lay = cloth.plan_lay(sails, ROLL, TABLE, steps=300)
        assert cloth.audit_lay(lay, sails, ROLL, TABLE) == ()
        # 600 + 4 + 600, and half a gap at either end, each with a twentieth of a millimetre for thinned points
        assert lay.length_mm == pytest.approx(1208.2, abs=0.1)

    def test_one_part_alone_cannot_become_shorter(self) -> None:
        sails = {"": (box("A", 1300, 600),)}
        assert cloth.plan_lay(sails, ROLL, TABLE, steps=10**9) == cloth.plan_lay(sails, ROLL, TABLE)


class TestMeetings:
    """What one part denies another, against polygons."""

    def test_at_the_ends_of_a_stretch_they_touch_and_in_its_middle_they_overlap(self, measured_main: Parts) -> None:
        kinds = pieces([("", p) for p in measured_main["S0"]], 1370, TOUCHING, keep_holes=False)
        chosen = [kinds[n] for n in (0, 4, 5, 8)]  # foot panel, head panel, two patches: none of them hollow in a row
        m = Meetings(chosen, 274, 5.0, 5)
        shapes = [Polygon(shape.rings[0]) for shape in m.shapes]
        checked = 0
        for a, b in itertools.product(range(len(shapes)), repeat=2):
            for up in range(-40, 80, 14):
                at = m.base(m.tracks[a][0], 0) + up
                low, high = float(m.low[m.tracks[b][0]][at]), float(m.high[m.tracks[b][0]][at])
                if low >= high:
                    continue
                moved = [translate(shapes[b], x, up * 5.0) for x in (low - 0.1, (low + high) / 2, high + 0.1)]
                areas = [shapes[a].intersection(other).area for other in moved]
                assert areas[0] == 0
                assert areas[2] == 0
                checked += areas[1] > 1
        assert checked > 400


class TestImprove:
    sails: Parts = {"": (box("A", 500, 600), box("B", 400, 700))}

    def plan(self, offered: Lay) -> Lay:
        return cloth.plan_lay(self.sails, ROLL, TABLE, improve=lambda lay, section: offered)

    def test_a_shorter_sound_lay_is_taken(self) -> None:
        own = cloth.plan_lay(self.sails, ROLL, TABLE)
        shorter = replace(own, sections=(replace(own.sections[0], length_mm=own.length_mm - 1),))
        assert self.plan(shorter) == shorter  # half a gap at the end is not needed, so the audit passes

    @pytest.mark.parametrize(("label", "less"), [("too short for its parts", 300.0), ("of no length", 10_000.0)])
    def test_a_lay_that_its_audit_refuses_is_not(self, label: str, less: float) -> None:
        own = cloth.plan_lay(self.sails, ROLL, TABLE)
        bad = replace(own, sections=(replace(own.sections[0], length_mm=own.length_mm - less),))
        assert self.plan(bad) == own, label

    def test_a_longer_lay_is_not(self) -> None:
        own = cloth.plan_lay(self.sails, ROLL, TABLE)
        assert self.plan(replace(own, sections=(replace(own.sections[0], length_mm=own.length_mm + 5),))) == own

    def test_no_sound_lay_at_all_is_a_bug_of_ours(self) -> None:
        own = cloth.plan_lay(self.sails, ROLL, TABLE)
        with pytest.raises(CostingBug, match="no lay on ROLL passes its audit"):
            shortest_sound((replace(own, placements=()),), self.sails, ROLL, TABLE)
