"""The demo's checks of its dearer list: sums from the open quote's own cost lines and the supplier's table as it came, row by row."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal

from costing.quote.priced import CostLine, PricedBatch
from loft.orders import paper
from loft.orders.demo import price_rise

_CENT = Decimal("0.01")


def exposed(rise: price_rise.PriceRise) -> Iterator[str]:
    """Nothing lost before the list; after it, each laid cloth at the table's price, and the roll ends on it."""
    if rise.before.lost_minor:
        yield f"{rise.before.lost_minor} lost before the list came"
    batch = paper.thaw(rise.open_quote)
    dearer = sum((_dearer(sail.cost_lines, batch) for sail in batch.sails), Decimal(0))
    if dearer <= 0:
        yield f"the table makes the open quote dearer by {dearer}: that is no rise"
    if int(dearer * 100) != rise.after.lost_minor:
        yield f"{dearer} dearer by the table, {rise.after.lost_minor} cents in the report"
    rise.open_quote.refresh_from_db()
    if paper.thaw(rise.open_quote) != batch:
        yield "the open quote is not what it was"


def _dearer(lines: tuple[CostLine, ...], batch: PricedBatch) -> Decimal:
    was = {line.code: line.amount for line in lines if line.group == "cloth"}
    laid = [line for line in lines if line.group == "cloth" and line.code != "end-of-roll"]
    now = {line.code: _cents(line.quantity * _price(line.code, batch)) for line in laid}
    ends = next(line for line in lines if line.code == "end-of-roll")
    now["end-of-roll"] = _cents(ends.quantity * sum(now.values()))
    return sum(now.values(), Decimal(0)) - sum(was.values(), Decimal(0))


def _price(code: str, batch: PricedBatch) -> Decimal:
    """What the table asks for a metre of this cloth where the whole batch takes as much as it does."""
    together = sum(line.quantity for sail in batch.sails for line in sail.cost_lines if line.code == code)
    with price_rise.LIST.open(encoding="utf-8", newline="") as file:
        reached = [row for row in csv.DictReader(file) if row["Our code"] == code and Decimal(row["From"]) <= together]
    return Decimal(reached[-1]["Price"])


def _cents(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_UP)


def replaced(rise: price_rise.PriceRise) -> Iterator[str]:
    """Priced as it stood the draft is refused, with the cloth that fits; then it is of that cloth, in the colour that was asked for."""
    if not any("discontinued" in told and price_rise.NEW in told for told in rise.refused):
        yield f"the draft in the discontinued colour was priced again: {rise.refused or 'nothing was said'}"
    (sail,) = paper.thaw(rise.draft).sails
    cloths = {line.code for line in sail.cost_lines if line.group == "cloth"}
    if price_rise.NEW not in cloths or price_rise.OLD in cloths or sail.colour != price_rise.COLOUR:
        yield f"the new draft is of {', '.join(sorted(cloths))} in {sail.colour}"
    rise.first_draft.refresh_from_db()
    if rise.first_draft.state != "superseded":
        yield f"the draft before is {rise.first_draft.state}"
