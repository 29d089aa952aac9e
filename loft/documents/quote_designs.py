"""The quote's designs: each drawn with its sizes, specified, and set against the class limits."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable, KeepTogether

from costing.measurements import Corner
from costing.quote import Design, PricedSail
from costing.rules import Headroom
from loft.documents import layout, wording
from loft.documents.content import CostSheetDocument, QuoteDocument
from loft.documents.figure import Figure
from loft.documents.sail_drawing import dimensioned_sail

_DRAWING_WIDTH, _DRAWING_HEIGHT = 76.0, 110.0


def design_letters(doc: QuoteDocument | CostSheetDocument) -> dict[str, str]:
    """A letter for each design in the order in which the sails use them: A, B, ... Z, AA."""
    keys = dict.fromkeys(sail.design_key for sail in doc.batch.sails)
    return {key: _letter(i) for i, key in enumerate(keys)}


def _letter(index: int) -> str:
    first = _letter(index // 26 - 1) if index >= 26 else ""
    return first + chr(ord("A") + index % 26)


def line_numbers(positions: Sequence[int]) -> str:
    """Line numbers with runs drawn together: 1–4, 7, 9–12."""
    groups: list[list[int]] = []
    for p in positions:
        if groups and p == groups[-1][-1] + 1:
            groups[-1].append(p)
        else:
            groups.append([p])
    return ", ".join(f"{g[0]}–{g[-1]}" if len(g) > 1 else str(g[0]) for g in groups)


def design_pages(doc: QuoteDocument) -> list[Flowable]:
    """Every design of the batch, two to a page."""
    story: list[Flowable] = []
    for key, letter in design_letters(doc).items():
        users = [(i, s) for i, s in enumerate(doc.batch.sails, start=1) if s.design_key == key]
        section = [] if story else [layout.text("What we have designed", layout.SECTION)]
        story.append(KeepTogether([*section, *_design(doc.designs[key], letter, users)]))
    return story


def _design(design: Design, letter: str, users: list[tuple[int, PricedSail]]) -> list[Flowable]:
    kind = "variant for this boat's measurements" if design.variant else "the pattern as it stands"
    lines = line_numbers([i for i, _ in users])
    title = f"Design {letter} – {kind}: {'lines' if len(users) > 1 else 'line'} {lines}"
    right: list[Flowable] = [_specification(design), layout.gap(2.5), limits_table(design.headroom)]
    others = _other_sizes(design)
    if others:
        right += [layout.gap(1), layout.text(others, layout.SMALL)]
    reasons = [t.reason for t in design.targets if t.decided_by not in ("limit", "pattern")]
    if reasons:
        right.append(layout.text("Sizes of this boat: " + "; ".join(reasons) + ".", layout.SMALL))
    figure = Figure(dimensioned_sail(design, width=_DRAWING_WIDTH, height=_DRAWING_HEIGHT), "LEFT")
    return [
        layout.text(title, layout.SUBHEADING),
        layout.side_by_side([figure], right, (_DRAWING_WIDTH + 2, 176 - _DRAWING_WIDTH - 2)),
        layout.gap(4),
    ]


def _specification(design: Design) -> Flowable:
    cloth = design.cloth
    rows: list[tuple[str, layout.Cell]] = [
        ("Cloth", f"{cloth.name}, {cloth.construction}, {cloth.gsm:g} g/m², {cloth.finish} finish"),
        ("Make", f"{len(design.panels)} panels; {_made_of(design)}"),
        ("Area", f"{design.area_m2.quantize(wording.HUNDREDTH):f} m² inside the edge of the finished sail"),
    ]
    return layout.pairs(rows, (14, 84))


def _made_of(design: Design) -> str:
    counts = {kind: sum(1 for p in design.parts if p.kind == kind) for kind in ("patch", "pocket", "window")}
    words = {"patch": "patch layers", "pocket": "batten pockets", "window": "window panes"}
    return ", ".join(f"{n} {words[k] if n > 1 else words[k].rstrip('s')}" for k, n in counts.items() if n)


def limits_table(rooms: Sequence[Headroom]) -> Flowable:
    """Class limits beside the designed values, with the room between them."""
    rows = [(r.limit.rule, measurement_name(r), wording.limit_text(r.limit), wording.designed_text(r), wording.room_text(r)) for r in rooms]
    return layout.table(
        ("Rule", "Measurement, mm", "Class limit", "Designed", "Headroom"),
        rows,
        (14, 34, 21, 14, 15),
        right=(2, 3, 4),
        style=layout.FINE,
        pad=1.5,
    )


def measurement_name(room: Headroom) -> str:
    """The measurement with its corner, and its unit where that is not mm."""
    name = wording.label(room.limit.measurement)
    if isinstance(room.limit.corner, Corner):
        name += f", {room.limit.corner.value}"
    unit = wording.unit(room.limit.measurement)
    return name if unit == "mm" else f"{name} ({unit or 'number'})"


def _other_sizes(design: Design) -> str:
    limited = {r.limit.measurement for r in design.headroom}
    rest = [f"{wording.label(name).lower()} {wording.size(value)}" for name, value in design.sizes if name not in limited]
    return f"Without a class limit, mm: {', '.join(rest)}." if rest else ""
