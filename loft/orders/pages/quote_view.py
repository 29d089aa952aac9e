"""What the quote page shows of a revision: the frozen batch, regrouped for reading. Nothing is computed anew but counts and verdicts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from costing.quote import CostLine, Design, PricedBatch, PricedSail
from costing.sail import AreaComparison, compared_areas
from loft.catalogue import selectors as catalogue
from loft.common import selectors as common
from loft.common.models import LoftProfile
from loft.documents import how_found, quote_designs, quote_prices, wording
from loft.documents.changes import balance_rows, changes
from loft.jobs.models import Job
from loft.orders import joining, links, paper, supply
from loft.orders.models import Order, Revision
from loft.orders.states import SIGNED, RevisionState


@dataclass(frozen=True, slots=True)
class SailRow:
    """A line of the quote: the sail, the letter of its design, the item that the loft makes, and how its margin stands.

    row: of the list of boats; further: code and name of each pattern that its boat has no sail by, at the boat's last line.
    """

    position: int
    sail: PricedSail
    letter: str
    verdict: str
    row: str
    further: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class DesignRow:
    """A design with its letter, the lines that use it, and its pattern's name where the batch has several."""

    letter: str
    lines: str
    count: int
    design: Design
    pattern: str
    condition: str  # in which the class measures the sail

    @property
    def remarks(self) -> tuple[str, ...]:
        """Sizes without a limit, where they come from, and how the class measures."""
        how = (f"How the class measures it: {self.condition}.",) if self.condition else ()
        design = self.design
        said = (*quote_designs.without_limit(design), quote_designs.COMPUTED, *quote_designs.decided_otherwise(design))
        return (*said, *how, *quote_designs.conditions(design))

    @property
    def how_found(self) -> tuple[str, ...]:
        """How its computed and assumed sizes and its areas are found."""
        return tuple(how_found.sentences([self.design]))

    @property
    def areas(self) -> AreaComparison:
        """The two areas, which is larger and why."""
        design = self.design
        return compared_areas(design.shape.kind, design.area_m2, design.formula_area_m2)


@dataclass(frozen=True, slots=True)
class CostGroup:
    """Cost lines that are the same to the last figure, and the sails that have them."""

    lines: str
    sails: tuple[PricedSail, ...]
    cost_lines: tuple[CostLine, ...]
    total: Decimal


def revision_context(revision: Revision, profile: LoftProfile, *, now: datetime) -> dict[str, Any]:
    """Everything that the template of a quote needs about one revision."""
    figures = paper.offer(revision)
    batch = figures.batch
    letters = quote_designs.design_letters(paper.cost_sheet(figures, profile, reference=""))
    return {
        "revision": revision,
        "batch": batch,
        "sails": sail_rows(batch, letters, catalogue.pattern_names(class_code=batch.class_code)),
        "passed_on": quote_prices.passed_on(batch.sails),
        "designs": [_design_row(batch, letter, figures.designs[key]) for key, letter in letters.items()],
        "how_found_title": how_found.TITLE,
        "cost_groups": _cost_groups(batch),
        "edition_notes": _edition_notes(batch),
        "verdict": verdict(batch, batch.margin),
        "joining": wording.joining(batch),
        "number_told": joining.told(revision, batch),
        "may_drop_out": _may_drop_out(revision, batch),
        "discontinued": _discontinued(revision, profile, now),
        "pass_through": sum((s.pass_through for s in batch.sails), Decimal(0)),
        "letter": Job.objects.filter(key=f"{'change' if revision.change else 'quote'}_issued:{revision.pk}").first(),
        "link": _link(revision, profile, now),
        "given": [(line, sail.label, sail.path, sail.given) for line, sail in enumerate(batch.sails, start=1) if sail.given],
        **_ordered(revision, batch),
        "expired": revision.state == RevisionState.ISSUED and revision.expires_at is not None and revision.expires_at < now,
    }


