"""Which way round a panel lies on the roll: its luff and leech ends at the sew lines, its foot or head edge; a gore's corner."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import cos, hypot, radians, sin

from costing.cloth import Panel
from costing.sail import Line, Point
from loft.documents import lettering
from loft.documents.drawing import ACCENT, Letters, bounds, reading_angle
from loft.documents.free_place import Taken

_HEIGHT = 2.8
_IN = 3.1  # from a sew line or an edge to the middle of the word
_LOWER_CASE = 0.5  # small letters stand about this much of the letter height


def end_words(panel: Panel, on_paper: Callable[[Line], Line], taken: Taken) -> list[Letters]:
    """The words that have room on this piece of the roll; each is marked as taken."""
    x0, y0, x1, y1 = bounds(on_paper(panel.cut))
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    found: list[Letters] = []
    for places in _wanted(panel, on_paper, middle):
        letters = next((place for place in places if taken.has_room(place)), None)
        if letters is not None:
            taken.text(letters)
            found.append(letters)
    return found


def _wanted(panel: Panel, on_paper: Callable[[Line], Line], middle: Point) -> Iterator[Iterator[Letters]]:
    if any(sew.to for sew in panel.more_sews):
        yield from _beside_gores(panel, on_paper, middle)
    ends = ((panel.lower_sew, panel.lower_ends), (panel.upper_sew, panel.upper_ends))
    sews = [(on_paper(sew), words) for sew, words in ends if sew]
    for sew, (start, end) in sews:
        yield _from_end(start, sew[0], sew[-1], middle)
        yield _from_end(end, sew[-1], sew[0], middle)
    below, above = panel.free_edges
    if len(sews) == 1:
        ((sew, _),), ring = sews, on_paper(panel.cut)
        word, edge = (above, _farthest(ring, sew)) if panel.lower_sew else (below, _opposite(ring, sew))
        yield _inwards(word, edge, sew[0][1])
    for seam in (s for s in panel.more_sews if s.seam == "mitre"):
        yield _along(seam.seam, on_paper(seam.line), middle)


def _beside_gores(panel: Panel, on_paper: Callable[[Line], Line], middle: Point) -> Iterator[Iterator[Letters]]:
    """A gore's corner at its tip; at the edges of a panel of the centre the corner whose gores follow there, or luff and leech."""
    joined = {sew.seam.partition(" ")[0] for sew in panel.more_sews if sew.seam.endswith("joint")}
    tips = [sew for sew in panel.more_sews if " seam " in sew.seam]
    for sew in tips[:1]:
        yield _from_tip(sew.seam.partition(" ")[0], on_paper(sew.line)[0], middle)
    for sew in () if tips else panel.more_sews:
        line = on_paper(sew.line)
        if sew.seam.endswith("joint"):
            corner = sew.seam.partition(" ")[0]
            if corner in joined:  # once, though several gores follow along the edge
                joined.discard(corner)
                yield _from_end(corner, line[0], line[-1], middle)
        elif not {s.seam for s in panel.more_sews} & {"tack joint", "clew joint"}:
            yield _from_end("luff", line[0], line[-1], middle)
            yield _from_end("leech", line[-1], line[0], middle)


def _along(word: str, line: Line, middle: Point) -> Iterator[Letters]:
    """Places beside the middle of a sew line, on the panel's side of it."""
    a, b = line[0], line[-1]
    length = hypot(b[0] - a[0], b[1] - a[1]) or 1.0
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    side = 1.0 if (middle[0] - a[0]) * -uy + (middle[1] - a[1]) * ux > 0 else -1.0
    for part in (0.5, 0.4, 0.6, 0.3, 0.7):
        x, y = a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part
        yield _letters(word, (x - uy * _IN * side, y + ux * _IN * side), reading_angle(a, b))


def _from_tip(word: str, tip: Point, middle: Point) -> Iterator[Letters]:
    """Places along the warp, from a gore's tip on."""
    towards, half = (1.0 if middle[0] > tip[0] else -1.0), lettering.width(word, _HEIGHT) / 2
    for step in range(60):
        for aside in (0.0, 1.5, -1.5, 3.0, -3.0):
            yield _letters(word, (tip[0] + towards * (half + 2.0 + 1.5 * step), tip[1] + aside), 0.0)


def _farthest(ring: Line, sew: Line) -> Point:
    """The point of a panel that is farthest across the roll from its sew line."""
    return max(ring, key=lambda p: abs(p[1] - sew[0][1]))


def _opposite(ring: Line, sew: Line) -> Point:
    """Where the panel's other long edge is, across the roll from the middle of its sew line."""
    x, y = (sew[0][0] + sew[-1][0]) / 2, sew[0][1]
    crossed = [
        (x, a[1] + (x - a[0]) / (b[0] - a[0]) * (b[1] - a[1]))
        for a, b in zip(ring, ring[1:] + ring[:1], strict=True)
        if (a[0] > x) != (b[0] > x)
    ]
    return max(crossed, key=lambda p: abs(p[1] - y), default=(x, y))


def _from_end(word: str, end: Point, other: Point, middle: Point) -> Iterator[Letters]:
    """Places beside a sew line, from its end on."""
    length = hypot(other[0] - end[0], other[1] - end[1]) or 1.0
    ux, uy = (other[0] - end[0]) / length, (other[1] - end[1]) / length
    side = 1.0 if (middle[0] - end[0]) * -uy + (middle[1] - end[1]) * ux > 0 else -1.0
    half = lettering.width(word, _HEIGHT) / 2
    for step in range(12):
        along, aside = half + 1.5 + 1.5 * step, _IN * side
        yield _letters(word, (end[0] + ux * along - uy * aside, end[1] + uy * along + ux * aside), reading_angle(end, other))


def _inwards(word: str, edge: Point, sew: float) -> Iterator[Letters]:
    """Places from an edge across the roll towards the sew line, a little to and fro along the roll."""
    towards = 1.0 if sew > edge[1] else -1.0
    for step in range(14):
        for along in (0.0, 2.0, -2.0, 4.0, -4.0, 6.0, -6.0):
            yield _letters(word, (edge[0] + along, edge[1] + towards * (_IN + step)), 0.0)


def _letters(word: str, at: Point, angle: float) -> Letters:
    turn, drop = radians(angle), _HEIGHT * _LOWER_CASE / 2
    return Letters(word, (at[0] + drop * sin(turn), at[1] - drop * cos(turn)), _HEIGHT, "middle", angle, colour=ACCENT)
