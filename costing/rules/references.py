"""Whether an edition's formulas can be computed: no bound depends, round a circle, on the size that it bounds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from costing.errors import InputError
from costing.measurements import MEASUREMENTS
from costing.rules import formula
from costing.rules.limits import Limit, SailRule

Graph = Mapping[str, frozenset[str]]


def bound_by(limit: Limit) -> tuple[str, ...]:
    """The names that a limit's bounds depend on; none for a formula that cannot be read, which is refused where it stands."""
    names: list[str] = []
    for text in (limit.minimum_formula, limit.maximum_formula):
        try:
            names.extend(formula.parse(text).names if text else ())
        except InputError:
            continue
    return tuple(dict.fromkeys(names))


def circles(sails: tuple[SailRule, ...]) -> Iterator[tuple[int, int, str]]:
    """Sail and limit by index, and the way round, for every limit whose bound depends on itself: "half_width, foot_length, half_width"."""
    graph = _graph(sails)
    for i, sail in enumerate(sails):
        for j, limit in enumerate(sail.limits):
            own = f"{sail.kind.value}.{limit.measurement}"
            for name in bound_by(limit):
                way = _way(graph, _full(name, sail), own, frozenset())
                if way:
                    yield i, j, " needs ".join((own, *way))
                    break


def _graph(sails: tuple[SailRule, ...]) -> Graph:
    graph: dict[str, frozenset[str]] = {}
    for sail in sails:
        for limit in sail.limits:
            own = f"{sail.kind.value}.{limit.measurement}"
            graph[own] = graph.get(own, frozenset()) | {_full(name, sail) for name in bound_by(limit)}
    return graph


def _full(name: str, sail: SailRule) -> str:
    """The name with its kind of sail; the rig's dimensions have none."""
    if "." in name or MEASUREMENTS[name].of_rig:
        return name
    return f"{sail.kind.value}.{name}"


def _way(graph: Graph, start: str, end: str, seen: frozenset[str]) -> tuple[str, ...]:
    """From `start` to `end` along the names that bounds need; empty when there is no way."""
    if start == end:
        return (end,)
    for name in sorted(graph.get(start, frozenset()) - seen):
        found = _way(graph, name, end, seen | {start})
        if found:
            return (start, *found)
    return ()
