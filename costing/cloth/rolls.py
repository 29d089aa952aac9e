"""Which section of a lay is cut from which roll: flaws kept clear, remnants first, and no sail from two lots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from costing.cloth.lay import Lay
from costing.errors import problem


@dataclass(frozen=True, slots=True)
class Roll:
    """Cloth in hand: its lot, its length, and flaws as stretches from its start, mm ("7.4 to 7.6 m" is 7400, 7600)."""

    name: str
    lot: str
    length_mm: float
    flaws: tuple[tuple[float, float], ...] = ()
    remnant: bool = False


@dataclass(frozen=True, slots=True)
class Cut:
    """A section's place: it starts so far from the roll's start, mm."""

    section: int
    roll: str
    start_mm: float


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Cloth without flaw that is still free."""

    roll: Roll
    start: float
    end: float

    @property
    def length(self) -> float:
        return self.end - self.start


def on_rolls(lay: Lay, rolls: Sequence[Roll], *, named: Sequence[int] = ()) -> tuple[Cut, ...]:
    """A place on a roll for every section, in the sections' order; sections that share a sail come from one lot.

    A section goes on a remnant where one is long enough, else on the shortest stretch that is. Raises InputError for sections that fit on
    no lot, with what they need. named: what people call the sections, in their order; without, they are counted from 1.
    """
    free = [stretch for roll in rolls for stretch in _without_flaws(roll)]
    cuts: list[Cut] = []
    for sections in sorted(_sharing_sails(lay), key=lambda group: -_needed(lay, group)):
        placed = _on_one_lot(lay, sections, free)
        if placed is None:
            names = ", ".join(str(named[number] if named else number + 1) for number in sections)
            most = max((stretch.length for stretch in free), default=0.0)
            told = f"{f'section {names} needs' if len(sections) == 1 else f'sections {names} need'} {_needed(lay, sections):,.0f} mm"
            right = "book a longer roll, or plan again in sections that these rolls have room for"
            raise problem("rolls", "no_roll", f"{told} of one lot; the longest stretch free of flaws is {most:,.0f} mm: {right}")
        made, free = placed
        cuts += made
    return tuple(sorted(cuts, key=lambda cut: cut.section))


def free_stretches(roll: Roll) -> tuple[float, ...]:
    """How long the stretches without flaw are, mm, from the roll's start on."""
    return tuple(stretch.length for stretch in _without_flaws(roll))


def _needed(lay: Lay, sections: Sequence[int]) -> float:
    return sum(lay.sections[number].length_mm for number in sections)


def _without_flaws(roll: Roll) -> Iterator[_Stretch]:
    start = 0.0
    for low, high in (*sorted(roll.flaws), (roll.length_mm, roll.length_mm)):
        if min(low, roll.length_mm) > start:
            yield _Stretch(roll, start, min(low, roll.length_mm))
        start = max(start, high)


def _sharing_sails(lay: Lay) -> list[list[int]]:
    """Sections in groups of which no two have a sail in common."""
    groups: list[tuple[set[int], set[str]]] = [({section.number}, set()) for section in lay.sections]
    for placed in lay.placements:
        groups[placed.section][1].add(placed.sail)
    apart: list[tuple[set[int], set[str]]] = []
    for sections, sails in groups:
        for other in [group for group in apart if group[1] & sails]:
            apart.remove(other)
            sections, sails = sections | other[0], sails | other[1]
        apart.append((sections, sails))
    return [sorted(sections) for sections, _ in apart]


def _on_one_lot(lay: Lay, sections: Sequence[int], free: Sequence[_Stretch]) -> tuple[list[Cut], list[_Stretch]] | None:
    """The sections on the lot that leaves least over, longest first; None where no lot has room for them all."""
    lots: dict[str, float] = {}
    for stretch in free:
        lots[stretch.roll.lot] = lots.get(stretch.roll.lot, 0.0) + stretch.length
    for lot in sorted(lots, key=lambda lot: (not _has_remnant(lot, free), lots[lot])):
        rest, cuts = list(free), list[Cut]()
        for number in sorted(sections, key=lambda number: -lay.sections[number].length_mm):
            length = lay.sections[number].length_mm
            room = [stretch for stretch in rest if stretch.roll.lot == lot and stretch.length >= length]
            if not room:
                break
            chosen = min(room, key=lambda stretch: (not stretch.roll.remnant, stretch.length))
            cuts.append(Cut(number, chosen.roll.name, chosen.start))
            rest[rest.index(chosen)] = _Stretch(chosen.roll, chosen.start + length, chosen.end)
        if len(cuts) == len(sections):
            return cuts, rest
    return None


def _has_remnant(lot: str, free: Sequence[_Stretch]) -> bool:
    return any(stretch.roll.remnant and stretch.roll.lot == lot for stretch in free)
