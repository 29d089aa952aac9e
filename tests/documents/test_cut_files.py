"""Cut files read back: every part where it was, to 0.01 mm.

Layers by ASTM D6673-10 (withdrawn 2019): 1 boundary, 7 grain, 8 internal, 11 cut-out, 14 sew line, 15 annotation, 84 copy of 1.
"""

from __future__ import annotations

import io
import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial

import pytest
import shapely
from ezdxf import filemanagement
from ezdxf.document import Drawing
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.insert import Insert
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.entities.polyline import Polyline

from costing.cloth import Lay, Mark, Part, Placement, Section
from costing.quote import BatchResult, Design
from loft.documents import cut_files
from tests import headsails, spinnakers
from tests.documents import sample

NAMES = cut_files.CutNames(order="O-0001", ticket="O-0001-03", sail="Käthe 217", made_on="25-11-2026")


#: Every kind of sail, and every cut that it may be made in.
SAILS: Mapping[str, Callable[[], BatchResult]] = {
    "main, cross-cut": sample.result,
    "jib, cross-cut": headsails.priced,
    "jib, mitre": partial(headsails.priced, "mitre"),
    "jib, vertical": partial(headsails.priced, "vertical"),
    "storm jib": headsails.storm_jibs,
    "trysail": headsails.trysails,
    "symmetric spinnaker, tri-radial": spinnakers.priced,
    "symmetric spinnaker, radial head": spinnakers.radial_head,
    "asymmetric spinnaker, tri-radial": partial(spinnakers.priced, "asymmetric"),
}


@pytest.fixture(scope="module", params=list(SAILS))
def design(request: pytest.FixtureRequest) -> Design:
    return next(iter(SAILS[request.param]().designs.values()))


def body(design: Design) -> tuple[Lay, dict[tuple[str, str], Part]]:
    lay = design.lays[0]
    return lay, {("", part.id): part for part in design.parts if part.material == lay.material}


def read(content: bytes) -> Drawing:
    return filemanagement.read(io.StringIO(content.decode("utf-8")))


def rings_on(entities: Iterable[DXFEntity], layer: str) -> list[list[tuple[float, float]]]:
    """The closed lines of a layer, in their order."""
    found = []
    for entity in entities:
        if entity.dxf.layer == layer and isinstance(entity, Polyline) and entity.is_closed:
            found.append([(p.x, p.y) for p in entity.points()])
        elif entity.dxf.layer == layer and isinstance(entity, LWPolyline) and entity.closed:
            found.append([(x, y) for x, y, *_ in entity.get_points()])
    return found


def far(one: Iterable[tuple[float, float]], other: Iterable[tuple[float, float]]) -> float:
    """How far two rings are apart at most, mm."""
    return shapely.hausdorff_distance(shapely.LinearRing(list(one)), shapely.LinearRing(list(other)))


def at_place(part: Part, placed: Placement) -> list[tuple[float, float]]:
    c, s = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[placed.angle]
    return [(c * x - s * y + placed.x, s * x + c * y + placed.y) for x, y in part.outer]


def test_parts_by_the_standard_come_back(design: Design) -> None:
    content = cut_files.parts_d6673(design.parts, NAMES)
    assert content.isascii()
    doc = read(content)
    for part in design.parts:
        block = doc.blocks.get(part.id)
        (boundary,) = rings_on(block, "1")
        assert far(boundary, part.outer) <= 0.01
        layers = [e.dxf.layer for e in block if e.dxftype() in ("POLYLINE", "LINE")]
        assert layers.count("84") == 1
        assert layers.count("7") == 1
        assert layers.count("14") == sum(mark.kind == "sew" for mark in part.marks)
        assert layers.count("8") == sum(mark.kind != "sew" and len(mark.line) > 1 for mark in part.marks)
    inserted = [e.dxf.name for e in doc.modelspace() if isinstance(e, Insert)]
    assert sorted(inserted) == sorted(part.id for part in design.parts)


def test_the_standards_text_names_units_and_the_order_in_7_bits(design: Design) -> None:
    doc = read(cut_files.parts_d6673(design.parts, NAMES))
    style = [e.dxf.text for e in doc.modelspace() if e.dxftype() == "TEXT"]
    assert style == ["ASTM/D6673-10", "Style Name: O-0001", "Creation Date: 25-11-2026", "Sample Size: Kathe 217", "Units: METRIC"]
    piece = [e.dxf.text for e in doc.blocks.get("P1") if e.dxftype() == "TEXT" and e.dxf.layer == "1"]
    assert piece[0] == "Piece Name: P1"
    assert "Quantity: 1,0" in piece
    assert f"Material: {design.cloth.code}" in piece


def test_every_section_by_the_standard_puts_each_block_at_its_place(design: Design) -> None:
    for lay, section in sections(design):
        parts = {("", part.id): part for part in design.parts}
        doc = read(cut_files.section_d6673(lay, section, parts, NAMES))
        inserts = {e.dxf.name: e for e in doc.modelspace() if isinstance(e, Insert)}
        here = [p for p in lay.placements if p.section == section]
        assert len(inserts) == len(here)
        for placed in here:
            (boundary,) = rings_on(inserts[placed.part_id].virtual_entities(), "1")
            assert far(boundary, at_place(parts["", placed.part_id], placed)) <= 0.01


def test_every_plain_section_comes_back(design: Design) -> None:
    for lay, section in sections(design):
        parts = {("", part.id): part for part in design.parts}
        rings = rings_on(read(cut_files.section_dxf(lay, section, parts, NAMES)).modelspace(), "CUT")
        wanted = [at_place(parts["", p.part_id], p) for p in lay.placements if p.section == section]
        assert len(rings) == len(wanted)
        assert max(far(ring, want) for ring, want in zip(rings, wanted, strict=True)) <= 0.01


