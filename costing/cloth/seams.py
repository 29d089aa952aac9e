"""The seams between the panels of a sail, each counted once although both of its panels carry its sew line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from costing.cloth.part import Panel
from costing.sail.shape import Line


def seam_lengths(panels: Sequence[Panel]) -> tuple[float, ...]:
    """The length along the sew line of each seam, mm: those between a panel and the one below, then the others by their names.

    A joint that several panels of one side end on is one seam. Where each panel carries half of the overlap (gores), the first of the
    two counts; elsewhere the one that carries it.
    """
    lower = [_length(p.lower_sew) for p in panels if p.lower_sew]
    others: dict[str, float] = {}
    passed: set[str] = set()
    for panel in panels:
        passed.add(panel.mark)
        for sew in panel.more_sews:
            if sew.to not in passed if sew.to else sew.overlap:
                others[sew.seam] = others.get(sew.seam, 0.0) + _length(sew.line)
    return (*lower, *others.values())


def _length(line: Line) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(line))
