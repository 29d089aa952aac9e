"""The audit of a lay, with shapely alone: it shares no code with the planner."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import accumulate, combinations

from shapely import STRtree
from shapely.affinity import rotate, translate
from shapely.geometry import LinearRing, Polygon

from costing.cloth.lay import Lay, Placement, Table
from costing.cloth.part import Cloth, Part
from costing.cloth.rolls import Cut, Roll
from costing.errors import Problem
from costing.sail.shape import Line

#: What counts as touching, mm: the depth of an overlap, a shortfall of the gap, a reach over an edge.
TOLERANCE_MM = 0.05

_Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class _Laid:
    """A placement, its name for people, and its polygon on the roll, sections end to end."""

    placement: Placement
    name: str
    shape: Polygon


def audit_lay(lay: Lay, sails: Mapping[str, Sequence[Part]], cloth: Cloth, table: Table) -> tuple[Problem, ...]:
    """Everything wrong with a lay, empty when it holds.

    Each part exactly once, inside the usable width and its section, sections no longer than the table, no overlap beyond 0.05 mm depth,
    the tool's gap kept between parts (0 < distance only matters between two parts, not at the usable edges), only allowed angles,
    on cloth with two faces no part mirrored. Lots are for `audit_rolls`.
    The roll runs on from section to section, so the gap is also kept across their joints.
    """
    parts = {(sail, part.id): part for sail, own in sails.items() for part in own if part.material == cloth.code}
    starts = [0.0, *accumulate(section.length_mm for section in lay.sections)]
    laid = [
        _Laid(p, _name(p.sail, p.part_id), _on_roll(parts[(p.sail, p.part_id)], p, starts[p.section]))
        for p in lay.placements
        if (p.sail, p.part_id) in parts and 0 <= p.section < len(lay.sections)
    ]
    return (
        *_material(lay, cloth),
        *_counts(lay, parts),
        *_sections(lay, table),
        *_angles(lay, parts),
        *_faces(lay, parts, cloth),
        *(found for one in laid for found in _inside(one, starts, cloth)),
        *_pairs(laid, table.gap_mm),
    )


def audit_rolls(lay: Lay, cuts: Sequence[Cut], rolls: Sequence[Roll], panels: Iterable[_Key]) -> tuple[Problem, ...]:
    """Everything wrong with where a lay's sections come off rolls, empty when it holds.

    Each section exactly once, on its roll from end to end, clear of flaws and of each other; no sail's panels from two lots.
    panels: the parts, by sail and id, that must be of one lot.
    """
    by_name = {roll.name: roll for roll in rolls}
    ends = {cut: cut.start_mm + lay.sections[cut.section].length_mm for cut in cuts if 0 <= cut.section < len(lay.sections)}
    return (
        *_once_cut(lay, cuts),
        *(found for cut, end in ends.items() for found in _on_its_roll(cut, end, by_name)),
        *_cut_apart(ends),
        *_one_lot(lay, cuts, by_name, set(panels)),
    )


def _once_cut(lay: Lay, cuts: Sequence[Cut]) -> Iterator[Problem]:
    times = Counter(cut.section for cut in cuts)
    for number in {*times, *range(len(lay.sections))}:
        if times[number] != 1 or number >= len(lay.sections):
            path = f"section {number + 1}"
            yield Problem(path, "not_once", f"{path} comes off {times[number]} rolls; each section of the lay must come off one")


def _on_its_roll(cut: Cut, end: float, by_name: Mapping[str, Roll]) -> Iterator[Problem]:
    path = f"section {cut.section + 1}"
    roll = by_name.get(cut.roll)
    if roll is None:
        yield Problem(path, "unknown_roll", f"{path} comes off {cut.roll}, which is not in hand")
        return
    if cut.start_mm < -TOLERANCE_MM or end > roll.length_mm + TOLERANCE_MM:
        yield Problem(path, "off_roll", f"{path} lies at {cut.start_mm:,.0f} to {end:,.0f} mm; {roll.name} has {roll.length_mm:,.0f} mm")
    for low, high in roll.flaws:
        if cut.start_mm < high - TOLERANCE_MM and end > low + TOLERANCE_MM:
            yield Problem(path, "over_flaw", f"{path} lies over {low:,.0f} to {high:,.0f} mm of {roll.name}, which is to be kept clear")


def _cut_apart(ends: Mapping[Cut, float]) -> Iterator[Problem]:
    for a, b in combinations(ends, 2):
        if a.roll == b.roll and min(ends[a], ends[b]) - max(a.start_mm, b.start_mm) > TOLERANCE_MM:
            path = f"sections {a.section + 1} and {b.section + 1}"
            yield Problem(path, "overlap", f"{path} lie over each other on {a.roll}")


def _one_lot(lay: Lay, cuts: Sequence[Cut], by_name: Mapping[str, Roll], panels: Set[_Key]) -> Iterator[Problem]:
    lot_of = {cut.section: by_name[cut.roll].lot for cut in cuts if cut.roll in by_name}
    lots: dict[str, set[str]] = {}
    for p in lay.placements:
        if (p.sail, p.part_id) in panels and p.section in lot_of:
            lots.setdefault(p.sail, set()).add(lot_of[p.section])
    for sail, own in lots.items():
        if len(own) > 1:
            yield Problem(sail, "lots", f"the body of {sail or 'the sail'} is cut from lots {', '.join(sorted(own))}; it must be one")


def _name(sail: str, part_id: str) -> str:
    return f"{sail} {part_id}".strip()


def _on_roll(part: Part, placed: Placement, start: float) -> Polygon:
    turned = rotate(Polygon(part.outer, part.holes), placed.angle, origin=(0, 0))
    return translate(turned, start + placed.x, placed.y)


def _material(lay: Lay, cloth: Cloth) -> Iterator[Problem]:
    if lay.material != cloth.code or abs(lay.usable_width_mm - cloth.usable_width_mm) > TOLERANCE_MM:
        told = f"{lay.material}, {lay.usable_width_mm:,.1f} mm usable"
        right = f"{cloth.code}, {cloth.usable_width_mm:,.1f} mm"
        yield Problem("lay", "other_cloth", f"the lay is for {told}; it is cut from {right}")


def _counts(lay: Lay, parts: Mapping[_Key, Part]) -> Iterator[Problem]:
    times = Counter((p.sail, p.part_id) for p in lay.placements)
    for key in parts:
        if times[key] != 1:
            code = "missing" if times[key] == 0 else "doubled"
            yield Problem(_name(*key), code, f"{_name(*key)} is placed {times[key]} times; it must be placed once")
    for key in times:
        if key not in parts:
            yield Problem(_name(*key), "unknown_part", f"{_name(*key)} is placed, but is no part on this cloth")


def _sections(lay: Lay, table: Table) -> Iterator[Problem]:
    for number, section in enumerate(lay.sections):
        path = f"section {number + 1}"
        if section.number != number:
            yield Problem(path, "section_number", f"{path} bears the number {section.number}; it must be {number}")
        over = section.length_mm - table.length_mm
        if over > TOLERANCE_MM:
            yield Problem(path, "section_too_long", f"{path} is {over:,.1f} mm longer than the table, {table.length_mm:,.0f} mm")
    for p in lay.placements:
        if not 0 <= p.section < len(lay.sections):
            name = _name(p.sail, p.part_id)
            yield Problem(name, "no_section", f"{name} lies in section {p.section + 1} of {len(lay.sections)}")


def _angles(lay: Lay, parts: Mapping[_Key, Part]) -> Iterator[Problem]:
    for p in lay.placements:
        part = parts.get((p.sail, p.part_id))
        if part is not None and p.angle not in part.angles:
            name = _name(p.sail, p.part_id)
            allowed = ", ".join(str(a) for a in part.angles)
            yield Problem(name, "angle", f"{name} is turned {p.angle} degrees; its threads allow {allowed}")


def _faces(lay: Lay, parts: Mapping[_Key, Part], cloth: Cloth) -> Iterator[Problem]:
    """A part runs around alike on the roll and on the sail, or it was drawn face down."""
    if cloth.same_faced:
        return
    for p in lay.placements:
        part = parts.get((p.sail, p.part_id))
        if part is not None and len(part.on_sail) > 2 and _turns_left(part.outer) != _turns_left(part.on_sail):
            name = _name(p.sail, p.part_id)
            yield Problem(name, "mirrored", f"{name} is mirrored, and {cloth.code} has two faces; it must lie face up")


def _turns_left(ring: Line) -> bool:
    return bool(LinearRing(ring).is_ccw)


def _inside(one: _Laid, starts: Sequence[float], cloth: Cloth) -> Iterator[Problem]:
    left, low, right, high = one.shape.bounds
    over = max(-low, high - cloth.usable_width_mm)
    if over > TOLERANCE_MM:
        yield Problem(one.name, "outside_width", f"{one.name} reaches {over:,.2f} mm outside the usable width")
    section = one.placement.section
    over = max(starts[section] - left, right - starts[section + 1])
    if over > TOLERANCE_MM:
        yield Problem(one.name, "outside_section", f"{one.name} reaches {over:,.2f} mm outside section {section + 1}")


def _pairs(laid: Sequence[_Laid], gap_mm: float) -> Iterator[Problem]:
    """Every two parts that overlap or lie nearer than the gap."""
    if not laid:
        return
    shapes = [one.shape for one in laid]
    near = STRtree(shapes).query(shapes, predicate="dwithin", distance=gap_mm)
    for i, j in sorted((int(i), int(j)) for i, j in near.T if i < j):
        a, b = laid[i], laid[j]
        path = f"{a.name} / {b.name}"
        distance = a.shape.distance(b.shape)
        if distance == 0 and _deep(a.shape, b.shape):
            yield Problem(path, "overlap", f"{a.name} and {b.name} overlap")
        elif distance < gap_mm - TOLERANCE_MM:
            yield Problem(path, "gap", f"{a.name} and {b.name} are {distance:,.2f} mm apart; the tool needs {gap_mm:g} mm")


def _deep(a: Polygon, b: Polygon) -> bool:
    """Whether two shapes still overlap when each has lost half the tolerance all round."""
    return bool(a.buffer(-TOLERANCE_MM / 2).intersects(b.buffer(-TOLERANCE_MM / 2)))
