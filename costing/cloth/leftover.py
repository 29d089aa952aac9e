"""Small parts on a remnant: what of a lay can be cut from a rectangle that an earlier one left over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from costing.cloth.bound import least_length_mm
from costing.cloth.lay import Lay, Section, Table
from costing.cloth.part import Cloth, Part, net_area_mm2
from costing.cloth.planner import plan_lay

#: What need not be of the body's dye lot (common practice, no source): all but the panels.
_MAY_DIFFER = frozenset({"patch", "pocket", "tabling", "window"})


def on_remnant(sails: Mapping[str, Sequence[Part]], cloth: Cloth, table: Table, *, length_mm: float, width_mm: float) -> Lay | None:
    """A lay of one section on a rectangle of this cloth, of as many patches, pockets, tablings and panes as it takes; None where none fits.

    sails: sail label -> its parts. The warp lies along length_mm. The lay is as long as its parts need, at most length_mm.
    """
    small = {sail: [p for p in parts if _fits(p, cloth, length_mm, width_mm)] for sail, parts in sails.items()}
    if not any(small.values()):
        return None
    roll = replace(cloth, width_mm=width_mm, usable_width_mm=width_mm)
    lay = plan_lay({sail: parts for sail, parts in small.items() if parts}, roll, replace(table, length_mm=length_mm))
    return _fullest_section(lay, {(sail, p.id): p for sail, parts in sails.items() for p in parts}, roll, table)


def _fits(part: Part, cloth: Cloth, length_mm: float, width_mm: float) -> bool:
    if part.kind not in _MAY_DIFFER or part.material != cloth.code or part.full_width:
        return False
    xs, ys = [x for x, _ in part.outer], [y for _, y in part.outer]
    return max(xs) - min(xs) <= length_mm and max(ys) - min(ys) <= width_mm


def _fullest_section(lay: Lay, parts: Mapping[tuple[str, str], Part], roll: Cloth, table: Table) -> Lay:
    areas = [0.0] * len(lay.sections)
    for placed in lay.placements:
        areas[placed.section] += net_area_mm2(parts[placed.sail, placed.part_id])
    best = areas.index(max(areas))
    here = tuple(replace(p, section=0) for p in lay.placements if p.section == best)
    length, own = lay.sections[best].length_mm, [parts[p.sail, p.part_id] for p in here]
    return replace(
        lay, sections=(Section(0, length),), placements=here, net_area_mm2=areas[best], bound_mm=least_length_mm(own, roll, table)
    )
