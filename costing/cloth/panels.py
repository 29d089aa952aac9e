"""The body panels of a sail in the cut that its pattern names, and the sizes to cut to; costing.cloth.cuts has the cuts."""

from __future__ import annotations

from dataclasses import replace

from costing import sail
from costing.cloth import cross_cut, mitre, sewn, vertical
from costing.cloth.cuts import check_kind, cut_of, unsuitable
from costing.cloth.make import Make, Seam, TakeUp
from costing.cloth.part import Cloth, Panel
from costing.errors import Collector
from costing.measurements import SailKind
from costing.sail.shape import Outline, SailShape

#: What the seams draw in makes the cut sail larger, and that may move a seam or take another: it settles at the second or third look.
_LOOKS = 5
#: The cuts whose panels lie in banks of parallel seams.
_BANKS = {"cross-cut": cross_cut.banks, "mitre": mitre.banks, "vertical": vertical.banks}


def cut_shape(finished: SailShape, make: Make) -> SailShape:
    """The sizes to cut to: finished sizes plus take-up across the seams and along the tablings; mm."""
    return cut_of(make).cut_shape(finished, make)


def sewn_sizes(finished: SailShape, make: Make) -> dict[str, float]:
    """The sizes that follow from others and that shaping changes, as a tape reads them on the sewn sail: perpendiculars of headsails, storm
    jibs and trysails; mm. Empty where nothing is shaped."""
    banks_of = _BANKS.get(make.cut)
    if finished.kind is SailKind.MAINSAIL or banks_of is None:
        return {}
    bare = replace(make, take_up=TakeUp(0.0, 0.0, 0.0, 0.0))
    return sewn.perpendiculars(sail.outline(cut_shape(finished, bare)), bare, banks_of)


def panels(cut: Outline, make: Make, cloth: Cloth) -> tuple[Panel, ...]:
    """The body panels of the cut outline, in the order in which their marks count.

    Face up on the table is the PORT side of the sail (see costing.cloth.frame).
    Raises InputError when the cut is unknown or not of this kind of sail, the cloth's orientation does not suit it, a panel would be wider
    than the usable width (which, by how much), a seam lies outside the sail, or a window, pocket or ring lies too near to a seam.
    """
    found = Collector()
    check_kind(cut.kind, make, found)
    if told := unsuitable(cloth, make):
        found.add("cloth.orientation", "orientation", told)
    found.raise_if_any()
    return _coloured(cut_of(make).panels(cut, make, cloth), make)


def _coloured(made: tuple[Panel, ...], make: Make) -> tuple[Panel, ...]:
    """The panels with their colour slots; InputError for every mark that no panel has, or that two slots claim."""
    found, slots = Collector(), dict[str, str]()
    marks = [panel.mark for panel in made]
    for i, slot in enumerate(make.colours):
        for mark in slot.panels:
            path = f"make.colours[{i}].panels"
            if mark not in marks:
                found.add(path, "unknown_panel", f"{slot.name}: the sail has no panel {mark}; it has {', '.join(marks)}")
            elif mark in slots:
                found.add(path, "panel_twice", f"panel {mark} is in {slots[mark]} and in {slot.name}; it has one colour")
            slots.setdefault(mark, slot.name)
    found.raise_if_any()
    return tuple(replace(panel, colour=slots[panel.mark]) if panel.mark in slots else panel for panel in made)


def propose_seams(cut: Outline, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> tuple[float, ...]:
    """Seam heights that use the full usable width of the roll, for a pattern to keep; mm from the clew."""
    return cut_of(make).propose_seams(cut, make, cloth, spare_mm)


def propose_foot_seams(cut: Outline, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> tuple[float, ...]:
    """The same for the seams square to the foot of a mitre cut, mm from the clew along the foot; none in another cut."""
    return mitre.propose_foot_seams(cut, make, cloth, spare_mm) if cut_of(make) is mitre else ()


def with_proposed_seams(finished: SailShape, make: Make, cloth: Cloth, spare_mm: float = 0.0) -> Make:
    """The same instructions with seams that use the cloth's whole width and keep clear of pockets, windows and rings, options' included.

    Each is shaped as the pattern's own of its place, the last for those beyond. spare_mm: kept free of the roll's width and
    beside each of these, for boats of other sizes. InputError where there is no such sail.
    """
    made = make
    for _ in range(_LOOKS):
        cut = sail.outline(cut_shape(finished, made))
        before, made = made, _placed(made, propose_seams(cut, made, cloth, spare_mm), propose_foot_seams(cut, made, cloth, spare_mm))
        if cut_of(make) is mitre:
            made = mitre.plain_at_mitre(cut, made)
        if made == before:
            break
    return made


def _placed(make: Make, heights: tuple[float, ...], foot_heights: tuple[float, ...]) -> Make:
    def placed(own: tuple[Seam, ...], at: tuple[float, ...]) -> tuple[Seam, ...]:
        like = own or (Seam(0.0),)
        return tuple(replace(like[min(i, len(like) - 1)], height_mm=height) for i, height in enumerate(at))

    return replace(make, seams=placed(make.seams, heights), foot_seams=placed(make.foot_seams, foot_heights))
