"""What an edition of a class does to what is offered, in work or waiting to be delivered: which sails would breach it, by which rule.

The edition need not be stored: `load_class --dry-run` asks the same of a file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q

from costing.quote import Design, editions
from costing.quote.editions import EditionCheck
from costing.rules import ClassRule
from loft.common import selectors as common
from loft.orders import paper
from loft.orders.models import OrderLine, Revision
from loft.orders.states import OrderState, RevisionState
from loft.workshop import rule_check
from loft.workshop import selectors as workshop
from loft.workshop.states import TicketState

OPEN_QUOTE, UNFINISHED, IN_STOCK = "open quote", "unfinished ticket", "sail in stock"


@dataclass(frozen=True, slots=True)
class Affected:
    """One sail that an edition does not allow as it is designed; pk: of the quote or of the ticket.

    bound: it is expected to be certified once the edition is in force; otherwise the edition matters only if that comes later.
    """

    what: str
    pk: int
    reference: str
    sail: str
    edition: str
    expected_on: date
    bound: bool
    breaches: tuple[str, ...]
    left_open: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """Every sail looked at, and those that would breach."""

    class_name: str
    edition: str
    valid_from: date
    looked_at: int
    rows: tuple[Affected, ...]
    under_it: tuple[str, ...] = ()  # of a corrected edition: quotes and tickets that were designed under it, by whichever of its texts

    def lines(self) -> Iterator[str]:
        """The report as sentences, for a terminal."""
        yield f"{self.looked_at} sails of open quotes, unfinished tickets and stock looked at, {len(self.rows)} would breach"
        if self.under_it:
            designed = f"designed under edition {self.edition}: {', '.join(self.under_it)}"
            yield f"{designed}; they keep their sizes and papers until they are revised"
        for row in self.rows:
            when = "" if row.bound else f" (expected to be certified on {row.expected_on:%Y-%m-%d}, before it is in force)"
            yield f"{row.what} {row.reference}, {row.sail}, designed under {row.edition}{when}: {'; '.join(row.breaches)}"


@dataclass(frozen=True, slots=True)
class _Sail:
    what: str
    pk: int
    reference: str
    label: str
    edition: str
    expected_on: date | None
    design_key: str


def would_breach(rule: ClassRule, *, now: datetime) -> Report:
    """Open quotes, unfinished tickets and sails in stock of a class against one of its editions; those with a breach, worst news first."""
    sails = [*_offered(rule, now), *_in_the_house(rule)]
    if not sails:  # a class is loaded before the loft has a profile, and with it a time zone
        return Report(rule.name, rule.edition, rule.valid_from, 0, ())
    today = common.local_time(now, common.loft_profile()).date()
    designs = workshop.designs_by_key({s.design_key for s in sails})
    found: dict[tuple[str, date], EditionCheck] = {}
    rows = []
    for one in sails:
        expected = max(one.expected_on or today, today)
        day = max(expected, rule.valid_from)
        if (one.design_key, day) not in found:
            found[one.design_key, day] = _checked(designs[one.design_key], rule, day)
        check = found[one.design_key, day]
        if check.breaches:
            bound = expected >= rule.valid_from and (rule.valid_to is None or expected <= rule.valid_to)
            rows.append(
                Affected(
                    one.what, one.pk, one.reference, one.label, one.edition, expected, bound, check.breaches, check.left_open
                )
            )  # fmt: skip
    under_it = tuple(dict.fromkeys(f"{s.what} {s.reference}" for s in sails if s.edition == rule.edition)) if rule.correction else ()
    return Report(rule.name, rule.edition, rule.valid_from, len(sails), tuple(sorted(rows, key=lambda r: not r.bound)), under_it)


def _checked(design: Design, rule: ClassRule, day: date) -> EditionCheck:
    return editions.against(design, rule_check.pattern_of(design), rule, on=day)


def _offered(rule: ClassRule, now: datetime) -> Iterator[_Sail]:
    """Sails that a customer may still accept, and those of drafts."""
    rows = Revision.objects.filter(Q(state=RevisionState.DRAFT) | Q(state=RevisionState.ISSUED, expires_at__gte=now))
    for revision in rows.exclude(snapshot=b"").select_related("quote").defer("pdf").order_by("quote", "revision"):
        batch = paper.thaw(revision)
        if batch.class_code != rule.code:
            continue
        for sail in (s for s in batch.sails if not s.breaches):  # a NON-CLASS sail is certified under no edition
            reference = revision.quote.reference or f"draft {revision.quote_id}"
            yield _Sail(OPEN_QUOTE, revision.quote_id, reference, sail.label, batch.edition, sail.certified_on, sail.design_key)


def _in_the_house(rule: ClassRule) -> Iterator[_Sail]:
    """Sails on the floor, and finished ones that have not left."""
    rows = OrderLine.objects.filter(ticket__class_code=rule.code, delivered_at=None, order__state=OrderState.OPEN)
    rows = rows.exclude(ticket__state=TicketState.SCRAPPED).select_related("ticket__design").defer("ticket__design__data")
    for line in rows.order_by("ticket__number"):
        ticket = line.ticket
        if ticket.not_legal:
            continue
        what = IN_STOCK if ticket.state == TicketState.READY else UNFINISHED
        expected = ticket.due_on or rule_check.expected_on(ticket)
        yield _Sail(what, ticket.pk, ticket.number, ticket.sail_label, ticket.edition, expected, ticket.design.key)
