"""Drawings: the same on paper and screen, true to the design, and saying which side they show."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, pairwise
from math import hypot
from xml.etree import ElementTree

import pytest
import shapely

from costing import sail
from costing.cloth import Part, Placement
from costing.quote import Design
from costing.sail import Line
from loft.documents import free_place, lay_drawing, lay_marks, lay_svg, lettering, sail_details, sail_drawing, sail_svg, wording
from loft.documents.drawing import Clip, Drawing, Letters, Stroke, View
from tests.documents import sample

_NAMES = {"quarter_width": "quarter", "half_width": "half", "three_quarter_width": "three-quarter", "upper_width": "upper"}


@pytest.fixture(scope="module")
def design() -> Design:
    return sample.first_design()


def test_dimension_texts_are_the_designed_sizes(design: Design) -> None:
    sizes = {name: wording.size(value) for name, value in design.sizes}
    limited = {room.limit.measurement: room.limit.rule for room in design.headroom}
    texts = sail_drawing.dimensioned_sail(design).texts
    for name in ("luff_length", "leech_length", "foot_length"):
        assert f"{sizes[name]} · {limited[name]}" in texts, name
    for name, word in _NAMES.items():
        assert f"{word} {sizes[name]}" in texts, name
    assert f"top {sizes['top_width']}" in texts


def test_width_lines_are_as_long_as_the_widths(design: Design) -> None:
    """Each width line runs from the leech point to the nearest point of the luff (ERS G.7: shortest distance)."""
    points, sizes = sail.leech_points(design.outline), dict(design.sizes)
    for name in _NAMES:
        luff = sail_drawing.nearest_on(design.outline.luff, points[name])
        assert hypot(points[name][0] - luff[0], points[name][1] - luff[1]) == pytest.approx(float(sizes[name]), abs=0.1), name


@pytest.mark.parametrize(("side", "luff"), [("starboard", "right"), ("port", "left")])
def test_the_side_is_said_and_shown(design: Design, side: str, luff: str) -> None:
    drawing = sail_drawing.dimensioned_sail(design, side=side)
    assert any(t.startswith(f"{side.capitalize()} side (luff on the {luff})") for t in drawing.texts)
    outline = next(i for i in drawing.items if isinstance(i, Stroke) and i.closed and i.pen == sail_drawing.OUTLINE)
    xs = [x for x, _ in outline.line]
    tack_x = outline.line[0][0]  # the ring starts at the tack point
    nearer_right = max(xs) - tack_x < tack_x - min(xs)
    assert nearer_right == (luff == "right")


def test_an_unknown_side_is_refused(design: Design) -> None:
    with pytest.raises(ValueError, match="must be one of starboard, port"):
        sail_drawing.dimensioned_sail(design, side="windward")


def test_everything_drawn_lies_on_the_page(design: Design) -> None:
    for side in sail_drawing.SIDES:
        for drawing in (sail_drawing.dimensioned_sail(design, side=side), sail_drawing.making_sail(design, side=side)):
            for x, y in _points(drawing):
                assert -0.5 <= x <= drawing.width + 0.5
                assert -0.5 <= y <= drawing.height + 0.5


def test_numbers_are_drawn_on_both_sides_as_readable_text(design: Design) -> None:
    plan = sample.ticket(1).sail.numbers
    assert plan is not None
    for side in sail_drawing.SIDES:
        items = sail_drawing.making_sail(design, side=side, numbers=plan).items
        characters = [i for i in items if isinstance(i, Letters) and len(i.text) == 1]
        assert "".join(c.text for c in sorted(characters, key=lambda c: c.at[0])) == plan.text
        assert all(abs(c.angle) <= 90 for c in characters)


def test_the_base_row_is_as_wide_as_the_figures(design: Design) -> None:
    plan = sample.ticket(1).sail.numbers
    assert plan is not None
    row, *figures = sail_details.number_items(plan, View(0.1, 0, 0), "port")
    assert isinstance(row, Stroke)
    edges = [
        x for f in figures if isinstance(f, Letters) for half in [lettering.width(f.text, f.height, f.font) / 2]
        for x in (f.at[0] - half, f.at[0] + half)
    ]  # fmt: skip
    assert (row.line[0][0], row.line[1][0]) == (pytest.approx(min(edges)), pytest.approx(max(edges)))


def test_what_the_number_stands_over_is_told(design: Design) -> None:
    """Against shapely: the row of characters as a box, seams as lines, pockets as areas."""
    plan = sample.ticket(1).sail.numbers
    assert plan is not None
    told = 0
    for side, base in (("starboard", plan.starboard_base), ("port", plan.port_base)):
        box = shapely.box(base[0][0], base[0][1], base[1][0], base[1][1] + plan.height_mm)
        seams = [f"seam {n}" for n, s in enumerate(sail_details.seams(design.panels), 1) if shapely.LineString(s).intersects(box)]
        pockets = [p for p in design.parts if p.kind == "pocket" and shapely.Polygon(p.on_sail).intersects(box)]
        expected = seams + [p.label.partition(",")[0].lower() for p in pockets]
        assert sail_details.under_number(design, plan, side) == expected, side
        told += len(expected)
    assert told > 0


def test_chosen_options_are_on_the_customers_drawing(design: Design) -> None:
    """One light closed line for each pocket and window."""
    view = View(0.02, 0, 0)
    shown = [p for p in design.parts if p.kind in ("pocket", "window")]
    assert len(sail_details.option_items(design, view)) == len(shown) == 4
    drawn = sail_drawing.dimensioned_sail(design).items
    assert sum(isinstance(i, Stroke) and i.pen == sail_details.LIGHT for i in drawn) == len(shown)


def test_panels_and_seams_are_numbered(design: Design) -> None:
    texts = sail_drawing.making_sail(design).texts
    assert [t for t in texts if t.startswith("P")] == [p.mark for p in design.panels]
    assert [t for t in texts if t.startswith("seam")] == [f"seam {n}" for n in range(1, len(design.panels))]


def test_every_part_is_marked_on_its_lay(design: Design) -> None:
    marks = lay_marks.short_marks(design.parts)
    assert len(set(marks.values())) == len(design.parts)
    assert (marks["P2"], marks["LEECH-TABLING-1"], marks["CLEW-2"], marks["CUNNINGHAM-1"]) == ("P2", "LT1", "CL2", "CU1")
    for lay in design.lays:
        texts = {t for strip in lay_drawing.lay_strips({"": design}, lay, width=176) for t in strip.texts}
        assert {marks[p.id] for p in design.parts if p.material == lay.material} <= texts, lay.material


def test_sections_and_strips_cover_the_lay(design: Design) -> None:
    lay = design.lays[0]
    strips = lay_drawing.lay_strips({"": design}, lay, width=176, strip_mm=2000)
    assert len(strips) == sum(-(-int(s.length_mm) // 2000) for s in lay.sections)
    assert strips[0].title.startswith("Section 1, 0.00 to ")
    assert strips[-1].title.endswith(f" m of {wording.metres_to_pull(lay.sections[-1].length_mm)} m")


def test_a_mark_stands_on_its_part(design: Design) -> None:
    """The middle of each panel's mark lies on that panel as the audited lay has it."""
    lay = design.lays[0]
    parts = {p.id: p for p in design.parts}
    panels = [p for p in lay.placements if parts[p.part_id].kind == "panel"]
    (whole,) = lay_drawing.lay_strips({"": design}, lay, width=400, strip_mm=1e6)
    letters = {i.text: i for i in whole.items if isinstance(i, Letters)}
    edge = next(i for i in whole.items if isinstance(i, Stroke))
    (x0, y0), (x1, _) = edge.line[0], edge.line[1]
    scale = (x1 - x0) / lay.sections[0].length_mm
    for placement in panels:
        x, y = letters[placement.part_id].at
        spot = shapely.Point((x - x0) / scale, (y - y0) / scale)
        assert shapely.Polygon(_placed(parts[placement.part_id], placement)).buffer(5).contains(spot), placement.part_id


