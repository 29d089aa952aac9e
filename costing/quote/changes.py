"""Changes to an order: what differs from what was agreed, up to which step of the work it may, and the batch with all else as agreed.

Everything about a sail is settled by one step of its work. Until the sail is released to the floor a change is free (an option may say
"until that step has begun"); then it costs the house's fee for each changed sail; once the step itself has begun it is too late.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from costing.money import to_cents
from costing.quote import pricing
from costing.quote.pattern import Pattern, PatternOption
from costing.quote.priced import Design, PricedBatch, PricedSail, PriceItem, Totals
from costing.quote.request import House
from costing.rules.limits import Choice
from costing.work.standards import LabourStandards

_LAID = frozenset({"lay", "laid_m2"})
_NUMBERED = frozenset({"number", "number_character"})


class Verdict(StrEnum):
    FREE = "free"
    CHARGED = "charged"
    TOO_LATE = "too late"


@dataclass(frozen=True, slots=True)
class Part:
    """Something about a sail that may be changed: the column of a list of boats that names it, and the step that settles it.

    what: in words; free_until: changed without a fee until this operation has begun, empty: until release.
    """

    column: str
    what: str
    step: str
    free_until: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    """A part that is not as it was agreed, before and after in words."""

    part: Part
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one sail is. begun: operations that have begun, with the moment in words; over: why nothing changes any more, or empty."""

    released: bool
    begun: Mapping[str, str]
    over: str = ""


def verdict(part: Part, progress: Progress) -> Verdict:
    """Whether a part may still be changed, and whether that costs the fee."""
    if progress.over or part.step in progress.begun:
        return Verdict.TOO_LATE
    still_free = part.free_until not in progress.begun if part.free_until else not progress.released
    return Verdict.FREE if still_free else Verdict.CHARGED


def too_late(part: Part, progress: Progress, labour: LabourStandards) -> str:
    """A sentence that says so, with which step has begun and since when."""
    return f"{part.what} can no longer be changed: {why_too_late(part, progress, labour)}"


def why_too_late(part: Part, progress: Progress, labour: LabourStandards) -> str:
    """Which step has begun, and since when."""
    labels = {o.operation: o.label for o in labour.operations}
    return progress.over or f"{labels.get(part.step, part.step)} began on {progress.begun[part.step]}"


def parts(pattern: Pattern, labour: LabourStandards) -> tuple[Part, ...]:
    """Everything that may be changed about a sail of a pattern: cloth, colour and sizes, each option, numbers' colour, the note."""
    cut, last = cutting(pattern, labour), _last(pattern)
    return (
        Part("cloth", "the cloth", cut), Part("colour", "the colour", cut), Part("sizes", "a size", cut),
        Part("luff_curve", "the luff curve", cut),
        *(Part(f"options.{o.code}", o.label, _made_in(o, pattern, labour, cut), o.free_until) for o in pattern.options),
        Part("number_colour", "the colour of the numbers", _first(pattern, labour, _NUMBERED) or last), Part("note", "the note", last),
    )  # fmt: skip


def choices(pattern: Pattern, labour: LabourStandards) -> tuple[Part, ...]:
    """Those of `parts` that a customer may choose: what the class requires or forbids is no choice."""
    fixed = {f"options.{o.code}" for o in pattern.options if o.choice is not Choice.OPTIONAL}
    return tuple(part for part in parts(pattern, labour) if part.column not in fixed)


def differences(
    old: tuple[PricedSail, Design], new: tuple[PricedSail, Design], pattern: Pattern, labour: LabourStandards
) -> tuple[Difference, ...]:
    """What is not as it was agreed, sail and design beside sail and design; what follows from it (numbers, prices) is not listed."""
    table = {part.column: part for part in parts(pattern, labour)}
    return tuple(Difference(table[column], was, now) for column, was, now in _values(old, new, pattern) if was != now)


def _values(old: tuple[PricedSail, Design], new: tuple[PricedSail, Design], pattern: Pattern) -> Iterator[tuple[str, str, str]]:
    (was, was_made), (now, now_made) = old, new
    yield "cloth", was.cloth_label, now.cloth_label
    yield "colour", was.colour, now.colour
    yield "number_colour", was.number_colour, now.number_colour
    yield "note", was.note, now.note
    yield "sizes", *_sizes(was_made, now_made)
    yield "luff_curve", _curve(was_made), _curve(now_made)
    for option in pattern.options:
        yield f"options.{option.code}", _chosen(option, was_made), _chosen(option, now_made)


