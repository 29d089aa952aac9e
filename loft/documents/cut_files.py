"""Files for a cutting table: parts by the layers of ASTM D6673, or a plain drawing; millimetres, face up, warp along x.

Nothing in them is made for one machine. The standard's layers are from its published table (1 boundary, 7 grain, 8 drawn and not cut,
11 cut-out, 14 sew line, 15 annotation, 84 copy of the boundary to check by); the names of its text fields are from memory.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import combinations
from math import atan2, cos, degrees, dist, radians, sin

from ezdxf import filemanagement, units
from ezdxf.addons import gerber_D6673
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts.base import BaseLayout

from costing.cloth import Lay, Part, Placement, net_area_mm2
from costing.sail import Line, Point

#: R2010's layers, each with its AutoCAD colour index: what the knife follows, what the pen draws, what is only read.
LAYERS: Mapping[str, int] = {"CUT": 1, "CUT-OUT": 30, "PEN": 5, "SEW": 3, "GRAIN": 8, "MARK": 7, "CLOTH": 9}
_BOUNDARY, _GRAIN, _DRAWN, _CUT_OUT, _SEW, _NOTE, _CHECK = "1", "7", "8", "11", "14", "15", "84"
_LETTERS_MM = 20.0
_NAME_MM = 10.0  # letters of order and sail, which every part bears
_NARROW_MM = 80.0  # a part that is narrower bears its mark and its name on one line
_APART_MM = 50.0
#: How far from a part's ends its grain line stays, as a fraction of its length.
_GRAIN_INSET = 0.3


@dataclass(frozen=True, slots=True)
class CutNames:
    """What stands in a cut file beside its parts; order and sail as they are on the ticket.

    sails: of a lay of several, by the letter of each, its ticket and its label: what the pen writes on its parts.
    """

    order: str
    ticket: str
    sail: str
    made_on: str
    sails: Mapping[str, tuple[str, str]] = field(default_factory=dict)

    def of(self, letter: str) -> tuple[str, str]:
        """The ticket and the label of the sail that a part belongs to."""
        return self.sails.get(letter, (self.ticket, self.sail))


def parts_d6673(parts: Iterable[Part], names: CutNames) -> bytes:
    """Every part once, a BLOCK each, by ASTM D6673: 7-bit text, with the order number as it is."""
    pieces = {part.id: (part, "") for part in parts}
    doc = _d6673(pieces, names)
    for name in pieces:
        doc.modelspace().add_blockref(_ascii(name), (0, 0), dxfattribs={"layer": _BOUNDARY})
    return _d6673_bytes(doc)


def section_d6673(lay: Lay, section: int, parts: Mapping[tuple[str, str], Part], names: CutNames) -> bytes:
    """One section by ASTM D6673: a BLOCK a part, put at its place; KeyError for a part that `parts` (by sail, id) has not."""
    here = [p for p in lay.placements if p.section == section]
    doc = _d6673({_named(p): (parts[p.sail, p.part_id], p.sail) for p in here}, names)
    for placed in here:
        at = {"layer": _BOUNDARY, "rotation": placed.angle}
        doc.modelspace().add_blockref(_ascii(_named(placed)), (placed.x, placed.y), dxfattribs=at)
    return _d6673_bytes(doc)


def parts_dxf(parts: Iterable[Part], names: CutNames) -> bytes:
    """Every part once, in a row, as a plain DXF R2010 in millimetres."""
    doc = _r2010(names)
    along = 0.0
    for part in parts:
        _draw(doc.modelspace(), part, Placement("", part.id, 0, along, 0.0, 0), names)
        along += max(x for x, _ in part.outer) + _APART_MM
    return _r2010_bytes(doc)


def section_dxf(lay: Lay, section: int, parts: Mapping[tuple[str, str], Part], names: CutNames) -> bytes:
    """One section as it is cut, with the usable cloth's edge, as a plain DXF R2010 in millimetres."""
    doc = _r2010(names)
    length, width = lay.sections[section].length_mm, lay.usable_width_mm
    _ring(doc.modelspace(), ((0, 0), (length, 0), (length, width), (0, width)), "CLOTH")
    for placed in (p for p in lay.placements if p.section == section):
        _draw(doc.modelspace(), parts[placed.sail, placed.part_id], placed, names)
    return _r2010_bytes(doc)


def _d6673(pieces: Mapping[str, tuple[Part, str]], names: CutNames) -> Drawing:
    """pieces: by name, each with the letter of its sail."""
    doc = filemanagement.new("R12")
    dated = f"Creation Date: {names.made_on}"
    lines = ("ASTM/D6673-10", f"Style Name: {names.order}", dated, f"Sample Size: {names.sail}", "Units: METRIC")
    _texts(doc.modelspace(), lines, _BOUNDARY)
    for name, (part, sail) in pieces.items():
        _piece(doc, part, *names.of(sail), name)
    return doc


def _piece(doc: Drawing, part: Part, ticket: str, sail: str, name: str) -> None:
    block = doc.blocks.new(_ascii(name))
    _ring(block, part.outer, _BOUNDARY)
    _ring(block, part.outer, _CHECK)
    for hole in part.holes:
        _ring(block, hole, _CUT_OUT)
    start, end = _grain(part)
    block.add_line(start, end, dxfattribs={"layer": _GRAIN})
    for mark in part.marks:
        if len(mark.line) > 1:
            block.add_polyline2d(mark.line, dxfattribs={"layer": _SEW if mark.kind == "sew" else _DRAWN})
    told = f"{part.label}, {ticket}"
    lines = (f"Piece Name: {name}", f"Size: {sail}", f"Annotation: {told}", "Quantity: 1,0", f"Material: {part.material}")
    _texts(block, lines, _BOUNDARY, part)
    for mark in part.marks:
        text = mark.text if mark.kind == "mark" else f"{mark.kind} {mark.text}".strip()
        _text(block, text, mark.line[0], _NOTE)


