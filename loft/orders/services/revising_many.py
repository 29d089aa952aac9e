"""Drafting revisions of many quotes at once, after a dearer list: all of them or none, and what was issued is not touched."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction

from costing.errors import Collector, problem
from loft.common import audit, idempotency, policies
from loft.common.errors import Conflict, NotFound
from loft.orders import joining, pricing
from loft.orders.models import Revision
from loft.orders.services import drafting
from loft.orders.states import RevisionState
from loft.workshop.models import Design

#: Each quote is priced anew, so that a hundred of them would keep a page waiting.
MOST_AT_ONCE = 50


@dataclass(frozen=True, slots=True)
class _Prepared:
    """A revision that is priced and not written."""

    last: Revision
    row: Revision
    designs: list[Design]
    priced: pricing.Priced


def revise_many(
    *, chosen: Mapping[int, int], on: date, now: datetime, by: User | None, made_at: str = ""
) -> tuple[Revision, ...]:  # fmt: skip
    """A draft at the lists of the day for each chosen quote; all are written in one transaction.

    chosen: quote -> the number of its last revision as it was looked at. InputError carries every problem of every quote, under its
    reference; Conflict names the quotes that somebody revised or answered meanwhile. Nothing is written in either case.
    """
    policies.require(by, "draft_quote")
    if len(chosen) > MOST_AT_ONCE:
        raise problem("quote", "too_many", f"{len(chosen)} quotes are chosen; at most {MOST_AT_ONCE} are revised at once")
    prepared = _prepared(_last(chosen), on=on, now=now)
    try:
        with transaction.atomic(), audit.together():
            for one in prepared:
                _write(one, on=on, now=now, by=by)
            if made_at:
                idempotency.made(made_at)
    except IntegrityError as error:
        raise Conflict("somebody revised one of these quotes at the same moment: look at them again") from error
    return tuple(one.row for one in prepared)


def _last(chosen: Mapping[int, int]) -> Sequence[Revision]:
    """The last revision of each quote, all of them as they were looked at and open to a revision."""
    rows = Revision.objects.filter(quote__in=chosen).select_related("quote__customer", "quote__joins__revision").defer("pdf", "snapshot")
    last = {row.quote_id: row for row in rows.order_by("quote_id", "revision")}
    if unknown := sorted(chosen.keys() - last.keys()):
        raise NotFound(f"There is no quote {', '.join(map(str, unknown))}.")
    open_still = (RevisionState.DRAFT, RevisionState.ISSUED, RevisionState.EXPIRED)
    moved = [str(row.quote) for row in last.values() if row.revision != chosen[row.quote_id] or row.state not in open_still or row.change]
    if moved:
        raise Conflict(f"{', '.join(moved)} changed meanwhile: look at them again")
    return list(last.values())


def _prepared(rows: Sequence[Revision], *, on: date, now: datetime) -> list[_Prepared]:
    wrong, found = Collector(), []
    for last in rows:
        with wrong.under(str(last.quote)):
            found.append(_one(last, on=on, now=now))
    wrong.raise_if_any()
    return found


def _one(last: Revision, *, on: date, now: datetime) -> _Prepared:
    customer, boats = last.quote.customer, last.boats.encode()
    priced = pricing.price(
        customer=customer.name, buyer=customer.buyer, pattern=last.pattern_code, boats=boats, terms=last.terms_code, on=on,
        at_list=last.at_list, exempt=customer.tax_exempt, joined=joining.of_quote(last.quote, on=on),
    )  # fmt: skip
    row, designs = drafting.frozen(priced, pattern=last.pattern_code, boats=boats, terms=last.terms_code, now=now)
    row.quote, row.revision = last.quote, last.revision + 1
    return _Prepared(last, row, designs, priced)


def _write(one: _Prepared, *, on: date, now: datetime, by: User | None) -> None:
    before = audit.values(one.last, *drafting.AUDITED)
    drafting.supersede(one.last, now=now)
    drafting.store(one.row, one.designs, one.priced, on=on, by=by, again=True)
    audit.record("revise", one.row.quote, by=by, before=before, after=audit.values(one.row, *drafting.AUDITED))
