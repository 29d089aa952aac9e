"""A lay: which part goes where on the roll, in sections that fit the cutting table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Table:
    """The cutting table and tool: the longest section that fits, the gap between parts that the tool needs, mm.

    window_holes: holes of windows are cut on the table with their panel, and parts may lie in them, instead of after sewing.
    """

    length_mm: float = 12000.0
    gap_mm: float = 4.0
    tool: str = "drag knife"
    pen: str = "pen"
    window_holes: bool = False


@dataclass(frozen=True, slots=True)
class Placement:
    """A part of a sail at its place: turned by `angle` degrees about its own origin, then shifted by (x, y) mm.

    sail: which copy the part belongs to (a sail's label, or "" for a single sail); section counts from 0; x is measured from the
    section's start, y from the lower usable edge of the roll.
    """

    sail: str
    part_id: str
    section: int
    x: float
    y: float
    angle: int


@dataclass(frozen=True, slots=True)
class Section:
    """What is cut at once: its length along the roll, mm."""

    number: int
    length_mm: float


@dataclass(frozen=True, slots=True)
class Lay:
    """A whole lay on one material; mm and mm2. bound_mm: no lay in as many sections can be shorter; colour: its parts' slot."""

    material: str
    usable_width_mm: float
    sections: tuple[Section, ...]
    placements: tuple[Placement, ...]
    net_area_mm2: float
    bound_mm: float
    colour: str = ""

    @property
    def length_mm(self) -> float:
        return sum(s.length_mm for s in self.sections)

    @property
    def gap_fraction(self) -> float:
        """How much longer than the bound the lay is: 0.11 is 11 %."""
        return self.length_mm / self.bound_mm - 1

    @property
    def over_area_fraction(self) -> float:
        """How much longer than its parts' area over the usable width the lay is, whatever must be wasted."""
        return 1 / self.yield_fraction - 1

    @property
    def yield_fraction(self) -> float:
        """Cut-part area over cloth used."""
        return self.net_area_mm2 / (self.length_mm * self.usable_width_mm)


def in_a_row(lays: Sequence[Lay]) -> Lay:
    """Lays of one cloth one after another as one lay, their sections numbered on; ValueError without any."""
    if not lays:
        raise ValueError("there is no lay to put in a row")
    sections, placements = list[Section](), list[Placement]()
    for one in lays:
        first = len(sections)
        sections += [Section(first + s.number, s.length_mm) for s in one.sections]
        placements += [replace(p, section=first + p.section) for p in one.placements]
    area, bound = sum(one.net_area_mm2 for one in lays), sum(one.bound_mm for one in lays)
    return Lay(lays[0].material, lays[0].usable_width_mm, tuple(sections), tuple(placements), area, bound, lays[0].colour)


def of_sail(lay: Lay, sail: str) -> Lay:
    """The lay of one sail under a name that tells its parts from those of other sails."""
    return replace(lay, placements=tuple(replace(p, sail=sail) for p in lay.placements))
