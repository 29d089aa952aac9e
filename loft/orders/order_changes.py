"""What a change would do to each sail of an order, read against how far its work is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from costing.errors import Collector
from costing.quote import House, Pattern, PricedBatch, PricedSail, changes
from costing.quote.changes import Difference, Part, Progress, Verdict
from costing.work import LabourStandards
from loft.catalogue import selectors as catalogue
from loft.common import selectors as common
from loft.customers import list_changes
from loft.orders import paper
from loft.orders.models import Order, OrderLine
from loft.workshop import renewal
from loft.workshop.states import TicketState

#: What a sail's ticket must ask for again when one of these differs.
_CLOTH, _MEASURES = frozenset({"cloth", "colour"}), frozenset({"sizes", "luff_curve"})


@dataclass(frozen=True, slots=True)
class Changed:
    """One sail that a change touches."""

    label: str
    differences: tuple[Difference, ...]
    labour: LabourStandards

    @property
    def cloth(self) -> bool:
        return any(d.part.column in _CLOTH for d in self.differences)

    @property
    def measures(self) -> bool:
        return any(d.part.column in _MEASURES for d in self.differences)


@dataclass(frozen=True, slots=True)
class Told:
    """A difference, whether it may still be made, and why not where it may not."""

    difference: Difference
    verdict: Verdict
    why: str = ""


@dataclass(frozen=True, slots=True)
class ChangedLine:
    """One line of a change: what differs, its net as it is agreed and with the change; fee: what of that is charged for this change.

    A line that is too late stays as it is agreed.
    """

    position: int
    label: str
    told: tuple[Told, ...]
    net_before: Decimal
    net_after: Decimal
    fee: Decimal

    @property
    def verdict(self) -> Verdict:
        """That of the line as a whole: the gravest of its differences."""
        verdicts = {one.verdict for one in self.told}
        return next(v for v in (Verdict.TOO_LATE, Verdict.CHARGED, Verdict.FREE) if v in verdicts)


@dataclass(frozen=True, slots=True)
class MayChange:
    """Sails of an order of which the same may still be changed: what is free, what costs the fee, and what is too late, by its reason."""

    lines: tuple[OrderLine, ...]
    free: tuple[str, ...]
    charged: tuple[str, ...]
    late: tuple[tuple[str, tuple[str, ...]], ...]


def changed(agreed: paper.Offer, wanted: paper.Offer) -> dict[int, Changed]:
    """The sails that differ, by their place from 0."""
    labour, found = _labour(agreed.batch), {}
    for i, pattern in enumerate(patterns(agreed.batch)):
        old, new = agreed.batch.sails[i], wanted.batch.sails[i]
        differing = changes.differences((old, agreed.designs[old.design_key]), (new, wanted.designs[new.design_key]), pattern, labour)
        if differing:
            found[i] = Changed(old.label, differing, labour)
    return found


def patterns(batch: PricedBatch) -> tuple[Pattern, ...]:
    """The pattern of each sail of a batch, in the version that it was priced by."""
    versions = {(made.code, made.version): catalogue.pattern(made.code, made.version) for made in batch.made_by}
    by = (batch.pattern_of(sail) for sail in batch.sails)
    return tuple(versions[made.code, made.version] for made in by)


def progress(order: Order) -> tuple[Progress, ...]:
    """How far each sail of an order is, in the order of the lines."""
    lines, profile = _lines(order), common.loft_profile()
    batch = paper.thaw(order.revision)
    labour, tickets = _labour(batch), [line.ticket for line in lines]
    begun, cut = renewal.begun(tickets), renewal.cut(tickets)
    found = []
    for line, pattern in zip(lines, patterns(batch), strict=True):
        since = dict(begun[line.ticket_id])
        if line.ticket_id in cut:  # on a lay with other sails, which is cut before the ticket's own step says so
            since.setdefault(changes.cutting(pattern, labour), cut[line.ticket_id])
        words = {code: f"{common.local_time(at, profile):{profile.date_format}, %H:%M}" for code, at in since.items()}
        over = "it has left the loft" if line.delivered_at else renewal.over(line.ticket)
        found.append(Progress(released=line.ticket.state != TicketState.HELD, begun=words, over=over))
    return tuple(found)


def too_late(order: Order, found: Mapping[int, Changed]) -> list[str]:
    """A sentence for each difference that can no longer be made, with its sail."""
    return [f"{found[i].label}: {why}" for i, _, why in late(order, found)]


def told(order: Order, found: Mapping[int, Changed]) -> dict[int, tuple[Told, ...]]:
    """Each difference with what may become of it, by the place of its sail."""
    far = progress(order)
    return {i: tuple(_told(d, far[i], change.labour) for d in change.differences) for i, change in found.items()}


def lines(order: Order, found: Mapping[int, Changed], agreed: PricedBatch, wanted: PricedBatch) -> tuple[ChangedLine, ...]:
    """The lines that a change touches, with their figures; wanted: the batch of the change, in which what is too late is as agreed."""
    return tuple(
        ChangedLine(i + 1, found[i].label, several, agreed.sails[i].net, wanted.sails[i].net, _new_fees(agreed.sails[i], wanted.sails[i]))
        for i, several in told(order, found).items()
    )


def audited(found: Mapping[int, Changed]) -> tuple[dict[str, str], dict[str, str], list[str]]:
    """What the audit keeps of a change: each difference by line and column, before and after; and which of these somebody wrote freely."""
    named = {f"line {i + 1} {d.part.column}": d for i, change in found.items() for d in change.differences}
    personal = [name for name, d in named.items() if d.part.column == "note"]
    return {name: d.before for name, d in named.items()}, {name: d.after for name, d in named.items()}, personal


def refuse_too_late(order: Order, found: Mapping[int, Changed], batch: PricedBatch, wrong: Collector) -> None:
    """Add the same to `wrong`, each at its row and column."""
    for i, difference, why in late(order, found):
        wrong.add(f"{batch.sails[i].path}.{difference.part.column.partition('.')[0]}", "too_late", why)


def charged(order: Order, found: Mapping[int, Changed]) -> tuple[int, ...]:
    """The places of the sails whose change is no longer free."""
    return tuple(i for i, several in told(order, found).items() if any(one.verdict is Verdict.CHARGED for one in several))


def may_change(order: Order) -> tuple[MayChange, ...]:
    """What may still be changed of each sail, and at what; sails of which the same may be are told together."""
    batch, far = paper.thaw(order.revision), progress(order)
    labour = _labour(batch)
    groups: dict[tuple[Any, ...], list[OrderLine]] = {}
    for line, pattern, one in zip(_lines(order), patterns(batch), far, strict=True):
        groups.setdefault(_by_verdict(changes.choices(pattern, labour), one, labour), []).append(line)
    return tuple(MayChange(tuple(lines), *sorted_out) for sorted_out, lines in groups.items())


def fee(order: Order) -> Decimal:
    """What a change costs that is no longer free, for each sail."""
    return _house(paper.thaw(order.revision)).change_fee


def current_list(order: Order) -> bytes:
    """The list of boats that the order rests on, with the sail numbers that came since: what a change starts from."""
    return list_changes.with_numbers(order.revision.boats.encode(), [line.ticket.sail_number for line in _lines(order)])


def check_same_sails(order: Order, agreed: PricedBatch, wanted: PricedBatch, wrong: Collector) -> None:
    """Add what would make the list another order: sails that come or go, other boats or owners, a sail number."""
    lines = _lines(order)
    if len(wanted.sails) != len(lines):
        told = f"{order} has {len(lines)} sails and the list {len(wanted.sails)}: a boat that joins gets a quote of its own"
        wrong.add("boats", "other_sails", told)
        return
    for line, was, now in zip(lines, agreed.sails, wanted.sails, strict=True):
        pairs = {"boat": (was.boat, now.boat), "owner": (was.owner, now.owner), "pattern": (was.pattern_code, now.pattern_code)}
        for name in (name for name, (old, new) in pairs.items() if old != new):
            told = f"a change keeps the sails of an order: this one is {was.label} of {was.owner}"
            wrong.add(f"{now.path}.{name}", "other_sail", told)
        number = line.ticket.sail_number
        if now.sail_number != number:
            has = f"has the number {number}" if number else "has no number yet"
            told = f"{was.label} {has}: a number is given on the sail's ticket, not by a change"
            wrong.add(f"{now.path}.sail_number", "other_number", told)


def _told(difference: Difference, far: Progress, labour: LabourStandards) -> Told:
    verdict = changes.verdict(difference.part, far)
    return Told(difference, verdict, changes.too_late(difference.part, far, labour) if verdict is Verdict.TOO_LATE else "")


def late(order: Order, found: Mapping[int, Changed]) -> Iterator[tuple[int, Difference, str]]:
    """Each difference that can no longer be made: the place of its sail, and why not."""
    for i, several in told(order, found).items():
        yield from ((i, one.difference, one.why) for one in several if one.verdict is Verdict.TOO_LATE)


def _new_fees(was: PricedSail, now: PricedSail) -> Decimal:
    """What this change is charged on a sail; fees of earlier changes stand first and stay."""
    return sum((fee.net for fee in now.change_fees[len(was.change_fees) :]), Decimal(0))


def _by_verdict(parts: tuple[Part, ...], far: Progress, labour: LabourStandards) -> tuple[Any, ...]:
    free, charged = (tuple(p.what for p in parts if changes.verdict(p, far) is wanted) for wanted in (Verdict.FREE, Verdict.CHARGED))
    late: dict[str, list[str]] = {}
    for part in (p for p in parts if changes.verdict(p, far) is Verdict.TOO_LATE):
        late.setdefault(changes.why_too_late(part, far, labour), []).append(part.what)
    return free, charged, tuple((why, tuple(names)) for why, names in late.items())


def _labour(batch: PricedBatch) -> LabourStandards:
    """The labour standards of the day that the batch is priced for."""
    return _house(batch).labour


def _house(batch: PricedBatch) -> House:
    return catalogue.house(pattern=batch.pattern_code, on=batch.priced_on, terms=batch.terms_code, version=batch.pattern_version)


def _lines(order: Order) -> list[OrderLine]:
    return list(OrderLine.objects.filter(order=order).select_related("ticket").defer("ticket__sail").order_by("position"))
