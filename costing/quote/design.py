"""From what is wanted to a design: sizes, outline, panels, parts, audited lays and take-off, computed once for each key."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from costing import cloth, rules, sail, takeoff
from costing.cloth import cuts, features
from costing.cloth.frame import edges_in_frame
from costing.cloth.lay import Lay, Table
from costing.cloth.make import Make
from costing.cloth.part import Cloth, Part
from costing.errors import Collector, CostingBug, InputError, problem
from costing.measurements import SPINNAKERS, WIDTH_STATIONS, Corner, SailKind
from costing.quote import compliance, on_the_rig, pattern_rows, stated, without_effect
from costing.quote.priced import Design, Ring
from costing.quote.request import House, SailRequest
from costing.quote.snapshot import canonical_bytes
from costing.rules.limits import SailRule
from costing.rules.targets import Target
from costing.sail.shape import LuffCurve, Outline, SailShape

#: Raised whenever the same inputs give another geometry, or more of it is compared: no kept design then stands for a new one.
GEOMETRY_VERSION = 5
_PATCH_SIZE = "primary_reinforcement_size"
#: The sizes that make a sail's shape; of a NON-CLASS sail they may lie outside their limits.
_SHAPING = frozenset(
    {"luff_length", "leech_length", "foot_length", "foot_round", "foot_median", "luff_perpendicular", "top_width"}
    | {name for name, _ in WIDTH_STATIONS}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Shaped:
    """The sizes of one sail and where they come from."""

    targets: tuple[Target, ...]
    shape: SailShape
    own_curve: bool  # the luff curve is the boat's, not the pattern's


@dataclass(frozen=True, slots=True)
class Inputs:
    """Everything that a design is computed from; equal inputs are one design."""

    pattern: str
    edition: str
    rule: SailRule
    variant: bool
    shaped: Shaped
    make: Make
    cloth: Cloth
    films: tuple[Cloth, ...]
    table: Table
    patch_caps: tuple[tuple[Corner, float], ...]
    options: tuple[str, ...]
    kit: tuple[takeoff.KitItem, ...]
    geometry: int = GEOMETRY_VERSION

    @property
    def key(self) -> str:
        return hashlib.sha256(canonical_bytes(self)).hexdigest()


def shaped(house: House, request: SailRequest | None = None) -> Shaped:
    """The finished sizes of a sail, or with no request of the pattern as it is; InputError with measurement names as paths."""
    pattern = house.pattern
    rule = house.class_rule.sail_or_none(pattern.sail_kind)
    if request is None:  # the pattern has no rig of its own
        rule = on_the_rig.without_rig(rule)
    wrong = Collector()
    cuts.check_kind(rule.kind, pattern.make, wrong)
    wrong.raise_if_any()
    own = dict(pattern.sizes) if rule.kind in SPINNAKERS else {**pattern.sizes, "foot_round": pattern.foot_round_mm}
    # 5207.000 and 5207 are one size: written alike, they make one key
    own, asked = ({n: Decimal(takeoff.plain(v)) for n, v in sizes.items()} for sizes in (own, request.sizes if request else {}))
    own_curve = request.luff_curve if request else None
    beyond = _SHAPING if request and request.non_class else frozenset[str]()
    aimed: tuple[Target, ...] = ()
    with wrong.under(""):
        aimed = rules.design_target(rule, pattern.margins, own, asked, pattern.relax, beyond=beyond)
    without_effect.check(pattern, asked, _SHAPING, wrong)
    wrong.raise_if_any()
    targets = _completed(rule.kind, aimed, own_curve or pattern.luff_curve)
    size = {t.measurement: float(t.value) for t in targets}
    widths = tuple((name, size[name]) for name, _ in WIDTH_STATIONS if name in size)
    median = size.get("foot_median") if rule.kind in SPINNAKERS else None
    shape = SailShape(
        pattern.sail_kind, size["luff_length"], size["leech_length"], size["foot_length"], widths, size["top_width"],
        size.get("foot_round", 0.0), own_curve or pattern.luff_curve, median,
    )  # fmt: skip
    used = {"luff_length", "leech_length", "foot_length", "top_width", "foot_round", "foot_median", *(name for name, _ in widths)}
    return Shaped(tuple(t for t in targets if t.measurement in used), shape, own_curve is not None)


def _completed(kind: SailKind, targets: tuple[Target, ...], curve: LuffCurve) -> tuple[Target, ...]:
    """The targets and what nobody gave; a mainsail's rules and patterns give all that is needed."""
    if kind is SailKind.MAINSAIL:
        return targets
    return (*targets, *sail.assumed_sizes(kind, {t.measurement: t.value for t in targets}, curve))


