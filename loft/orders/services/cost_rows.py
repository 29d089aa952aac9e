"""Keeping the bought cost lines of an issued revision as whole numbers, beside the snapshot that they are taken from."""

from __future__ import annotations

from collections.abc import Sequence

from costing.quote import PricedBatch
from costing.quote import exposure as figures
from loft.catalogue import selectors as catalogue
from loft.orders.models import FrozenCost, FrozenCostLine, Revision

Rows = tuple[FrozenCost, Sequence[FrozenCostLine]]


def rows_to_keep(revision: Revision, batch: PricedBatch) -> Rows:
    """The rows of a revision, to be stored when it is issued."""
    cost, passed = figures.frozen_sums(batch)
    head = FrozenCost(revision=revision, cost_minor=cost, passed_minor=passed, end_of_roll_e3=figures.end_of_roll_e3(batch))
    found = figures.cost_rows(batch)
    keys = catalogue.material_keys({row.material for row in found})
    lines = [
        FrozenCostLine(
            kind=row.kind, sails=row.sails, material_id=keys[row.material], role=row.role, quantity_e3=row.quantity_e3,
            together_e3=row.together_e3, amount_minor=row.amount_minor, colour=row.colour,
        )
        for row in found
    ]  # fmt: skip
    return head, lines


def keep(rows: Rows) -> None:
    """Store the rows, inside the transaction that issues the revision."""
    head, lines = rows
    head.save(force_insert=True)
    for line in lines:
        line.frozen = head
    FrozenCostLine.objects.bulk_create(lines)
