"""Customers who are charged no tax: every item of theirs at a rate of nothing, under the reason that papers print."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from costing.quote.priced import PricedBatch
from costing.quote.request import House, TaxRate

#: The category letter of EN 16931 for supplies that are exempt from tax (code list from memory).
EXEMPT = "E"
_WORD = "exempt: "


def exempted(house: House, reason: str) -> House:
    """The house as it sells to somebody who is exempt; the same house without a reason."""
    if not reason:
        return house
    rates = tuple(rate for rate in house.taxes if rate.code != EXEMPT)
    passed = tuple(replace(p, tax=EXEMPT) for p in house.pass_through)
    return replace(house, taxes=(*rates, TaxRate(EXEMPT, _WORD + reason, Decimal(0))), sail_tax=EXEMPT, pass_through=passed)


def exempt_reason(batch: PricedBatch) -> str:
    """Why a batch is charged no tax; empty when it is charged."""
    return next((t.label.removeprefix(_WORD) for t in batch.totals.taxes if t.code == EXEMPT and t.label.startswith(_WORD)), "")
