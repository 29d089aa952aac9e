"""The drivers of cost, read off the geometry, and the kit's quantities."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import pairwise

from costing import units
from costing.cloth.lay import Lay
from costing.cloth.make import Make, Stitch
from costing.cloth.part import Panel, Part
from costing.cloth.seams import seam_lengths
from costing.errors import Collector
from costing.measurements import SPINNAKERS, Corner
from costing.sail.areas import polygon_area
from costing.sail.shape import Line, Outline
from costing.takeoff.kinds import DRIVERS, driver_kind, plain, spelled, unknown_driver
from costing.takeoff.quantities import Driver, KitItem, MaterialQuantity, TakeOff

_MEASURED = ("m", "m2")


def driver(code: str, amount: Decimal | int, how: str) -> Driver:
    """A driver with the unit that its table entry gives it."""
    return Driver(code, Decimal(amount), driver_kind(code).unit, how)


def geometry_drivers(
    finished: Outline, panels: tuple[Panel, ...], parts: tuple[Part, ...], make: Make, lays: tuple[Lay, ...]
) -> tuple[Driver, ...]:
    """Every driver that the geometry gives: seams, edges, patches, pockets, windows, area, laid area.

    `make` holds only the features that were chosen. Lengths to 0.001 m, areas to 0.0001 m2; amounts of zero are left out.
    """
    found = (
        *_body(finished, panels, make, lays),
        *_edges(finished),
        *_patches(parts, make),
        *_pockets_and_windows(parts, make),
        *_hanks(panels, make),
        *_shelf(finished, make),
    )
    return tuple(d for d in found if d.amount)


def _body(finished: Outline, panels: tuple[Panel, ...], make: Make, lays: tuple[Lay, ...]) -> Iterable[Driver]:
    seams = seam_lengths(panels)
    seam = "seam" if make.stitch is Stitch.ZIGZAG else "three_step_seam"
    laid = [f"{lay.material} {plain(units.metres(lay.length_mm))} m" for lay in lays]
    yield driver("panel", len(panels), f"{len(panels)} body panels")
    yield driver(seam, len(seams), f"{len(seams)} seams between panels")
    yield driver(f"{seam}_m", _sum_m(seams), "sew lines: " + _added(seams))
    yield driver("body_m2", polygon_area(finished), "area inside the finished outline")
    yield driver("laid_m", units.metres(sum(lay.length_mm for lay in lays)), "lays: " + " + ".join(laid))
    area = sum(lay.length_mm * lay.usable_width_mm for lay in lays)
    yield driver("laid_m2", units.square_metres(area), "length x usable width of each lay")


def _edges(finished: Outline) -> Iterable[Driver]:
    edges: dict[str, float] = {name: _length(getattr(finished, name)) for name in ("luff", "leech", "foot", "head")}
    if finished.kind in SPINNAKERS:  # its three edges are bound alike: one driver in place of three
        around = [edges[name] for name in ("luff", "leech", "foot")]
        yield driver("edge_tape_m", _sum_m(around), "along the finished luff, leech and foot: " + _added(around))
    else:
        for name, mm in edges.items():
            yield driver(f"{name}_m", units.metres(mm), f"along the finished {name}")
    yield driver("corner", len(Corner), "head, tack and clew")


def _patches(parts: tuple[Part, ...], make: Make) -> Iterable[Driver]:
    layers = [p for p in parts if p.kind == "patch"]
    prefixes = tuple(f"{p.corner.value.upper()}-" for p in make.patches)
    at_corners = [p for p in layers if p.id.upper().startswith(prefixes)] if prefixes else []
    each = (f"{p.corner.value} {sum(x.id.upper().startswith(p.corner.value.upper() + '-') for x in at_corners)}" for p in make.patches)
    yield driver("patch", len(make.patches), ", ".join(p.corner.value for p in make.patches))
    yield driver("patch_layer", len(at_corners), "layers: " + ", ".join(each))
    yield driver("patch_edge_m", _sum_m([_length(p.outer, closed=True) for p in layers]), f"round {len(layers)} patch layers")
    counted = {"cunningham": 0, "reef": 0, "edge_patch": 0}
    for patch in make.edge_patches:
        counted[_edge_patch_code(patch.name)] += 1
    reefs = [p.edge for p in make.edge_patches if _edge_patch_code(p.name) == "reef"]
    counted["reef"] = max((reefs.count(edge) for edge in set(reefs)), default=0)  # a row goes from its luff patch to its leech patch
    for code, count in counted.items():
        yield driver(code, count, "edge patches of the pattern")


def _edge_patch_code(name: str) -> str:
    return next((code for code in ("cunningham", "reef") if name.lower().startswith(code)), "edge_patch")


def _pockets_and_windows(parts: tuple[Part, ...], make: Make) -> Iterable[Driver]:
    full = sum(p.full_length for p in make.pockets)
    yield driver("pocket", len(make.pockets), "batten pockets of the pattern")
    yield driver("pocket_short", len(make.pockets) - full, "pockets that end inside the sail")
    yield driver("pocket_full", full, "full-length pockets")
    yield driver("window", len(make.windows), "panes of the pattern")
    for kind in ("pocket", "window"):
        pieces = [_length(p.outer, closed=True) for p in parts if p.kind == kind]
        yield driver(f"{kind}_edge_m", _sum_m(pieces), f"round {len(pieces)} {kind} pieces")


def _hanks(panels: tuple[Panel, ...], make: Make) -> Iterable[Driver]:
    if make.hanks is not None:
        count = sum(mark.kind == "hank" for panel in panels for mark in panel.marks)
        yield driver("hank", count, f"one near each end of the luff, the others at most {make.hanks.spacing_mm:g} mm apart")


def _shelf(finished: Outline, make: Make) -> Iterable[Driver]:
    """The seam that joins a shelf to the foot; its minutes and its thread go by this length, so it is no seam between panels too."""
    if make.shelf is not None:
        yield driver("shelf_foot_m", units.metres(_length(finished.foot)), "along the finished foot, where its shelf is sewn on")


def take_off(drivers: tuple[Driver, ...], kit: tuple[KitItem, ...], options: frozenset[str]) -> TakeOff:
    """Drivers and kit together: materials with quantities; kit items that count as drivers (rings, battens) are added to them.

    Linear in the drivers: the take-offs of two sets of drivers can be added with `together`. `check_kit` finds drivers that do not
    exist; here they are zero.
    """
    amounts = {d.code: d.amount for d in drivers}
    materials, counted = [], list(drivers)
    # what a kit item counts as may drive another (two eyelets a batten), so the items that count come first
    for item in sorted(kit, key=lambda i: not i.counts_as):
        amount = item.factor * amounts.get(item.per, Decimal(0))
        if not amount or (item.option and item.option not in options):
            continue
        how = f"{plain(item.factor)} x {spelled(amounts[item.per], driver_kind(item.per))}"
        materials.append(_material(item, amount, how))
        if item.counts_as:
            counted.append(driver(item.counts_as, amount, how))
            amounts[item.counts_as] = amounts.get(item.counts_as, Decimal(0)) + amount
    return TakeOff(_merged_drivers(counted), _merged_materials(materials))


def together(*takeoffs: TakeOff) -> TakeOff:
    """Several take-offs of one sail as one: amounts added, how they were found joined."""
    drivers = [d for t in takeoffs for d in t.drivers]
    materials = [m for t in takeoffs for m in t.materials]
    return TakeOff(_merged_drivers(drivers), _merged_materials(materials))


def check_kit(kit: tuple[KitItem, ...]) -> None:
    """Raise InputError with every kit item whose driver neither the table nor the kit knows."""
    known = DRIVERS.keys() | {item.counts_as for item in kit if item.counts_as}
    wrong = Collector()
    for i, item in enumerate(kit):
        if item.per not in known:
            wrong.add(f"pattern.kit[{i}].per", "unknown_driver", f"{item.material}: {unknown_driver(item.per, known)}")
    wrong.raise_if_any()


def kit_unit(item: KitItem) -> str:
    """The unit that a kit item is counted in: its own, or the driver's, pieces where the driver counts things."""
    of_driver = driver_kind(item.per).unit
    return item.unit or (of_driver if of_driver in _MEASURED else "piece")


