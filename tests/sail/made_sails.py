"""Sails as lofts make them, from a seeded generator: every kind, from the sail of a 2.3 m pram to that of a 12 m keelboat.

Each has its sizes from a parabolic edge with a lean, measured, rounded to the mm and disturbed, as sizes in a class rule are.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

import numpy as np

from costing.measurements import SPINNAKERS, SailKind
from costing.sail import LuffCurve, Outline, SailShape, measure

SEED = 20260301
#: Boat, its luff from and to, mm.
BOATS = (("pram 2.3 m", 2600, 3600), ("dinghy 4 m", 4300, 6300), ("sports boat 7 m", 7500, 10500), ("keelboat 12 m", 12000, 17000))
_NO_CURVE = LuffCurve(())


def strata(count: int, seed: int = SEED) -> Iterator[tuple[SailKind, str, SailShape]]:
    """`count` sails, as many of each kind and boat, with the two that name the stratum."""
    chance = random.Random(seed)
    cells = [(kind, boat) for kind in SailKind for boat in BOATS]
    for i in range(count):
        kind, (boat, low, high) = cells[i % len(cells)]
        luff = chance.uniform(low, high)
        yield kind, boat, _spinnaker(kind, luff, chance) if kind in SPINNAKERS else _MADE[kind](luff, chance)


def asked(shape: SailShape) -> dict[str, float]:
    """Every size that was asked for."""
    names = ("luff_length", "leech_length", "foot_length", "top_width", "foot_round")
    sizes = dict(shape.widths) | {name: getattr(shape, name) for name in names}
    if shape.foot_median is not None:
        sizes["foot_median"] = shape.foot_median
        del sizes["foot_round"]
    return sizes


def main(luff: float, chance: random.Random) -> SailShape:
    upper = ("upper_width",) if chance.random() < 0.7 else ()
    return _luff_sail(
        SailKind.MAINSAIL, luff, chance, foot=(0.38, 0.58), tack=(84, 92), top=(0.015, 0.05), round_=(0.01, 0.08), curve=(0.002, 0.012),
        foot_round=0.06, stations=("quarter_width", "half_width", "three_quarter_width", *upper),
    )  # fmt: skip


def headsail(luff: float, chance: random.Random) -> SailShape:
    """From a high-aspect jib with a hollow leech to an overlapping one with battens and a little round."""
    return _luff_sail(
        SailKind.HEADSAIL, luff, chance, foot=(0.28, 0.55), tack=(66, 88), top=(0.001, 0.02), round_=(-0.03, 0.03), curve=(-0.006, -0.001),
        foot_round=0.08, stations=("quarter_width", "half_width", "three_quarter_width", "upper_width"),
    )  # fmt: skip


def trysail(luff: float, chance: random.Random) -> SailShape:
    return _luff_sail(
        SailKind.TRYSAIL, luff * 0.45, chance, foot=(0.5, 0.9), tack=(70, 95), top=(0.005, 0.02), round_=(-0.02, 0.0), curve=(0.0, 0.004),
        foot_round=0.0, stations=("half_width",),
    )  # fmt: skip


def storm_jib(luff: float, chance: random.Random) -> SailShape:
    return _luff_sail(
        SailKind.STORM_JIB, luff * 0.5, chance, foot=(0.35, 0.6), tack=(65, 85), top=(0.005, 0.02), round_=(-0.03, 0.0),
        curve=(-0.004, 0.0), foot_round=0.02, stations=("half_width",),
    )  # fmt: skip


_MADE = {SailKind.MAINSAIL: main, SailKind.HEADSAIL: headsail, SailKind.TRYSAIL: trysail, SailKind.STORM_JIB: storm_jib}
Range = tuple[float, float]


def _luff_sail(
    kind: SailKind, luff: float, chance: random.Random, *, foot: Range, tack: Range, top: Range, round_: Range, curve: Range,
    foot_round: float, stations: tuple[str, ...],
) -> SailShape:  # fmt: skip
    along, angle, head = luff * chance.uniform(*foot), math.radians(chance.uniform(*tack)), luff * chance.uniform(*top)
    clew, aft_head = np.array((along * math.sin(angle), along * math.cos(angle))), np.array((head, luff))
    chord, u = clew - aft_head, np.linspace(0, 1, 300)
    out = chance.uniform(*round_) * 4 * u * (1 - u) * (1 + chance.uniform(-0.5, 0.5) * (0.5 - u))
    leech = aft_head + u[:, None] * chord + out[:, None] * np.array((-chord[1], chord[0]))
    depth = luff * chance.uniform(*curve)
    bend = tuple((q, float(round(4 * depth * q * (1 - q)))) for q in (0.25, 0.5, 0.75))
    luff_line = ((0.0, 0.0), *((-mm, q * luff) for q, mm in bend), (0.0, luff))
    rough = Outline(kind, luff_line, ((0.0, luff), (head, luff)), tuple(map(tuple, leech)), (tuple(clew), (0.0, 0.0)))
    sizes = measure(rough)
    return SailShape(
        kind, float(round(luff)), float(round(sizes["leech_length"])), float(round(along)),
        tuple((n, float(round(sizes[n] + chance.uniform(-2, 2)))) for n in stations), float(round(head)),
        float(round(along * chance.uniform(0, foot_round))), LuffCurve(bend),
    )  # fmt: skip


def _spinnaker(kind: SailKind, luff: float, chance: random.Random) -> SailShape:
    """Half width 75 to 105 % of the foot, as on the certificates seen; half of them with quarter widths, some with a foot median."""
    symmetric = kind is SailKind.SYMMETRIC_SPINNAKER
    leech = luff if symmetric else luff * chance.uniform(0.88, 0.97)
    foot = luff * chance.uniform(0.42, 0.58)
    half = foot * chance.uniform(0.75, 1.05)
    widths = {"half_width": half}
    if chance.random() < 0.5:
        extra = half - foot / 2  # outside the straight-edged sail
        widths["quarter_width"] = 0.75 * foot + 0.75 * extra * chance.uniform(0.97, 1.03)
        widths["three_quarter_width"] = 0.25 * foot + 0.75 * extra * chance.uniform(0.97, 1.03)
    low = math.sqrt(max((2 * luff**2 + 2 * leech**2 - foot**2) / 4, 0))  # head to the middle of the straight foot (Apollonius)
    median = float(round(low + foot * chance.uniform(0.01, 0.08))) if chance.random() < 0.3 else None
    return SailShape(
        kind, float(round(luff)), float(round(leech)), float(round(foot)),
        tuple((n, float(round(widths[n]))) for n in ("quarter_width", "half_width", "three_quarter_width") if n in widths),
        0.0, 0.0 if median else float(round(foot * chance.uniform(0, 0.08))), _NO_CURVE, median,
    )  # fmt: skip
