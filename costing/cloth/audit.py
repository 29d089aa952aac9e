"""The audit of a lay, with shapely alone: it shares no code with the planner."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from costing.cloth.lay import Lay, Table
from costing.cloth.part import Cloth, Part
from costing.errors import Problem


def audit_lay(lay: Lay, sails: Mapping[str, Sequence[Part]], cloth: Cloth, table: Table) -> tuple[Problem, ...]:
    """Everything wrong with a lay, empty when it holds.

    Each part exactly once, inside the usable width and its section, sections no longer than the table, no overlap beyond 0.05 mm depth,
    the tool's gap kept between parts (0 < distance only matters between two parts, not at the usable edges), only allowed angles.
    """
    raise NotImplementedError
