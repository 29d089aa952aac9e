"""Sails that are sold as NON-CLASS: what of them lies outside the class's limits, and what they go without because of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from costing.quote import on_the_rig
from costing.quote.priced import Design, PricedSail
from costing.quote.request import House, PassThrough, SailRequest
from costing.rules.compare import Breach, breach_of
from costing.takeoff import KitItem, TakeOff

LABEL = "royalty_label"
_AS_A_CLASS_SAIL = "Marked NON-CLASS, and nothing of it is outside the class's limits: it is made, priced and sold as a class sail"


def breaches(request: SailRequest, design: Design, house: House) -> tuple[Breach, ...]:
    """What a sail that is marked NON-CLASS has outside its limits; empty for any other, of which a breach was refused."""
    if not request.non_class:
        return ()
    return (*of_design(design), *on_the_rig.breaches(request, design, house.making(request.pattern)))


def of_design(design: Design) -> tuple[Breach, ...]:
    """What a design by itself has outside its limits, which only one that was made for a NON-CLASS sail has."""
    return tuple(breach_of(room) for room in design.headroom if room.room < 0)


def of_the_class(passed: PassThrough) -> bool:
    """Whether something charged on at cost is for the class's certification: its label, its measuring fee."""
    return bool(passed.class_code or passed.rule)


def label_materials(kit: Sequence[KitItem]) -> frozenset[str]:
    """What a kit takes for the class's label alone."""
    return frozenset(item.material for item in kit if LABEL in (item.counts_as, item.per))


def without_label(taken: TakeOff, kit: Sequence[KitItem]) -> TakeOff:
    """The take-off of a sail that carries no class label."""
    left_out = label_materials(kit)
    return TakeOff(
        tuple(d for d in taken.drivers if d.code != LABEL), tuple(m for m in taken.materials if m.material not in left_out)
    )  # fmt: skip


def said(sails: Sequence[PricedSail], requests: Sequence[SailRequest]) -> tuple[PricedSail, ...]:
    """The sails with a note on each that is marked and is a class sail all the same."""
    marked = zip(sails, requests, strict=True)
    return tuple(
        replace(one, assumed=(*one.assumed, _AS_A_CLASS_SAIL)) if asked.non_class and not one.breaches else one for one, asked in marked
    )  # fmt: skip


def warnings(sails: Sequence[PricedSail]) -> Iterator[str]:
    """A sentence for each sail that is NON-CLASS, or is marked so for nothing."""
    for sail in sails:
        if sail.breaches:
            told = "; ".join(sail.not_legal)
            yield f"{sail.path}, {sail.label}: NON-CLASS, not class legal: {told}; the owner agrees in writing before it is issued"
        elif _AS_A_CLASS_SAIL in sail.assumed:
            yield f"{sail.path}, {sail.label}: {_AS_A_CLASS_SAIL[0].lower()}{_AS_A_CLASS_SAIL[1:]}"