def sections(design: Design) -> Iterator[tuple[Lay, int]]:
    """Every section of every lay of a design: its cloth in each colour, its film."""
    return ((lay, section.number) for lay in design.lays for section in lay.sections)


def test_a_plain_section_is_in_millimetres_and_comes_back(design: Design) -> None:
    lay, parts = body(design)
    doc = read(cut_files.section_dxf(lay, 0, parts, NAMES))
    assert doc.dxfversion == "AC1024"
    assert doc.header["$INSUNITS"] == 4
    rings = rings_on(doc.modelspace(), "CUT")
    wanted = [at_place(parts["", p.part_id], p) for p in lay.placements if p.section == 0]
    assert len(rings) == len(wanted)
    assert max(far(ring, want) for ring, want in zip(rings, wanted, strict=True)) <= 0.01
    (edge,) = rings_on(doc.modelspace(), "CLOTH")
    assert max(x for x, _ in edge) == pytest.approx(lay.sections[0].length_mm)
    title = next(e.dxf.text for e in doc.modelspace() if e.dxftype() == "TEXT")
    assert title.startswith("O-0001 O-0001-03 Käthe 217")


def test_plain_parts_stand_apart_and_come_back(design: Design) -> None:
    doc = read(cut_files.parts_dxf(design.parts, NAMES))
    rings = rings_on(doc.modelspace(), "CUT")
    boxes = [shapely.Polygon(ring) for ring in rings]
    assert len(rings) == len(design.parts)
    for one, next_one in itertools.pairwise(boxes):
        assert not one.intersects(next_one)
    for part, ring in zip(design.parts, rings, strict=True):
        shift = min(x for x, _ in ring) - min(x for x, _ in part.outer)
        assert far(((x - shift, y) for x, y in ring), part.outer) <= 0.01


def test_a_hole_on_the_table_is_a_cut_out() -> None:
    square = ((0.0, 0.0), (500.0, 0.0), (500.0, 400.0), (0.0, 400.0))
    hole = ((100.0, 100.0), (200.0, 100.0), (200.0, 200.0), (100.0, 200.0))
    part = Part("P1", "panel", "Panel", "CLOTH", square, holes=(hole,))
    doc = read(cut_files.parts_d6673([part], NAMES))
    (cut_out,) = rings_on(doc.blocks.get("P1"), "11")
    assert far(cut_out, hole) <= 0.01


def test_a_pane_that_lies_across_the_roll_comes_back() -> None:
    """Film is laid at the turn that takes least of the roll."""
    design = next(iter(sample.result().designs.values()))
    lay = next(one for one in design.lays if one.material != design.cloth.code)
    (placed,) = lay.placements
    assert placed.angle == 90
    (part,) = (p for p in design.parts if p.material == lay.material)
    turned = [(placed.x - y, placed.y + x) for x, y in part.outer]
    parts = {("", part.id): part}
    (plain,) = rings_on(read(cut_files.section_dxf(lay, 0, parts, NAMES)).modelspace(), "CUT")
    assert far(plain, turned) <= 0.01
    (insert,) = (e for e in read(cut_files.section_d6673(lay, 0, parts, NAMES)).modelspace() if isinstance(e, Insert))
    (boundary,) = rings_on(insert.virtual_entities(), "1")
    assert far(boundary, turned) <= 0.01


def test_every_part_bears_its_mark_order_and_sail(design: Design) -> None:
    """The pen writes inside the part, so that a stack of like panels is not mixed up."""
    space = read(cut_files.parts_dxf(design.parts, NAMES)).modelspace()
    texts = [e for e in space.query("TEXT") if e.dxf.layer == "MARK"]
    for part, ring in zip(design.parts, rings_on(space, "CUT"), strict=True):
        here = shapely.Polygon(ring)
        inside = " ".join(e.dxf.text for e in texts if here.contains(shapely.Point(e.get_placement()[1].vec2)))
        assert part.id in inside
        assert "O-0001-03 Käthe 217" in inside


def test_parts_of_a_shared_lay_bear_their_own_sails() -> None:
    square = ((0.0, 0.0), (500.0, 0.0), (500.0, 400.0), (0.0, 400.0))
    part = Part("P1", "panel", "Panel", "CLOTH", square, marks=(Mark("mark", ((250.0, 200.0),), "P1"),))
    placed = (Placement("A", "P1", 0, 0.0, 0.0, 0), Placement("B", "P1", 0, 1010.0, 400.0, 180))
    lay = Lay("CLOTH", 1000.0, (Section(0, 1010.0),), placed, 1.0, 1.0)
    names = replace(NAMES, order="L-0007", sails={"A": ("O-0001-03", "Heron 214"), "B": ("O-0002-01", "Dipper 187")})
    parts = {("A", "P1"): part, ("B", "P1"): part}
    plain = [e.dxf.text for e in read(cut_files.section_dxf(lay, 0, parts, names)).modelspace().query("TEXT") if e.dxf.layer == "MARK"]
    assert plain[1:] == ["A P1", "O-0001-03 Heron 214", "B P1", "O-0002-01 Dipper 187"]
    doc = read(cut_files.section_d6673(lay, 0, parts, names))
    told = [e.dxf.text for e in doc.blocks.get("B P1").query("TEXT") if e.dxf.layer == "1"]
    assert told[1:3] == ["Size: Dipper 187", "Annotation: Panel, O-0002-01"]