def _draw(space: BaseLayout, part: Part, placed: Placement, names: CutNames) -> None:
    """A part turned and shifted to its place."""
    turn = radians(placed.angle)
    c, s = cos(turn), sin(turn)

    def at(line: Line) -> Line:
        return tuple((x * c - y * s + placed.x, x * s + y * c + placed.y) for x, y in line)

    _ring(space, at(part.outer), "CUT")
    for hole in part.holes:
        _ring(space, at(hole), "CUT-OUT")
    start, end = at(_grain(part))
    space.add_line(start, end, dxfattribs={"layer": "GRAIN"})
    for mark in part.marks:
        if len(mark.line) > 1:
            space.add_lwpolyline(at(mark.line), dxfattribs={"layer": "SEW" if mark.kind == "sew" else "PEN"})
            if mark.kind == "number":
                told = {"layer": "MARK", "insert": at(mark.line)[0]}
                space.add_text(f"number {mark.text}", height=_NAME_MM, rotation=placed.angle, dxfattribs=told)
        elif mark.kind == "mark":
            _pen(space, part, f"{placed.sail} {mark.text}".strip(), " ".join(names.of(placed.sail)), at(mark.line)[0], placed.angle)
        else:
            space.add_text(mark.text, height=_NAME_MM, dxfattribs={"layer": "MARK", "insert": at(mark.line)[0]})


def _pen(space: BaseLayout, part: Part, mark: str, name: str, at: Point, angle: int) -> None:
    """A part's mark, and below it the order and sail that it is of, along the part; on one line where it is narrow."""
    long_way, narrow = _long_way(part)
    turn = angle + (long_way if narrow else 0.0)
    lines = (
        ((f"{mark} {name}", _NAME_MM, 0.0),) if narrow else ((mark, _LETTERS_MM, 0.4 * _LETTERS_MM), (name, _NAME_MM, -0.5 * _LETTERS_MM))
    )
    for text, height, above in lines:
        up = radians(turn + 90)
        place = (at[0] + above * cos(up), at[1] + above * sin(up))
        drawn = space.add_text(text, height=height, rotation=turn, dxfattribs={"layer": "MARK"})
        drawn.set_placement(place, align=TextEntityAlignment.MIDDLE_CENTER)


def _long_way(part: Part) -> tuple[float, bool]:
    """The direction between a part's two points furthest apart, in degrees, and whether it is narrow across it."""
    (x0, y0), (x1, y1) = max(combinations(sorted(part.outer), 2), key=lambda pair: dist(*pair))
    return degrees(atan2(y1 - y0, x1 - x0)), net_area_mm2(part) / dist((x0, y0), (x1, y1)) < _NARROW_MM


def _grain(part: Part) -> tuple[Point, Point]:
    """A line along the warp through the middle of a part."""
    xs, ys = [x for x, _ in part.outer], [y for _, y in part.outer]
    inset, middle = (max(xs) - min(xs)) * _GRAIN_INSET, (min(ys) + max(ys)) / 2
    return (min(xs) + inset, middle), (max(xs) - inset, middle)


def _ring(space: BaseLayout, ring: Line, layer: str) -> None:
    if space.doc is not None and space.doc.dxfversion == "AC1009":
        space.add_polyline2d(ring, close=True, dxfattribs={"layer": layer})
    else:
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": layer})


def _texts(space: BaseLayout, lines: Iterable[str], layer: str, part: Part | None = None) -> None:
    x, y = part.marks[0].line[0] if part and part.marks else (0.0, 0.0)
    for number, line in enumerate(lines):
        _text(space, line, (x, y - number * 1.5 * _LETTERS_MM), layer)


def _text(space: BaseLayout, text: str, at: tuple[float, float], layer: str) -> None:
    space.add_text(_ascii(text), height=_LETTERS_MM, dxfattribs={"layer": layer, "insert": at})


def _named(placed: Placement) -> str:
    return f"{placed.sail} {placed.part_id}".strip()


def _ascii(text: str) -> str:
    """The text in 7 bits: letters without their marks, what has no such letter as a question mark."""
    bare = (c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return "".join(c if " " <= c <= "~" else "?" for c in bare)


def _r2010(names: CutNames) -> Drawing:
    doc = filemanagement.new("R2010", units=units.MM)
    for layer, colour in LAYERS.items():
        doc.layers.add(layer, color=colour)
    title = f"{names.order} {names.ticket} {names.sail}, face up, warp along x, mm".replace("  ", " ")
    place = (0, -3 * _LETTERS_MM)
    doc.modelspace().add_text(title, height=_LETTERS_MM, dxfattribs={"layer": "MARK", "insert": place})
    return doc


def _r2010_bytes(doc: Drawing) -> bytes:
    stream = io.StringIO()
    doc.write(stream)
    return doc.encode(stream.getvalue())


def _d6673_bytes(doc: Drawing) -> bytes:
    stream = io.StringIO()
    gerber_D6673.export_stream(doc, stream)
    return stream.getvalue().encode("ascii")