def _material(item: KitItem, amount: Decimal, how: str) -> MaterialQuantity:
    unit = kit_unit(item)
    group = item.group or ("hardware" if unit == "piece" else "consumables")
    return MaterialQuantity(item.material, amount, unit, how, group, item.note)


def _merged_drivers(drivers: Sequence[Driver]) -> tuple[Driver, ...]:
    merged: dict[str, Driver] = {}
    for d in drivers:
        held = merged.get(d.code)
        merged[d.code] = d if held is None else Driver(d.code, held.amount + d.amount, d.unit, f"{held.how} + {d.how}")
    return tuple(merged.values())


def _merged_materials(materials: Sequence[MaterialQuantity]) -> tuple[MaterialQuantity, ...]:
    merged: dict[str, MaterialQuantity] = {}
    for m in materials:
        held = merged.get(m.material)
        if held is not None:
            labels = dict.fromkeys(label for label in (held.label, m.label) if label)
            how = f"{held.how} + {m.how}"
            m = MaterialQuantity(m.material, held.amount + m.amount, m.unit, how, m.group, "; ".join(labels))
        merged[m.material] = m
    return tuple(merged.values())


def _length(line: Line, *, closed: bool = False) -> float:
    steps = sum(math.dist(a, b) for a, b in pairwise(line))
    return steps + (math.dist(line[-1], line[0]) if closed else 0.0)


def _sum_m(lengths: Sequence[float]) -> Decimal:
    """Metres of several lines, each rounded to 1 mm first so that a printed sum adds up."""
    return sum((units.metres(mm) for mm in lengths), Decimal(0))


def _added(lengths: Sequence[float]) -> str:
    return " + ".join(plain(units.metres(mm)) for mm in lengths)
