"""Take a shorter lay only when its audit finds nothing, wherever it comes from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from costing.cloth.audit import audit_lay
from costing.cloth.lay import Lay, Table
from costing.cloth.part import Cloth, Part
from costing.errors import CostingBug

#: Another program's turn: from a lay and the number of one of its sections, the lay with that section laid anew, or just as it was.
Improve = Callable[[Lay, int], Lay]


def shortest_sound(lays: Iterable[Lay], sails: Mapping[str, Sequence[Part]], cloth: Cloth, table: Table) -> Lay:
    """The shortest of the lays whose audit finds nothing; CostingBug when none holds."""
    for lay in sorted(lays, key=lambda lay: lay.length_mm):
        if not audit_lay(lay, sails, cloth, table):
            return lay
    raise CostingBug(f"no lay on {cloth.code} passes its audit")


def improved(
    lay: Lay, sails: Mapping[str, Sequence[Part]], cloth: Cloth, table: Table, improve: Improve, should_stop: Callable[[], bool]
) -> Lay:
    """The lay after each of its sections was offered to `improve`, which is believed only where the audit agrees."""
    best = lay
    for offered in _offers(best, improve, should_stop):
        best = offered
    if best is lay or not audit_lay(best, sails, cloth, table):
        return best
    # one of them does not hold: each by itself, then
    best = lay
    for number in range(len(lay.sections)):
        if not should_stop() and number < len(best.sections):
            best = shortest_sound((improve(best, number), best), sails, cloth, table)
    return best


def _offers(lay: Lay, improve: Improve, should_stop: Callable[[], bool]) -> Iterator[Lay]:
    """Each shorter lay that is offered, on top of the one before."""
    for number in range(len(lay.sections)):
        if should_stop() or number >= len(lay.sections):
            return
        offered = improve(lay, number)
        if offered.length_mm < lay.length_mm:
            lay = offered
            yield lay
