"""What laying a batch together would save: the sails of one cloth and colour on one lay, beside each laid alone; both audited.

A lay of many is never worse than its sails one after another: where the planner finds none that is shorter, that is the lay.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from costing import cloth
from costing.cloth import Part
from costing.errors import CostingBug
from costing.quote import Design, PricedBatch, colours
from loft.documents.content import BatchLay


def batch_lays(batch: PricedBatch, designs: Mapping[str, Design]) -> tuple[BatchLay, ...]:
    """A lay for each cloth and colour that two sails or more are made from. It never changes a price."""
    groups: dict[tuple[str, str], list[tuple[Design, str]]] = {}
    for sail in batch.sails:
        design = designs[sail.design_key]
        for lay in (one for one in design.lays if one.material == design.cloth.code):
            groups.setdefault((lay.material, colours.of_slot(sail.colour, lay.colour)), []).append((design, lay.colour))
    return tuple(_together(colour, group) for (_, colour), group in sorted(groups.items()) if len(group) > 1)


def _together(colour: str, group: Sequence[tuple[Design, str]]) -> BatchLay:
    """group: the designs with the colour slot that each has in this colour."""
    roll, table = group[0][0].cloth, group[0][0].table
    sails: dict[str, tuple[Part, ...]] = {
        str(number): tuple(p for p in design.parts if p.material == roll.code and p.colour == slot)
        for number, (design, slot) in enumerate(group, start=1)
    }
    own = {
        str(number): next(one for one in design.lays if (one.material, one.colour) == (roll.code, slot))
        for number, (design, slot) in enumerate(group, start=1)
    }
    apart = cloth.in_a_row([cloth.of_sail(one, name) for name, one in own.items()])
    lay = min((cloth.plan_lay(sails, roll, table), apart), key=lambda one: one.length_mm)
    found = cloth.audit_lay(lay, sails, roll, table)
    if found:
        raise CostingBug(f"the batch's lay on {roll.code} does not hold: " + "; ".join(f"{p.path}: {p.message}" for p in found))
    return BatchLay(f"{roll.code} {colour}".strip(), len(group), lay.length_mm, apart.length_mm, lay.bound_mm)