def test_no_text_on_a_lay_runs_over_another(design: Design) -> None:
    """Boxes round capitals, a little narrower than the letters so that touching is no overlap."""
    for lay in design.lays:
        for strip in lay_drawing.lay_strips({"": design}, lay, width=176):
            boxes = {i: free_place.text_box(i, -0.2) for i in strip.items if isinstance(i, Letters) and i.anchor == "middle"}
            for one, other in combinations(boxes.values(), 2):
                apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
                assert apart, (strip.title, [k.text for k, v in boxes.items() if v in (one, other)])


def test_marks_can_be_read_at_arms_length(design: Design) -> None:
    marks = set(lay_marks.short_marks(design.parts).values())
    strips = [s for lay in design.lays for s in lay_drawing.lay_strips({"": design}, lay, width=176)]
    letters = [i for s in strips for i in s.items if isinstance(i, Letters)]
    assert min(i.height for i in letters if i.text in marks) >= 2.9


def test_each_panel_says_which_way_round_it_lies(design: Design) -> None:
    """Each sew line has its luff and its leech end, the lowest seam's (320 mm up, the tack is at 880 mm) lies on the foot; only the lowest
    panel has a foot beside, only the highest a head."""
    lay = design.lays[0]
    (whole,) = lay_drawing.lay_strips({"": design}, lay, width=600, strip_mm=1e6)
    words = Counter(t for t in whole.texts if t in ("luff", "leech", "foot", "head"))
    sews = sum(bool(p.lower_sew) + bool(p.upper_sew) for p in design.panels)
    assert words == {"luff": sews - 2, "leech": sews, "foot": 1 + 2, "head": 1}


