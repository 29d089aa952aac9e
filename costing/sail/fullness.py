"""Whether a fair leech can have the asked widths, and if not, which would do.

A mainsail's leech that is hollow at a leech point is bridged by a straight line when it is measured (ERS), so that the width comes out
larger than the cloth: no mainsail measures a width that lies inside the line between its neighbours. Other kinds may be hollow.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np

from costing.errors import Collector
from costing.measurements import MEASUREMENTS
from costing.rules import plausible
from costing.sail.distance import Array
from costing.sail.knots import FROM_THE_HEAD, Frame, leech_knots

_HOLLOW_MM = 0.001
_SHARPEST_HOLLOW = 0.35  # of a leech that may be hollow, either way: a sail without battens stands only with a nearly straight leech
_SHARPEST_TURN = 0.6  # radians at one leech point: beyond it the leech is a corner, not a curve
_STEEPEST = 1.2  # radians of the leech against its chord


def check_leech(frame: Frame, widths: dict[str, float], *, hollow: bool = False) -> None:
    """Raise InputError with every width that leaves the leech cornered (hollow, unless allowed), and the ranges that would work."""
    problems = Collector()
    knots = leech_knots(frame, widths)
    sharpest = _SHARPEST_HOLLOW if hollow else _SHARPEST_TURN

    def works(changed: dict[str, float]) -> bool:
        return not faults(leech_knots(frame, widths | changed), hollow=hollow, sharpest=sharpest)

    for name, fault in faults(knots, hollow=hollow, sharpest=sharpest).items():
        before, after = _neighbours(list(knots), name)
        between = f"between the {_label(before)} and the {_label(after)}"
        names = [n for n in (name, before, after) if n in widths]
        remedy = remedies({n: working_range(works, n, widths[n], *_room(frame, widths, n)) for n in names})
        problems.add(name, "unfair_leech", f"{widths[name]:,g} mm {fault} {between}; {remedy}")
    problems.raise_if_any()


def faults(knots: dict[str, Array], *, hollow: bool, sharpest: float) -> dict[str, str]:
    """What is wrong at each leech point, in words. hollow: whether it may be; sharpest: turn at a point, radians."""
    names, points = list(knots), np.array(list(knots.values()))
    spans = np.diff(points, axis=0)
    heading = np.arctan2(spans[:, 0], -spans[:, 1])
    chord = points[-1] - points[0]
    turns = heading[:-1] - heading[1:]
    steep = np.abs(heading - np.arctan2(chord[0], -chord[1])) > _STEEPEST
    wrong = {}
    for i, name in enumerate(names[1:-1]):
        lengths = np.hypot(*spans[i : i + 2].T)
        depth = -np.sin(turns[i]) * lengths.prod() / max(np.hypot(*(points[i + 2] - points[i])), 1e-9)
        if depth > _HOLLOW_MM and not hollow:
            wrong[name] = f"leaves the leech {depth:.1f} mm hollow" if depth >= 0.1 else "leaves the leech hollow"
        elif abs(turns[i]) > sharpest or steep[i] or steep[i + 1]:
            wrong[name] = "puts a corner into the leech"
    return wrong


def _neighbours(names: list[str], name: str) -> tuple[str, str]:
    i = names.index(name)
    return names[i - 1], names[i + 1]


def remedies(ranges: Mapping[str, tuple[float, float] | None]) -> str:
    """The ranges that would work, as the end of a message; None where there is none."""
    found = [f"{_label(n)} from {r[0]:,.1f} to {r[1]:,.1f} mm" for n, r in ranges.items() if r]
    if not found:
        return "no single one of these widths sets it right: look at the widths beside it as well"
    return "with the other sizes as they are these would work: " + ", or ".join(found)


def working_range(
    works: Callable[[dict[str, float]], bool], name: str, width: float, low: float, high: float
) -> tuple[float, float] | None:
    """The values of one width between low and high that work with all others unchanged, to 0.1 mm inwards; None when none does."""

    def alone(value: float) -> bool:
        return works({name: value})

    away = np.geomspace(0.1, high - low, 40)
    tried = sorted(w for w in (width + np.concatenate((-away, away))).tolist() if low < w < high)
    good = [i for i, value in enumerate(tried) if alone(value)]
    if not good:
        return None
    first, last = good[0], good[-1]
    lowest = _edge(alone, tried[first], tried[first - 1] if first else low)
    highest = _edge(alone, tried[last], tried[last + 1] if last + 1 < len(tried) else high)
    return math.ceil(lowest * 10) / 10, math.floor(highest * 10) / 10


def _room(frame: Frame, widths: dict[str, float], name: str) -> tuple[float, float]:
    """The widths at the stations above and below, between which this one must stay."""
    ladder = [float(frame.aft_head[0]), *(widths[n] for n in FROM_THE_HEAD if n in widths), float(max(frame.clew[0], *widths.values()))]
    i = 1 + [n for n in FROM_THE_HEAD if n in widths].index(name)
    return ladder[i - 1], ladder[i + 1]


def _edge(works: Callable[[float], bool], inside: float, outside: float) -> float:
    """The last working width from `inside` towards `outside`."""
    while abs(outside - inside) > 0.01:
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if works(middle) else (inside, middle)
    return inside


def _label(name: str) -> str:
    return plausible.label(name) if name in MEASUREMENTS else f"{name.replace('_', ' ')} point"
