"""Sail numbers: their height by hull length, and where they go.

Heights and gaps: Racing Rules of Sailing, Appendix G1.2. Positions (starboard uppermost, both wholly inside the arc round the head point
with 60 % of the leech for its radius) follow Appendix G1.3 from memory; class rules override them. Width of a character: two thirds of
its height, common practice, no source. On a spinnaker they have a place of their own (costing.takeoff.spinnaker_numbers).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from costing.errors import problem
from costing.measurements import SPINNAKERS
from costing.rules.limits import NumberStyle
from costing.sail.shape import Line, Outline, Point
from costing.takeoff import spinnaker_numbers
from costing.takeoff.quantities import NumberPlan

#: (shortest hull of the band, character height, gap between characters and to the sail's edge), mm. RRS Appendix G1.2 counts a hull on the
#: border of two bands to both: the larger characters satisfy either reading.
HEIGHTS: tuple[tuple[Decimal, float, float], ...] = (
    (Decimal(0), 230.0, 45.0),
    (Decimal(3500), 300.0, 60.0),
    (Decimal(8500), 375.0, 75.0),
    (Decimal(11000), 450.0, 90.0),
)
ARC_FRACTION = 0.6
WIDTH_FRACTION = 2 / 3
SOURCE = "RRS Appendix G1.2 (heights), G1.3 (positions, to be checked against the class rules)"
_STEP_MM = 10.0
#: What can be cut as characters and read on the water: words of letters and digits, a blank or a hyphen between two of them.
_READABLE = re.compile(r"[A-Za-z0-9]+([ -][A-Za-z0-9]+)*")

Base = tuple[Point, Point]


def character_height(hull_length_mm: Decimal) -> tuple[float, float]:
    """The least height of a character, and the least gap and distance from the edge, mm."""
    if hull_length_mm <= 0:
        raise problem("hull_length", "not_positive", f"a hull of {hull_length_mm} mm has no sail number")
    return next((height, gap) for start, height, gap in reversed(HEIGHTS) if hull_length_mm >= start)


def number_characters(text: str) -> int:
    """How many characters are cut for one side: a blank between two words is none."""
    return len("".join(text.split()))


def number_plan(sail: Outline, text: str, hull_length_mm: Decimal, style: NumberStyle | None = None) -> NumberPlan:
    """Height, gap, edge and places by the class's style, else by RRS Appendix G1.2 with starboard uppermost.

    InputError when the number has no characters or does not fit.
    """
    characters = text.strip()
    if not _READABLE.fullmatch(characters):
        told = f"{text!r} is no sail number: it takes letters A to Z and digits 0 to 9, as in 214 or K 214"
        raise problem("sail_number", "characters", told)
    height, gap, edge, source = _style(hull_length_mm, style)
    width = len(characters) * height * WIDTH_FRACTION + (len(characters) - 1) * gap
    room = _Room(sail, height, edge, width)
    spinnaker = sail.kind in SPINNAKERS
    port = spinnaker_numbers.row(sail, height, edge, width) if spinnaker else room.lowest(above=-math.inf)
    back_to_back = spinnaker or (style is not None and style.back_to_back)
    if spinnaker and style is None:
        source = spinnaker_numbers.SOURCE
    starboard = port if port is None or back_to_back else room.lowest(above=port[0][1] + height + gap)
    if port is None or starboard is None:
        rows = "such a row finds" if back_to_back else "two such rows find"
        raise problem(
            "sail_number", "does_not_fit",
            f"{characters!r} in {height:.0f} mm characters takes {width:.0f} mm; {rows} no place on this sail",
        )  # fmt: skip
    return NumberPlan(characters, height, gap, edge, starboard, port, source)


def _style(hull_length_mm: Decimal, style: NumberStyle | None) -> tuple[float, float, float, str]:
    """Height, gap and distance from the edge, mm, and where they are from."""
    if style is not None:
        place = "back to back" if style.back_to_back else "starboard uppermost"
        return style.height_mm, style.gap_mm, style.edge_mm, f"class rule {style.rule}, {place}"
    height, gap = character_height(hull_length_mm)
    return height, gap, gap, SOURCE


@dataclass(frozen=True, slots=True)
class _Room:
    """Where a row of characters may stand, square to the luff, mm."""

    sail: Outline
    height: float
    edge: float
    width: float

    def lowest(self, *, above: float) -> Base | None:
        """The base line of the lowest row above a height that keeps inside the arc and the edges; None: there is no room."""
        head = self.sail.head_point
        radius = ARC_FRACTION * math.dist(head, self.sail.clew_point)
        y = math.ceil(max(above, head[1] - radius) / _STEP_MM) * _STEP_MM
        while y + self.height <= head[1]:
            base = self._base(y)
            if base is not None and all(math.dist(head, corner) <= radius for corner in base):
                return base
            y += _STEP_MM
        return None

    def _base(self, y: float) -> Base | None:
        """The row in the middle of the room between the edges at its foot and at its top."""
        spans = [self._span(y), self._span(y + self.height)]
        left = max(s[0] for s in spans) + self.edge
        right = min(s[1] for s in spans) - self.edge
        if right - left < self.width:
            return None
        start = (left + right - self.width) / 2
        return ((start, y), (start + self.width, y))

    def _span(self, y: float) -> tuple[float, float]:
        return _crossing(self.sail.luff, y), _crossing(self.sail.leech, y)


def _crossing(line: Line, y: float) -> float:
    """Where a line that rises or falls steadily meets a height; beyond its ends the nearer end counts."""
    for (x0, y0), (x1, y1) in pairwise(line):
        if min(y0, y1) <= y <= max(y0, y1) and y0 != y1:
            return x0 + (x1 - x0) * (y - y0) / (y1 - y0)
    return min(line, key=lambda p: abs(p[1] - y))[0]
