"""A constructive lay: full-width panels in a chain, then the smaller parts into what is left, section by section."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from costing.cloth.lay import Lay, Table
from costing.cloth.part import Cloth, Part


def plan_lay(sails: Mapping[str, Sequence[Part]], cloth: Cloth, table: Table, *, fill_holes: bool = False) -> Lay:
    """Place every part of every sail that is cut from `cloth`; the same input always gives the same lay.

    sails: sail label -> its parts (parts of another material are left out). fill_holes: parts may lie in another part's holes.
    Raises InputError for a part wider than the usable width or longer than the table (which, by how much), a self-crossing part,
    no parts, or a gap that is not positive.
    """
    raise NotImplementedError
