"""What a sail's outline is made from, and the outline itself.

Coordinates: mm, tack point at (0, 0), straight line tack point to head point along +y, clew at x > 0. Seen so, the luff
is on the left and one looks at the PORT side; mirrored (luff on the right) one looks at the starboard side.
"""

from __future__ import annotations

from dataclasses import dataclass

from costing.measurements import SailKind

Point = tuple[float, float]
Line = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class LuffCurve:
    """Forward offset of the luff from the straight line tack-head: (fraction of the luff from the tack, mm), ends at 0.

    Negative offsets hollow the luff, as a headsail's is cut for the sag of its stay.
    """

    stations: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class SailShape:
    """The sizes that fix an outline, mm; widths by the ERS construction, from the clew up.

    foot_median: a spinnaker's, where it is asked for instead of the foot round (which is then 0).
    """

    kind: SailKind
    luff_length: float
    leech_length: float
    foot_length: float
    widths: tuple[tuple[str, float], ...]  # ("quarter_width", 1980.0), ... names of WIDTH_STATIONS
    top_width: float
    foot_round: float
    luff_curve: LuffCurve
    foot_median: float | None = None


@dataclass(frozen=True, slots=True)
class Outline:
    """The finished sail's edge, as four polylines that meet at the corners; mm, floats.

    luff: tack point -> head point; head: head point -> aft head point; leech: aft head point -> clew point;
    foot: clew point -> tack point. Together they run once around the sail.
    """

    kind: SailKind
    luff: Line
    head: Line
    leech: Line
    foot: Line

    @property
    def tack_point(self) -> Point:
        return self.luff[0]

    @property
    def head_point(self) -> Point:
        return self.luff[-1]

    @property
    def aft_head_point(self) -> Point:
        return self.leech[0]

    @property
    def clew_point(self) -> Point:
        return self.leech[-1]

    @property
    def ring(self) -> Line:
        """The closed edge without a repeated last point."""
        return self.luff[:-1] + self.head[:-1] + self.leech[:-1] + self.foot[:-1]
