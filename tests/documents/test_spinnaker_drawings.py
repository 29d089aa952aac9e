"""A spinnaker on paper: upright, its sizes with their rules, its gores and seams named, its lay readable."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from costing import sail
from costing.quote import Design
from loft.documents import free_place, lay_drawing, lay_marks, lettering, panel_sizes, sail_details, sail_drawing
from loft.documents.drawing import Letters, Stroke
from tests import spinnakers


@pytest.fixture(scope="module", params=["symmetric", "asymmetric"])
def design(request: pytest.FixtureRequest) -> Design:
    (found,) = spinnakers.priced(request.param).designs.values()
    return found


def test_sizes_stand_with_their_rules(design: Design) -> None:
    texts = sail_drawing.dimensioned_sail(design).texts
    assert {"4,290.0 · C.8.3 (a)", "2,390.0 · C.8.3 (b)", "half 2,440.0", "foot median 4,470.0 · C.8.3 (d)"} <= set(texts)
    assert not any(t.startswith("top ") for t in texts), "its head is a point"


def test_no_width_s_figure_lies_on_the_median(design: Design) -> None:
    drawn = sail_drawing.dimensioned_sail(design)
    ring = next(i for i in drawn.items if isinstance(i, Stroke) and i.closed and i.pen == sail_drawing.OUTLINE).line
    middle, _ = max(ring, key=lambda p: p[1])  # upright: the median stands below the head
    widths = [i for i in drawn.items if isinstance(i, Letters) and i.text.startswith(("half ", "quarter "))]
    assert len(widths) == 2
    assert all(abs(i.at[0] - middle) > lettering.width(i.text, i.height) / 2 for i in widths)


def test_it_stands_upright(design: Design) -> None:
    """The head is above the middle between tack and clew, whichever side is shown."""
    for side in sail_drawing.SIDES:
        drawing = sail_drawing.dimensioned_sail(design, side=side)
        ring = next(i for i in drawing.items if isinstance(i, Stroke) and i.closed and i.pen == sail_drawing.OUTLINE).line
        head, tack = max(ring, key=lambda p: p[1]), ring[0]
        view = sail_drawing.making_sail(design, side=side)
        assert min(x for x, _ in ring) >= 0 and max(x for x, _ in ring) <= drawing.width
        assert (tack[0] > head[0]) == (side == "starboard")
        assert view.width > 0


def test_the_half_width_goes_from_fold_to_fold(design: Design) -> None:
    folded = {name: p for name, p in sail_points(design).items() if name == "half_width"}
    (ends,) = folded.values()
    (x0, y0), (x1, y1) = ends
    assert ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 == pytest.approx(2440, abs=0.1)


def sail_points(design: Design) -> dict[str, tuple[tuple[float, float], tuple[float, float]]]:
    leech, luff = sail.leech_points(design.outline), sail.luff_points(design.outline)
    return {name: (luff[name], leech[name]) for name in luff}


def test_every_panel_is_marked_on_the_sail(design: Design) -> None:
    texts = sail_drawing.making_sail(design).texts
    assert {p.mark for p in design.panels} <= set(texts)


def test_seams_are_named_once_with_the_panels_that_they_join(design: Design) -> None:
    named = {seam.name: seam for seam in sail_details.named_seams(design.panels)}
    assert len(named) == design.takeoff.amount("three_step_seam")
    assert (named["head seam 1"].between, named["head joint"].between) == ("H1 to H2", "P2 to H1–H5")
    lengths = sum(sail_details.length(seam.line) for seam in named.values())
    assert lengths == pytest.approx(float(design.takeoff.amount("three_step_seam_m")) * 1000, abs=0.5 * len(named) + 1)


def test_every_part_is_marked_on_its_lay_and_no_text_runs_over_another(design: Design) -> None:
    (lay,) = design.lays
    strips = lay_drawing.lay_strips({"": design}, lay, width=176)
    assert set(lay_marks.short_marks(design.parts).values()) <= {t for s in strips for t in s.texts}
    for strip in strips:
        boxes = {i: free_place.text_box(i, -0.2) for i in strip.items if isinstance(i, Letters) and i.anchor == "middle"}
        for one, other in combinations(boxes.values(), 2):
            apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
            assert apart, (strip.title, [k.text for k, v in boxes.items() if v in (one, other)])


def test_most_gores_say_at_which_corner_they_end(design: Design) -> None:
    (whole,) = lay_drawing.lay_strips({"": design}, design.lays[0], width=1200, strip_mm=1e6)
    gores = [p for p in design.panels if p.mark[0] in "HTC"]
    said = [t for t in whole.texts if t in ("head", "tack", "clew")]
    assert len(said) >= len(gores)


def test_a_gore_has_no_luff_end_to_check(design: Design) -> None:
    gore = next(p for p in design.panels if p.mark == "H2")
    sizes = panel_sizes.panel_sizes(gore)
    assert sizes.luff_end is None
    assert sizes.widest == pytest.approx(max(y for _, y in gore.cut))


def test_the_median_s_figure_is_clear_of_the_widths(design: Design) -> None:
    drawn = sail_drawing.dimensioned_sail(design)
    lines = [i.line for i in drawn.items if isinstance(i, Stroke) and i.pen == sail_drawing.MEASURE and not i.closed]
    (letters,) = (i for i in drawn.items if isinstance(i, Letters) and i.text.startswith("foot median"))
    half = lettering.width(letters.text, letters.height) / 2
    ends = (letters.at[1] - half, letters.at[1] + half)
    crossed = [
        a[1] + (b[1] - a[1]) * (letters.at[0] - a[0]) / (b[0] - a[0])
        for a, b in lines
        if (a[0] - letters.at[0]) * (b[0] - letters.at[0]) < 0
    ]
    assert crossed and not any(ends[0] < y < ends[1] for y in crossed)


def test_a_shaded_panel_s_colour_slot_is_named_under_the_drawing(design: Design) -> None:
    """Within the drawing's width, on both drawings; a design of one colour has no legend."""
    coloured = replace(design, panels=tuple(replace(p, colour="accent" if p.mark == "H1" else "") for p in design.panels))
    for drawn in (sail_drawing.dimensioned_sail(coloured, width=74), sail_drawing.making_sail(coloured)):
        caption = next(i for i in drawn.items if isinstance(i, Letters) and "side (luff" in i.text)
        assert caption.text.endswith("; shaded: accent")
        assert lettering.width(caption.text, caption.height) <= drawn.width + 1e-6
    assert not any("shaded" in text for text in sail_drawing.making_sail(design).texts)
