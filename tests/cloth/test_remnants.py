"""What a section leaves over, against rectangles that can be seen with the eye."""

from __future__ import annotations

import pytest
import shapely
import shapely.affinity

from costing.cloth import Lay, Part, Placement, Section, Table, plan_lay
from costing.cloth.remnants import Remnant, remnants
from tests.cloth.skerling_main import BODY, built


def box(name: str, length: float, width: float) -> Part:
    return Part(name, "panel", name, "CLOTH", ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)))


def lay(*placements: Placement, length: float = 3000.0) -> Lay:
    return Lay("CLOTH", 1000.0, (Section(0, length),), placements, 1.0, 1.0)


CASES: list[tuple[str, tuple[Placement, ...], dict[str, Part], list[Remnant]]] = [
    ("an empty section", (), {}, [Remnant(0, 0, 0, 3000, 1000)]),
    ("a part at its start", (Placement("", "A", 0, 0, 0, 0),), {"A": box("A", 1995, 1000)}, [Remnant(0, 2000, 0, 1000, 1000)]),
    (
        "a part in the middle, turned about its own corner",
        (Placement("", "A", 0, 2000, 605, 180),),
        {"A": box("A", 985, 600)},
        [Remnant(0, 0, 610, 3000, 390), Remnant(0, 0, 0, 1010, 610), Remnant(0, 2010, 0, 990, 610)],
    ),
    ("nothing that is large enough", (Placement("", "A", 0, 5, 5, 0),), {"A": box("A", 2900, 900)}, []),
]


@pytest.mark.parametrize(("label", "placements", "parts", "wanted"), CASES, ids=[c[0] for c in CASES])
def test_rectangles_that_are_left(label: str, placements: tuple[Placement, ...], parts: dict[str, Part], wanted: list[Remnant]) -> None:
    found = remnants(lay(*placements), 0, {("", n): p for n, p in parts.items()}, least_length_mm=500, least_width_mm=300)
    assert sorted(found, key=lambda r: (r.x, r.y)) == sorted(wanted, key=lambda r: (r.x, r.y))


def test_a_mains_remnants_touch_no_part_and_not_each_other() -> None:
    made = built().parts
    planned = plan_lay({"": made}, BODY, Table())
    parts = {("", p.id): p for p in made}
    found = [r for s in planned.sections for r in remnants(planned, s.number, parts, least_length_mm=200, least_width_mm=100)]
    assert found, "the lay of one main leaves some rectangle of 200 x 100 mm"
    outlines = {}
    for placed in planned.placements:
        part = next(p for p in made if p.id == placed.part_id)
        turned = shapely.affinity.rotate(shapely.Polygon(part.outer), placed.angle, origin=(0, 0))
        outlines[placed.part_id] = (placed.section, shapely.affinity.translate(turned, placed.x, placed.y))
    boxes = [(r.section, shapely.box(r.x, r.y, r.x + r.length_mm, r.y + r.width_mm)) for r in found]
    for number, (section, rectangle) in enumerate(boxes):
        for other_section, other in (*outlines.values(), *boxes[:number]):
            assert other_section != section or rectangle.intersection(other).area < 1e-6
