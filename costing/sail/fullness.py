"""Whether a fair leech can have the asked widths, and if not, which would do.

A leech that is hollow at a leech point is bridged by a straight line when it is measured (ERS), so that the width comes out larger
than the cloth: no sail measures a width that lies inside the line between its neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from costing.errors import Collector
from costing.measurements import MEASUREMENTS
from costing.rules import plausible
from costing.sail.distance import Array
from costing.sail.knots import FROM_THE_HEAD, Frame, leech_knots

_HOLLOW_MM = 0.001
_SHARPEST_TURN = 0.6  # radians at one leech point: beyond it the leech is a corner, not a curve
_STEEPEST = 1.2  # radians of the leech against its chord


def check_leech(frame: Frame, widths: dict[str, float]) -> None:
    """Raise InputError with every width that leaves the leech hollow or cornered there, and the ranges that would work."""
    problems = Collector()
    knots = leech_knots(frame, widths)
    for name, fault in _faults(knots).items():
        before, after = _neighbours(list(knots), name)
        between = f"between the {_label(before)} and the {_label(after)}"
        remedy = _remedies(frame, widths, [n for n in (name, before, after) if n in widths])
        problems.add(name, "unfair_leech", f"{widths[name]:g} mm {fault} {between}; {remedy}")
    problems.raise_if_any()


def _faults(knots: dict[str, Array]) -> dict[str, str]:
    """What is wrong at each leech point, in words."""
    names, points = list(knots), np.array(list(knots.values()))
    spans = np.diff(points, axis=0)
    heading = np.arctan2(spans[:, 0], -spans[:, 1])
    chord = points[-1] - points[0]
    turns = heading[:-1] - heading[1:]
    steep = np.abs(heading - np.arctan2(chord[0], -chord[1])) > _STEEPEST
    faults = {}
    for i, name in enumerate(names[1:-1]):
        lengths = np.hypot(*spans[i : i + 2].T)
        hollow = -np.sin(turns[i]) * lengths.prod() / max(np.hypot(*(points[i + 2] - points[i])), 1e-9)
        if hollow > _HOLLOW_MM:
            faults[name] = f"leaves the leech {hollow:.1f} mm hollow" if hollow >= 0.1 else "leaves the leech hollow"
        elif turns[i] > _SHARPEST_TURN or steep[i] or steep[i + 1]:
            faults[name] = "puts a corner into the leech"
    return faults


def _neighbours(names: list[str], name: str) -> tuple[str, str]:
    i = names.index(name)
    return names[i - 1], names[i + 1]


def _remedies(frame: Frame, widths: dict[str, float], names: list[str]) -> str:
    ranges = [(name, _working_range(frame, widths, name)) for name in names]
    found = [f"{_label(n)} from {r[0]:.1f} to {r[1]:.1f} mm" for n, r in ranges if r]
    if not found:
        return "no single one of these widths sets it right: look at the widths beside it as well"
    return "with the other sizes as they are these would work: " + ", or ".join(found)


def _working_range(frame: Frame, widths: dict[str, float], name: str) -> tuple[float, float] | None:
    """The widths at one station that give a fair leech with all others unchanged, to 0.1 mm inwards; None when there is none."""

    def works(width: float) -> bool:
        return not _faults(leech_knots(frame, widths | {name: width}))

    low, high = _room(frame, widths, name)
    away = np.geomspace(0.1, high - low, 40)
    tried = sorted(w for w in (widths[name] + np.concatenate((-away, away))).tolist() if low < w < high)
    good = [i for i, width in enumerate(tried) if works(width)]
    if not good:
        return None
    first, last = good[0], good[-1]
    lowest = _edge(works, tried[first], tried[first - 1] if first else low)
    highest = _edge(works, tried[last], tried[last + 1] if last + 1 < len(tried) else high)
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
