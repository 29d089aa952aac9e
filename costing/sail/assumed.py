"""Sizes that nobody gave: each by a stated formula, marked "assumed".

The formulas are starting values of common practice, no source; a pattern or a boat's own size takes the place of each.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from decimal import Decimal

import numpy as np

from costing.errors import Collector, InputError
from costing.measurements import SPINNAKERS, SailKind
from costing.rules import plausible
from costing.rules.targets import Target
from costing.sail.areas import polygon_area
from costing.sail.distance import nearest
from costing.sail.edges import luff_line
from costing.sail.measure import measure
from costing.sail.outline import outline
from costing.sail.shape import LuffCurve, Outline, SailShape

Sizes = Mapping[str, Decimal]

_STATIONS = ("half_width", "quarter_width", "three_quarter_width", "upper_width")
_NO_CURVE = LuffCurve(())
#: Round of the leech outside the straight line aft head point to clew point, as a share of that line; negative is hollow.
_LEECH_ROUND = {SailKind.MAINSAIL: 0.05, SailKind.HEADSAIL: -0.01, SailKind.TRYSAIL: -0.01, SailKind.STORM_JIB: -0.015}
#: Top width as a share of the luff, foot round as a share of the foot, a spinnaker's half width as a share of its foot.
_TOP_WIDTH = {SailKind.MAINSAIL: Decimal("0.025")}
_FOOT_ROUND = {
    SailKind.MAINSAIL: Decimal("0.02"),
    SailKind.HEADSAIL: Decimal("0.03"),
    SailKind.SYMMETRIC_SPINNAKER: Decimal("0.05"),
    SailKind.ASYMMETRIC_SPINNAKER: Decimal("0.05"),
}
_HALF_OF_FOOT = {SailKind.SYMMETRIC_SPINNAKER: Decimal(1), SailKind.ASYMMETRIC_SPINNAKER: Decimal("0.95")}


def assumed_sizes(kind: SailKind, sizes: Sizes, luff_curve: LuffCurve = _NO_CURVE) -> tuple[Target, ...]:
    """The sizes, mm, that the outline of a sail needs and that are not among `sizes`, each with the formula it comes from.

    InputError with every size that no formula can give.
    """
    found: dict[str, Target] = {}
    for target in _edges(kind, sizes, luff_curve):
        found[target.measurement] = target
    known = {**sizes, **{n: t.value for n, t in found.items()}}
    _refuse_missing(known)
    if kind in SPINNAKERS:
        found |= _spinnaker_width(kind, known)
    else:
        found |= _widths(kind, known, luff_curve)
    return tuple(found.values())


def left_to_the_edge(shape: SailShape, measured: Mapping[str, float]) -> tuple[Target, ...]:
    """The widths that nobody gave and that the fair edge through the given ones settles; measured: mm, of its outline."""
    given, edge = dict(shape.widths), "edges" if shape.kind in SPINNAKERS else "leech"
    why = f"of the fair {edge} through the widths that are given"
    names = (name for name in _STATIONS if name not in given and name in measured)
    return tuple(_assumed(name, _decimal(measured[name]), why) for name in names)


def shape_from_sizes(kind: SailKind, sizes: Sizes, luff_curve: LuffCurve = _NO_CURVE) -> SailShape:
    """The shape with these sizes, mm, and the assumed ones for what is not given."""
    return _shape(kind, {**sizes, **{t.measurement: t.value for t in assumed_sizes(kind, sizes, luff_curve)}}, luff_curve)


def area_effects(kind: SailKind, sizes: Sizes, luff_curve: LuffCurve = _NO_CURVE) -> dict[str, Decimal]:
    """By how much the area, m2, grows for each assumed size when it alone is 1 % larger; left out where no sail has it so."""
    assumed = assumed_sizes(kind, sizes, luff_curve)
    everything = {**sizes, **{t.measurement: t.value for t in assumed}}
    area = polygon_area(outline(_shape(kind, everything, luff_curve)))
    effects = {}
    for target in assumed:
        larger = {**everything, target.measurement: target.value * Decimal("1.01")}
        try:
            effects[target.measurement] = polygon_area(outline(_shape(kind, larger, luff_curve))) - area
        except InputError:
            continue
    return effects


def _edges(kind: SailKind, sizes: Sizes, luff_curve: LuffCurve) -> Iterator[Target]:
    luff, leech, foot = (sizes.get(n) for n in ("luff_length", "leech_length", "foot_length"))
    if kind is SailKind.SYMMETRIC_SPINNAKER and (luff is None) != (leech is None):
        name, other, value = ("luff_length", "leech", leech) if luff is None else ("leech_length", "luff", luff)
        yield _assumed(name, value or Decimal(0), f"as long as the {other}: the sail is symmetric")
    if kind in (SailKind.MAINSAIL, SailKind.TRYSAIL) and leech is None and luff and foot:
        yield _assumed("leech_length", _decimal(math.hypot(luff, foot)), "square root of luff² + foot²: the foot square to the luff")
    across = sizes.get("luff_perpendicular")
    if kind in (SailKind.HEADSAIL, SailKind.STORM_JIB) and foot is None and luff and leech and across:
        foot = _foot_from_perpendicular(float(luff), float(leech), float(across), luff_curve)
        yield _assumed("foot_length", foot, f"the foot with which the luff perpendicular is {plausible.in_words(across)}")
    if "top_width" not in sizes:
        share = _TOP_WIDTH.get(kind, Decimal(0))
        why = f"{_per_cent(share)} of the luff, common practice" if share else "the head comes to a point"
        yield _assumed("top_width", _decimal((luff or 0) * share), why)
    if "foot_round" not in sizes and "foot_median" not in sizes:
        share = _FOOT_ROUND.get(kind, Decimal(0))
        why = f"{_per_cent(share)} of the foot, common practice" if share else "a straight foot, common practice"
        yield _assumed("foot_round", _decimal((foot or 0) * share), why)


def _foot_from_perpendicular(luff: float, leech: float, across: float, curve: LuffCurve) -> Decimal:
    """The straight line tack to clew of the sail whose clew point is `across` from its luff; bisection on the angle at the head."""
    line, low, high = luff_line(luff, curve), 0.0, math.pi / 2

    def clew(angle: float) -> tuple[float, float]:
        return leech * math.sin(angle), luff - leech * math.cos(angle)

    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if nearest(np.array(clew(middle)), line)[0] < across else (low, middle)
    return _decimal(math.hypot(*clew(low)))


def _refuse_missing(known: Sizes) -> None:
    problems = Collector()
    for name in ("luff_length", "leech_length", "foot_length"):
        if name not in known:
            problems.add(name, "missing", f"{plausible.label(name)} is not given and does not follow from the other sizes; enter it")
    problems.raise_if_any()


def _spinnaker_width(kind: SailKind, known: Sizes) -> dict[str, Target]:
    if "half_width" in known:
        return {}
    share = _HALF_OF_FOOT[kind]
    value = _decimal(known["foot_length"] * share)
    return {"half_width": _assumed("half_width", value, f"{_per_cent(share)} of the foot, common practice")}


def _widths(kind: SailKind, known: Sizes, curve: LuffCurve) -> dict[str, Target]:
    """The widths not given: of a parabolic leech where the half width is missing, else of the fair leech through those that are given."""
    found: dict[str, Target] = {}
    sizes = dict(known)
    if "half_width" not in sizes:
        depth = _LEECH_ROUND[kind]
        rough = measure(_with_parabolic_leech(_shape(kind, {n: v for n, v in sizes.items() if n not in _STATIONS}, curve), depth))
        why = f"a parabolic leech {abs(depth) * 100:g} % {'full' if depth > 0 else 'hollow'} at its middle, common practice"
        for name in (n for n in _STATIONS if n not in sizes):
            found[name] = _assumed(name, _decimal(rough[name]), why)
        return found
    fair = measure(outline(_shape(kind, sizes, curve)))
    for name in (n for n in _STATIONS if n not in sizes):
        found[name] = _assumed(name, _decimal(fair[name]), "of the fair leech through the widths that are given")
    return found


def _with_parabolic_leech(shape: SailShape, depth: float) -> Outline:
    straight = outline(shape)
    start, end = np.array(straight.leech[0]), np.array(straight.leech[-1])
    chord = end - start
    u = np.linspace(0.0, 1.0, 801)[:, None]
    leech = start + u * chord + 4 * depth * u * (1 - u) * np.array((-chord[1], chord[0]))
    points = tuple((x, y) for x, y in leech.tolist())
    return Outline(shape.kind, straight.luff, straight.head, points, straight.foot)


def _shape(kind: SailKind, sizes: Sizes, curve: LuffCurve) -> SailShape:
    stations = ("quarter_width", "half_width", "three_quarter_width", "upper_width")
    median = sizes.get("foot_median") if kind in SPINNAKERS else None
    return SailShape(
        kind=kind,
        luff_length=float(sizes["luff_length"]),
        leech_length=float(sizes["leech_length"]),
        foot_length=float(sizes["foot_length"]),
        widths=tuple((n, float(sizes[n])) for n in stations if n in sizes),
        top_width=float(sizes["top_width"]),
        foot_round=float(sizes.get("foot_round", 0)),
        luff_curve=curve,
        foot_median=None if median is None else float(median),
    )


def _assumed(name: str, value: Decimal, reason: str) -> Target:
    return Target(name, value, "assumed", reason)


def _per_cent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f} %"


def _decimal(mm: float | Decimal) -> Decimal:
    """To the micrometre, downwards, so that no assumed size is over what it comes from."""
    return Decimal(mm).quantize(Decimal("0.001"), rounding="ROUND_FLOOR")
