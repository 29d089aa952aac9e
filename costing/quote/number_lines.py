"""The base lines of a sail's number on its parts: the number is the sail's, and may come when its design is long known."""

from __future__ import annotations

from dataclasses import replace

from costing import cloth
from costing.cloth import Mark, Part
from costing.quote.priced import Design
from costing.takeoff import NumberPlan


def with_numbers(design: Design, numbers: NumberPlan | None) -> tuple[Part, ...]:
    """The design's parts with the base lines of this number drawn on its panels; as they are without a number."""
    if numbers is None:
        return design.parts
    drawn: dict[str, tuple[Mark, ...]] = {}
    for side, base in (("port", numbers.port_base), ("starboard", numbers.starboard_base)):
        for mark, pieces in cloth.on_panels(design.panels, base).items():
            lines = tuple(Mark("number", piece, f"{numbers.text} {side}") for piece in pieces)
            drawn[mark] = (*drawn.get(mark, ()), *lines)
    return tuple(replace(p, marks=(*p.marks, *drawn[p.id])) if p.kind == "panel" and p.id in drawn else p for p in design.parts)