def _ordered(revision: Revision, batch: PricedBatch) -> dict[str, Any]:
    """The order of a revision that was signed; of a change which order it changes, and what it changes."""
    order = Order.objects.filter(revision__quote=revision.quote_id).first()
    money, before = paper.balance(revision, until=revision.accepted_at), paper.previous_offer(revision) if revision.change else None
    if money is None or before is None:
        return {"order": order if revision.state in SIGNED else None, "changes": None}
    return {
        "order": order if revision.state in SIGNED else None, "changes": order, "differences": changes(before[1], batch),
        "balance": balance_rows(money, batch.currency), "money": money,
    }  # fmt: skip


def _may_drop_out(revision: Revision, batch: PricedBatch) -> list[tuple[int, PricedSail, int]]:
    """The first line, first sail and number of sails of each boat, where the terms count sails and the quote is not answered."""
    open_still = (RevisionState.DRAFT, RevisionState.ISSUED, RevisionState.EXPIRED)
    if revision.change or revision.state not in open_still or not (batch.minimum_sails > 1 or batch.tier_from or batch.steps):
        return []
    return [(*boat[0], len(boat)) for boat in batch.boats()]


def _discontinued(revision: Revision, profile: LoftProfile, now: datetime) -> tuple[str, ...]:
    """What a draft wants and nobody sells today; an issued quote is past that."""
    return supply.discontinued(revision, on=common.local_time(now, profile).date()) if revision.state == RevisionState.DRAFT else ()


def sail_rows(batch: PricedBatch, letters: dict[str, str], patterns: Mapping[str, str]) -> list[SailRow]:
    """The sails in the order of the quote; patterns: names of those of the class, by code."""
    rows = []
    for boat in batch.boats():
        has = {batch.pattern_of(sail).code for _, sail in boat}
        further = tuple((code, name) for code, name in patterns.items() if code not in has)
        for position, sail in boat:
            last = (position, sail) == boat[-1]
            row = sail.path.removeprefix("row ")
            rows.append(SailRow(position, sail, letters[sail.design_key], verdict(batch, sail.margin), row, further if last else ()))
    return rows


def verdict(batch: PricedBatch, margin: Decimal | None) -> str:
    """How a margin stands: "given", "floor" (below it), "warning", "below" (the target) or "target"."""
    if margin is None:
        return "given"
    if margin < batch.margin_floor:
        return "floor"
    if margin < batch.margin_warning:
        return "warning"
    return "target" if margin >= batch.margin_target else "below"


def _design_row(batch: PricedBatch, letter: str, design: Design) -> DesignRow:
    users = [i for i, sail in enumerate(batch.sails, start=1) if sail.design_key == design.key]
    pattern = batch.pattern_of(batch.sails[users[0] - 1])
    name = pattern.name if batch.is_mixed else ""
    return DesignRow(letter, quote_designs.line_numbers(users), len(users), design, name, pattern.condition)


def _edition_notes(batch: PricedBatch) -> list[tuple[str, str]]:
    """What the edition of the day of certification says, with the lines that it says it of."""
    said: dict[str, list[int]] = {}
    for position, sail in enumerate(batch.sails, start=1):
        for note in sail.edition_notes:
            said.setdefault(note, []).append(position)
    return [(note, quote_designs.lines_named(lines)) for note, lines in said.items()]


def _cost_groups(batch: PricedBatch) -> list[CostGroup]:
    groups: dict[tuple[CostLine, ...], list[tuple[int, PricedSail]]] = {}
    for position, sail in enumerate(batch.sails, start=1):
        groups.setdefault(sail.cost_lines, []).append((position, sail))
    return [_cost_group(lines, users) for lines, users in groups.items()]


def _cost_group(lines: tuple[CostLine, ...], users: Sequence[tuple[int, PricedSail]]) -> CostGroup:
    total = sum((line.amount for line in lines), Decimal(0))
    return CostGroup(quote_designs.line_numbers([p for p, _ in users]), tuple(s for _, s in users), lines, total)


def _link(revision: Revision, profile: LoftProfile, now: datetime) -> str:
    """The customer's address while it is of use; it can be worked out again and is never stored."""
    open_still = revision.state == RevisionState.ISSUED and revision.expires_at is not None and now <= revision.expires_at
    if not open_still:
        return ""
    token = links.token(quote=revision.quote_id, revision=revision.revision, nonce=revision.link.nonce)
    return links.address(base_url=profile.public_base_url, token=token)
