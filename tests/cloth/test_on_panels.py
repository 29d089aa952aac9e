"""Lines of the sail on its panels: against marks that were drafted another way, and by length."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from math import dist

import pytest
import shapely

from costing import cloth, takeoff
from costing.quote import BatchResult, Design, number_lines
from tests import headsails, spinnakers
from tests.documents import sample


def first(made: Callable[[], BatchResult]) -> Design:
    result = made()
    return result.designs[result.batch.sails[0].design_key]


@pytest.mark.parametrize(
    ("label", "made", "mark", "drawn_in"),
    [("no seam below it", headsails.priced, "P1", 0.0), ("below it a broadseam of 10 mm at the luff", sample.result, "P2", 10.0)],
)
def test_a_window_is_where_the_drafting_drew_it(label: str, made: Callable[[], BatchResult], mark: str, drawn_in: float) -> None:
    """The pane's place on the sail, brought to the panel, lies on the panel's own window line, but for what the seam below draws in."""
    design = first(made)
    (window,) = (p for p in design.parts if p.kind == "window")
    panel = next(p for p in design.panels if p.mark == mark)
    (drafted,) = (m.line for m in panel.marks if m.kind == "window")
    heights = [y for _, y in panel.lower_sew]
    assert (max(heights) - min(heights) if heights else 0.0) == pytest.approx(drawn_in)
    (piece,) = cloth.on_panels(design.panels, (*window.on_sail, window.on_sail[0]))[mark]
    assert shapely.hausdorff_distance(shapely.LineString(piece), shapely.LinearRing(drafted)) <= drawn_in + 0.01


@pytest.mark.parametrize("made", [sample.result, spinnakers.priced], ids=["main", "spinnaker"])
def test_a_numbers_base_lines_are_drawn_whole_and_inside_their_panels(made: Callable[[], BatchResult]) -> None:
    design = first(made)
    numbers = takeoff.number_plan(design.outline, "214", Decimal(3990))
    parts = number_lines.with_numbers(design, numbers)
    assert [p.id for p in parts] == [p.id for p in design.parts]
    lines = [(part, mark) for part in parts for mark in part.marks if mark.kind == "number"]
    for side, base in (("port", numbers.port_base), ("starboard", numbers.starboard_base)):
        own = [(part, mark) for part, mark in lines if mark.text == f"214 {side}"]
        assert sum(dist(mark.line[0], mark.line[-1]) for _, mark in own) == pytest.approx(dist(*base), abs=0.5), side
        for part, mark in own:
            assert shapely.Polygon(part.outer).buffer(1).contains(shapely.LineString(mark.line))


def test_without_a_number_nothing_is_drawn() -> None:
    design = first(sample.result)
    assert number_lines.with_numbers(design, None) is design.parts
