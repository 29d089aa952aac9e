"""Spinnakers drawn at random: whatever their sizes and gores, nothing is lost, seams fit, and the sewn sizes are the asked ones."""

from __future__ import annotations

import math
from collections import Counter

import pytest
from shapely import LineString, Polygon

from costing import cloth, sail
from costing.errors import InputError
from costing.measurements import SailKind
from tests.cloth.made_spinnakers import made_spinnakers, roll
from tests.cloth.sewn import across, half_width_points, seam_pieces, together
from tests.cloth.spinnakers import Spinnaker

COUNT = 60


@pytest.fixture(scope="module")
def drawn() -> list[Spinnaker]:
    """Those that can be made."""
    found = []
    for finished, make in made_spinnakers(COUNT):
        try:
            cut = sail.outline(cloth.cut_shape(finished, make))
            found.append(Spinnaker(finished, make, cut, cloth.panels(cut, make, roll()), ()))
        except InputError:
            continue
    return found


def test_nearly_all_can_be_made_and_every_making_is_among_them(drawn: list[Spinnaker]) -> None:
    assert len(drawn) >= 0.9 * COUNT
    makings = Counter((s.finished.kind, s.make.cut, s.make.centre.value) for s in drawn)
    assert {kind for kind, _, _ in makings} == {SailKind.SYMMETRIC_SPINNAKER, SailKind.ASYMMETRIC_SPINNAKER}
    assert {(cut, centre) for _, cut, centre in makings} == {
        ("radial-head", "cross-cut"), ("tri-radial", "cross-cut"), ("tri-radial", "vertical"),
    }  # fmt: skip


def test_panels_make_up_the_cut_outline(drawn: list[Spinnaker]) -> None:
    for shaped in drawn:
        whole = Polygon(shaped.cut.ring)
        assert together(shaped).hausdorff_distance(whole.exterior) < 1.0
        assert sum(Polygon(p.finished).area for p in shaped.panels) == pytest.approx(whole.area, rel=1e-5)
        assert all(Polygon(p.cut).is_valid for p in shaped.panels)


def test_neighbours_sew_lines_are_equally_long(drawn: list[Spinnaker]) -> None:
    worst = 0.0
    for shaped in drawn:
        for _, _, sew, back in seam_pieces(shaped):
            worst = max(worst, abs(LineString(sew.line).length - LineString(back.line).length))
    assert 0 <= worst < 0.5


def test_sewn_edges_half_width_and_foot_median_are_as_asked(drawn: list[Spinnaker]) -> None:
    for shaped in drawn:
        asked = sail.measure(sail.outline(shaped.finished))
        seam = shaped.make.take_up.per_seam_mm
        for name, ends in {
            "half_width": half_width_points(shaped.cut),
            "foot_median": (shaped.cut.head_point, sail.foot_middle(shaped.cut)),
        }.items():
            on_cloth, crossed = across(shaped, *ends)
            assert on_cloth - crossed * seam == pytest.approx(asked[name], abs=1.0), name
        for edge in ("luff", "leech", "foot"):
            line = getattr(shaped.cut, edge)
            pieces = [m for p in shaped.panels for m in p.marks if m.kind == "edge" and m.text == edge]
            taken = getattr(shaped.make.take_up, f"{edge}_fraction") * asked[f"{edge}_length"] + seam * (len(pieces) - 1)
            assert math.dist(line[0], line[-1]) - taken == pytest.approx(asked[f"{edge}_length"], abs=1.0), edge
