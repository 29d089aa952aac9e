"""Trying things out on a revision, and keeping what came of it beside the draft."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from costing.quote import BatchRequest
from costing.quote.what_if import Figures, WhatIf, what_if
from loft.catalogue import selectors as catalogue
from loft.common import audit, idempotency, policies
from loft.customers import boats_csv
from loft.orders import paper
from loft.orders.models import Revision, WhatIfRun
from loft.workshop import selectors as workshop


def try_out(*, revision: Revision, what: WhatIf, now: datetime, by: User | None, made_at: str = "") -> WhatIfRun:
    """The figures of a revision's batch if things were otherwise, at the lists of the day on which it was priced; kept beside it.

    The revision itself does not change. InputError: what cannot be tried, made or priced so.
    """
    policies.require(by, "draft_quote")
    found = _figures(revision, what)
    row = WhatIfRun(revision=revision, asked=_text(asdict(what)), figures=_text(asdict(found)), made_at=now, made_by=by)
    with transaction.atomic():
        row.save(force_insert=True)
        audit.record("try_out", revision.quote, by=by, after={"revision": revision.revision, **row.asked})
        if made_at:
            idempotency.made(made_at)
    return row


def _figures(revision: Revision, what: WhatIf) -> Figures:
    batch = paper.thaw(revision)
    house = catalogue.house(
        pattern=batch.pattern_code, on=batch.priced_on, terms=batch.terms_code, version=batch.pattern_version
    )  # fmt: skip
    rows, wrong = boats_csv.readable_rows(revision.boats.encode(), pattern=house.pattern, others=house.others)
    wrong.raise_if_any()
    sails = tuple(row.sail for row in rows)
    request = BatchRequest(batch.customer, batch.buyer, sails, joins=batch.joins, joined=batch.joined)
    known = workshop.known_designs(*(p.code for p in house.patterns))
    return what_if(request, house, what, offered=batch, on=batch.priced_on, known=known)


def _text(values: Mapping[str, Any]) -> dict[str, str]:
    """Decimals as text, nothing as empty: a database must not make other numbers of them."""
    return {name: "" if value is None else str(value) for name, value in values.items()}