def inputs(
    house: House, shaped_sail: Shaped, base: SailShape | None, body: Cloth, options: frozenset[str], slots: frozenset[str] = frozenset()
) -> Inputs:
    """What a design is computed from. base: the pattern's own shape, None where the pattern alone makes no sail; slots: the colour slots
    that have not the body's colour. Which colour that is makes no other design."""
    pattern = house.pattern
    make = cloth.coloured(cloth.chosen(pattern.make, options), slots)
    rule = house.class_rule.sail_or_none(pattern.sail_kind)
    return Inputs(
        pattern=f"{pattern.code} v{pattern.version}",
        edition=house.class_rule.edition,
        rule=rule,
        variant=shaped_sail.shape != base,
        shaped=shaped_sail,
        make=make,
        cloth=body,
        films=_other_cloths(make, body, house),
        table=house.table,
        patch_caps=tuple(_patch_caps(rule, house)),
        options=tuple(sorted(options)),
        kit=pattern.kit,
    )


def compute(given: Inputs, *, non_class: bool = False) -> Design:
    """The design; InputError when the sail cannot be made so, with measurement names and part names as paths.

    non_class: what lies outside the class's limits is kept in its headroom and not refused. The geometry is the same, and so is the key:
    `refuse_outside` asks it of a design that is known already.
    """
    finished = sail.outline(given.shaped.shape)
    measured = sail.measure_for(finished, given.rule)
    cut = sail.outline(cloth.cut_shape(given.shaped.shape, given.make))
    panels = cloth.panels(cut, given.make, given.cloth)
    measured |= cloth.sewn_sizes(given.shaped.shape, given.make)
    parts = cloth.parts(cut, panels, given.make, given.cloth, patch_caps=dict(given.patch_caps), window_holes=given.table.window_holes)
    values = compliance.design_values(measured, finished, given.make, given.cloth, patch_sizes(cut, parts))
    headroom = compliance.compare_all(given.rule, values)
    if not non_class:
        refuse_outside(given.rule, headroom)
    lays = tuple(_lays(given, parts))
    area = sail.polygon_area(finished)
    targets = (*given.shaped.targets, *sail.left_to_the_edge(given.shaped.shape, measured))
    drivers = (*takeoff.geometry_drivers(finished, panels, parts, given.make, lays), *_design_drivers(given))
    return Design(
        key=given.key,
        pattern=given.pattern,
        variant=given.variant,
        targets=targets,
        sizes=tuple(compliance.on_paper(measured, given.rule)),
        headroom=headroom,
        assumed=(*_stated(given, targets, area), *compliance.left_open(on_the_rig.without_rig(given.rule), values)),
        shape=given.shaped.shape,
        outline=finished,
        cut_outline=cut,
        panels=panels,
        parts=parts,
        cloth=given.cloth,
        table=given.table,
        lays=lays,
        rings=tuple(_rings(finished, given.make)),
        area_m2=area,
        formula_area_m2=sail.published_area(given.shaped.shape.kind, measured),
        options=given.options,
        takeoff=takeoff.take_off(drivers, given.kit, frozenset(given.options)),
        open_limits=compliance.open_limits(on_the_rig.without_rig(given.rule), headroom, values, given.make),
    )


def materials_named(make: Make) -> set[str]:
    """The cloths and films that a making names beside the body's."""
    codes = {p.material for p in make.patches} | {p.material for p in make.edge_patches} | {p.material for p in make.pockets}
    return (codes | {w.film for w in make.windows} | ({make.shelf.material} if make.shelf else set())) - {""}


def _other_cloths(make: Make, body: Cloth, house: House) -> tuple[Cloth, ...]:
    """The cloths and films beside the body's that the making names."""
    wrong, found = Collector(), []
    for code in sorted(materials_named(make) - {body.code}):
        if code in house.cloths:
            found.append(house.cloths[code])
        else:
            wrong.add("pattern.make", "unknown_cloth", f"{house.pattern.name} uses {code!r}: no supplier list has such a cloth or film")
    wrong.raise_if_any()
    return tuple(found)


def _patch_caps(rule: SailRule, house: House) -> Iterator[tuple[Corner, float]]:
    kept_back = next((m.amount for m in house.pattern.margins if m.measurement == _PATCH_SIZE), Decimal(0))
    for corner in Corner:
        limits = [x.maximum for x in rule.limits if x.measurement == _PATCH_SIZE and x.corner in (None, corner) and x.maximum is not None]
        if limits:
            yield corner, float(min(limits) - kept_back)


