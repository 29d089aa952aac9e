"""Spinnakers with sizes drawn at random from the same seed each time, of both kinds and every radial making; invented."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

from costing import cloth, sail
from costing.cloth import Centre, Gores, Make, Seam
from costing.errors import InputError
from costing.measurements import Corner, SailKind
from costing.sail import LuffCurve, SailShape
from tests.cloth.spinnakers import NYLON, SAILS

SEED = 4_711
_ROLL = replace(NYLON, width_mm=4000, usable_width_mm=3985)
_BASE = SAILS["symmetric tri-radial"][1]


def made_spinnakers(count: int, seed: int = SEED) -> Iterator[tuple[SailShape, Make]]:
    """Shapes and makings; some of the shapes no fair sail has."""
    chance = random.Random(seed)
    for _ in range(count):
        yield _one(chance)


def _one(chance: random.Random) -> tuple[SailShape, Make]:
    symmetric = chance.random() < 0.5
    leech = chance.uniform(2500, 12_000)
    luff = leech if symmetric else leech * chance.uniform(1.02, 1.12)
    foot = leech * chance.uniform(0.5, 0.65)
    kind = SailKind.SYMMETRIC_SPINNAKER if symmetric else SailKind.ASYMMETRIC_SPINNAKER
    shape = SailShape(
        kind, luff, leech, foot, (("half_width", foot * chance.uniform(0.95, 1.08)),), 0, foot * chance.uniform(0.03, 0.1), LuffCurve(())
    )
    return shape, _make(chance, shape, symmetric=symmetric)


def _make(chance: random.Random, shape: SailShape, *, symmetric: bool) -> Make:
    tri, size = chance.random() < 0.6, shape.leech_length
    full = size / 800
    head = Gores(Corner.HEAD, chance.randint(3, 8), size * chance.uniform(0.35, 0.5), 0, full, chance.uniform(0.4, 0.6))
    gores = [head]
    if tri:
        corners = (Corner.CLEW,) if symmetric else (Corner.TACK, Corner.CLEW)
        reach = 0.0 if chance.random() < 0.5 else size * chance.uniform(0.25, 0.35)
        foot = shape.foot_length * chance.uniform(0.25, 0.4)
        gores += [Gores(corner, chance.randint(2, 6), reach, foot, full / 4) for corner in corners]
    centre = Centre.VERTICAL if tri and chance.random() < 0.4 else Centre.CROSS_CUT
    make = replace(_BASE, cut="tri-radial" if tri else "radial-head", gores=tuple(gores), centre=centre, seams=(), roll_width_mm=4000)
    return replace(make, seams=_seams(shape, make, full))


def _seams(shape: SailShape, make: Make, full: float) -> tuple[Seam, ...]:
    """As the tool proposes them for a roll of ordinary width."""
    try:
        proposed = cloth.propose_seams(sail.outline(shape), make, NYLON)
    except InputError:
        return ()
    return tuple(Seam(height, full / 2) for height in proposed)


def roll() -> cloth.Cloth:
    """Wide enough for gores of every size drawn."""
    return _ROLL