def _sizes(was: Design, now: Design) -> tuple[str, str]:
    """The asked sizes that differ, in words; both empty when none does."""
    before, after = ({t.measurement: t.value for t in made.targets if t.decided_by != "assumed"} for made in (was, now))
    names = [name for name in dict.fromkeys((*before, *after)) if before.get(name) != after.get(name)]
    old, new = ([f"{n.replace('_', ' ')} {side[n]:,f} mm" for n in names if n in side] for side in (before, after))
    return ", ".join(old), ", ".join(new)


def _curve(made: Design) -> str:
    return ", ".join(f"{forward:g} mm at {at:g}" for at, forward in made.shape.luff_curve.stations) or "straight"


def _chosen(option: PatternOption, made: Design) -> str:
    return "yes" if option.code in made.options else "no"


def cutting(pattern: Pattern, labour: LabourStandards) -> str:
    """The operation that cuts the panels: it works by the lay. A pattern without one is settled by its first step."""
    return _first(pattern, labour, _LAID) or next(iter(pattern.steps), "")


def _last(pattern: Pattern) -> str:
    return next(reversed(pattern.steps), "")


def _made_in(option: PatternOption, pattern: Pattern, labour: LabourStandards, cut: str) -> str:
    """The step that makes an option: as the pattern says; what has parts is cut; a kit's pieces are put on by the step that counts them."""
    make = pattern.make
    if option.made_in:
        return option.made_in
    has_parts = {p.option for p in make.patches} | {p.option for p in make.edge_patches} | {p.option for p in make.pockets}
    if option.code in has_parts | {w.option for w in make.windows} | ({make.shelf.option} if make.shelf else set()):
        return cut
    always = {item.per for item in pattern.kit if not item.option}
    own = [item for item in pattern.kit if item.option == option.code]
    counted = {item.counts_as for item in own if item.counts_as} | {item.per for item in own if item.per not in always}
    return _first(pattern, labour, frozenset(counted)) or _last(pattern)


def _first(pattern: Pattern, labour: LabourStandards, drivers: frozenset[str]) -> str:
    """The first step of the pattern whose minutes come from one of these drivers; empty when none does."""
    by = {o.operation: {term.driver for term in o.terms} for o in labour.operations}
    return next((step for step in pattern.steps if drivers & by.get(step, set())), "")


def changed_batch(
    agreed: PricedBatch, priced: PricedBatch, *, changed: Sequence[int], charged: Sequence[int], order: str, house: House
) -> PricedBatch:
    """The agreed batch with some of its sails as they are priced now; every other sail, the terms and the deposit stay to the last figure.

    changed, charged: places of sails from 0; a charged one gets the house's fee. Fees of earlier changes stay.
    """
    sails = tuple(
        _with_fees(priced.sails[i], sail.change_fees, i in charged, house, agreed.buyer) if i in changed else sail
        for i, sail in enumerate(agreed.sails)
    )
    sums = pricing.totals((item for sail in sails for item in sail.items), house)
    deposit = min(agreed.totals.deposit, sums.gross)
    cost, passed = sum((s.cost for s in sails), Decimal(0)), sum((s.pass_through for s in sails), Decimal(0))
    margin = pricing.margin(sums.net, passed, cost)
    told = pricing.margin_warnings({f"{s.path}, {s.label}": s.margin for s in sails} | {"the whole batch": margin}, house)
    return replace(
        agreed, sails=sails, totals=Totals(sums.net, sums.taxes, sums.tax, sums.gross, deposit), cost=cost, margin=margin,
        warnings=tuple(told), change_of=order,
    )  # fmt: skip


def _with_fees(sail: PricedSail, earlier: tuple[PriceItem, ...], fee: bool, house: House, buyer: str) -> PricedSail:
    fees = (*earlier, *([_fee(house, buyer)] if fee and house.change_fee else []))
    net = sail.net + sum((f.net for f in fees), Decimal(0))
    return replace(sail, items=(*sail.items, *fees), net=net, margin=pricing.margin(net, sail.pass_through, sail.cost), change_fees=fees)


def _fee(house: House, buyer: str) -> PriceItem:
    net = to_cents(house.change_fee, house.currency)
    tax = pricing.tax_rate(house, house.sail_tax).fraction if buyer == pricing.PRIVATE else Decimal(0)
    shown = to_cents(net * (1 + tax), house.currency)
    return PriceItem("Change after the work was released", 1, net, shown, Decimal(0), net, house.sail_tax, pass_through=False)
