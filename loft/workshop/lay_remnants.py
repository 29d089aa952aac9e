"""Remnants that a lay was offered: which small parts come off them, so that the roll need not give them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from costing import cloth
from costing.cloth import Cloth, Part, Table
from loft.workshop import rolls
from loft.workshop.models import Lay, Roll


@dataclass(frozen=True, slots=True)
class OnRemnant:
    """A remnant, and the lay of one section that comes off its start."""

    roll: Roll
    lay: cloth.Lay


def offered(lay: Lay, body: Cloth) -> list[Roll]:
    """The remnants that the lay was offered and that are still whole and without flaw, the largest first; pieces of the whole width are
    rolls."""
    of_cloth = rolls.rolls(cloth_code=lay.cloth_code, colour=lay.colour or None).filter(pk__in=lay.offered, remnant=True)
    rows = [row for row in of_cloth if row.usable_width_mm < body.usable_width_mm and not row.flaws]
    whole = [row for row in rows if all(section.lay_id == lay.pk and section.cut_at is None for section in row.sections.all())]
    return sorted(whole, key=lambda row: -row.length_mm * row.usable_width_mm)


def used_first(
    lay: Lay, sails: Mapping[str, Sequence[Part]], body: Cloth, table: Table
) -> tuple[tuple[OnRemnant, ...], dict[str, tuple[Part, ...]]]:
    """What comes off the offered remnants, audited, and the parts that are left for the roll."""
    found, rest = list[OnRemnant](), {sail: tuple(parts) for sail, parts in sails.items()}
    for row in offered(lay, body):
        laid = cloth.on_remnant(rest, body, table, length_mm=float(row.length_mm), width_mm=float(row.usable_width_mm))
        if laid is None:
            continue
        narrow = replace(body, width_mm=laid.usable_width_mm, usable_width_mm=laid.usable_width_mm)
        here = {(p.sail, p.part_id) for p in laid.placements}
        own = {sail: tuple(p for p in parts if (sail, p.id) in here) for sail, parts in rest.items()}
        if cloth.audit_lay(laid, {sail: parts for sail, parts in own.items() if parts}, narrow, table):
            continue
        found.append(OnRemnant(row, laid))
        rest = {sail: tuple(p for p in parts if (sail, p.id) not in here) for sail, parts in rest.items()}
    return tuple(found), {sail: parts for sail, parts in rest.items() if parts}