def refuse_outside(rule: SailRule, headroom: Iterable[rules.Headroom]) -> None:
    """InputError with every limit that is not kept."""
    wrong = Collector()
    compliance.check_headroom(rule, (room for room in headroom if room.room < 0), wrong)
    wrong.raise_if_any()


def patch_sizes(cut: Outline, parts: tuple[Part, ...]) -> dict[Corner, float]:
    """The greatest distance of each corner patch's edge from its corner point, as it is cut; mm."""
    points = {Corner.HEAD: cut.head_point, Corner.TACK: cut.tack_point, Corner.CLEW: cut.clew_point}
    sizes = {}
    for corner, point in points.items():
        rims = [p.on_sail for p in parts if p.kind == "patch" and p.id.startswith(f"{corner.value.upper()}-")]
        if rims:
            sizes[corner] = max(math.dist(point, at) for rim in rims for at in rim)
    return sizes


def _rings(finished: Outline, make: Make) -> Iterator[Ring]:
    edges = edges_in_frame(finished, make)
    for patch in make.edge_patches:
        (at,) = edges.frame.to_sail(features.ring_point(edges, patch)[None, :])
        corner = finished.tack_point if patch.edge == "luff" else finished.clew_point
        yield Ring(patch.name, patch.edge, at, round(math.dist(corner, at), 3))


def _rolls(given: Inputs, parts: tuple[Part, ...]) -> Iterator[Cloth]:
    """The rolls that parts are cut from, the body's first."""
    rolls = {c.code: c for c in (given.cloth, *given.films)}
    needed = {p.material for p in parts}
    missing = needed - rolls.keys()
    if missing:
        raise problem("pattern.make", "unknown_cloth", f"parts are cut from {', '.join(sorted(missing))}, which is no cloth of the lists")
    return (roll for code, roll in rolls.items() if code in needed)


def _slots(parts: tuple[Part, ...], roll: Cloth) -> Iterator[str]:
    """The colour slots of the parts that are cut from a cloth, the body's first: each is a roll of its own."""
    yield from sorted({p.colour for p in parts if p.material == roll.code})


def _audited_lay(parts: tuple[Part, ...], roll: Cloth, slot: str, table: Table) -> Lay:
    sails = {"": tuple(p for p in parts if p.material == roll.code and p.colour == slot)}
    return replace(audited(cloth.plan_lay(sails, roll, table), sails, roll, table), colour=slot)


def _lays(given: Inputs, parts: tuple[Part, ...]) -> Iterator[Lay]:
    """A lay for each roll and colour slot; InputError with the pattern's row for every part that does not lie on one."""
    wrong = Collector()
    for roll in _rolls(given, parts):
        for slot in _slots(parts, roll):
            try:
                yield _audited_lay(parts, roll, slot, given.table)
            except InputError as error:
                wrong.extend(pattern_rows.of_parts(error.problems, parts, given.make))
    wrong.raise_if_any()


def audited(lay: Lay, sails: dict[str, tuple[Part, ...]], roll: Cloth, table: Table) -> Lay:
    """The lay, if its audit finds nothing; CostingBug with everything that it finds."""
    found = cloth.audit_lay(lay, sails, roll, table)
    if found:
        raise CostingBug(f"the lay on {roll.code} does not hold: " + "; ".join(f"{p.path}: {p.message}" for p in found))
    return lay


def _design_drivers(given: Inputs) -> Iterator[takeoff.Driver]:
    yield takeoff.driver("sail", 1, "this sail")
    if given.variant:
        yield takeoff.driver("variant", 1, "its own measurements or luff curve")
    counted = {item.counts_as for item in given.kit}
    label = given.rule.royalty_label
    if label is not None and label.required and "royalty_label" not in counted:
        yield takeoff.driver("royalty_label", 1, f"the class asks for one ({label.rule})")


def _stated(given: Inputs, targets: Iterable[Target], area: Decimal) -> Iterator[str]:
    """One sentence for each value that neither a rule nor the customer gave."""
    if not given.rule.limits:
        kind = given.rule.kind.value.replace("_", " ")
        yield f"No limit for a {kind} in edition {given.edition} of the class rules: every size is the pattern's or was asked for"
    yield from stated.sizes(targets, given.shaped.shape, area)
    yield from stated.making(given.make, given.shaped.shape, own_curve=given.shaped.own_curve)