def test_strips_fill_the_page_and_two_share_it(design: Design) -> None:
    strips = lay_drawing.lay_strips({"": design}, design.lays[0], width=176)
    assert all(max(x for x, _ in _points(s)) > 0.97 * s.width for s in strips)
    assert all(2 * s.height < 235 for s in strips)


def test_svg_and_paper_come_from_one_drawing(design: Design) -> None:
    root = ElementTree.fromstring(sail_svg(design, "port"))
    drawn = [e.text for e in root.iter("{http://www.w3.org/2000/svg}text")]
    assert drawn == list(sail_drawing.dimensioned_sail(design, side="port").texts)
    lay = ElementTree.fromstring(lay_svg(design))
    marks = {e.text for e in lay.iter("{http://www.w3.org/2000/svg}text")}
    assert set(lay_marks.short_marks(design.parts).values()) <= marks
    clips = [e.get("id") for e in lay.iter("{http://www.w3.org/2000/svg}clipPath")]
    assert len(clips) == len(set(clips)) > 0


def test_thinning_keeps_corners_and_the_shape() -> None:
    arc = tuple((float(i), (i / 40) ** 2) for i in range(1000))
    ring: Line = (*arc, (999.0, -50.0), (0.0, -50.0))
    thin = View(0.05, 0, 0).line(ring)
    assert len(thin) < len(ring) / 5
    assert thin[-2:] == (pytest.approx((49.95, -2.5)), (0.0, -2.5))
    whole, drawn = (shapely.LineString(r) for r in ([(x * 0.05, y * 0.05) for x, y in ring], thin))
    assert whole.hausdorff_distance(drawn) < 0.6  # between points
    assert all(drawn.distance(shapely.Point(p)) < 0.02 for p in whole.coords)


def _placed(part: Part, placement: Placement) -> Line:
    turned = shapely.affinity.rotate(shapely.Polygon(part.outer), placement.angle, origin=(0, 0))
    return tuple(shapely.affinity.translate(turned, placement.x, placement.y).exterior.coords)


def _points(drawing: Drawing) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for item in drawing.items:
        if isinstance(item, Stroke):
            found += item.line
        elif isinstance(item, Letters):
            found.append(item.at)
        elif isinstance(item, Clip):
            found += [item.box[:2]]
    assert len(found) > len(list(pairwise(drawing.items)))
    return found
