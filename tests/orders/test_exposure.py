"""The exposure report against the same sums in decimals, quote by quote, and what the page says."""

from __future__ import annotations

import os
import random
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext

from costing import money, quote
from costing.prices import unit_costs
from costing.prices.lookup import supplier_unit
from costing.prices.steps import cost_steps
from costing.quote import CostLine, PricedBatch
from costing.quote.exposure import at_lists
from loft.catalogue import selectors as catalogue
from loft.catalogue import services as catalogue_writes
from loft.orders import exposure, paper
from loft.orders.models import FrozenCost, FrozenCostLine, Quote, Revision
from loft.orders.services import cost_rows
from tests import desk, skerling

#: The first day of Tarnside's next list: dearer cloth, a break moved, and WP175 gone.
RISE = date(2026, 3, 9)
#: Cost lines that are compared with the slow sum: a hundred thousand with LOFT_EXPOSURE_LINES=100000.
LEAST_LINES = int(os.environ.get("LOFT_EXPOSURE_LINES", "5000"))
CURRENCY = money.currency("GBP")


def next_list() -> str:
    """Tarnside's list a week later: DW170 from 13.95 to 15.35 at 80 m, from 15.20 to 16.75 at 60 m; WP175 is not on it."""
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026b"').replace("2026-01-05", RISE.isoformat())
    text = text.replace("{ from = 50, cost = 15.20 }", "{ from = 60, cost = 16.75 }").replace("cost = 13.95", "cost = 15.35")
    before, _, after = text.partition("[[rows]]\nrow = 21")
    return before + after[after.index("[[rows]]") :]


def report(on: date = RISE) -> exposure.Exposure:
    return exposure.exposure(on=on, now=desk.NOW + timedelta(days=7), currency="GBP")


def test_a_rise_is_worked_out_by_hand(loft: None, manager: User) -> None:
    """A sail of 7.48 m of DW170, below every break, and 0.564 m of film: cloth from 16.40 a metre to 18.00, film as it was.

    Cloth 7.48 x 16.40 = 122.672 -> 122.67, then 7.48 x 18.00 = 134.64. Film 0.564 x 7.80 = 4.3992 -> 4.40 in both.
    Roll ends, 3 % of what is laid: 127.07 -> 3.81, then 139.04 -> 4.17. The cost was 130.88 and is 143.21: 12.33 more.
    Sold at 225.00, nothing passed on: margin (225 - 130.88) / 225 = 0.4183, then (225 - 143.21) / 225 = 0.3635.
    The net that keeps the margin: 225 x 143.21 / 130.88 = 246.1969 -> 246.20.
    """
    template = desk.issued(manager, desk.ONE_BOAT)
    store(by_hand(paper.thaw(template)), template)
    Revision.objects.filter(pk=template.pk).update(state="expired", expired_at=desk.NOW)
    catalogue_writes.load_prices(text=next_list().replace("cost = 16.40", "cost = 18.00"))
    (row,) = report().quotes
    assert (row.figures.cost, row.figures.new_cost, row.figures.lost) == (13088, 14321, 1233)
    assert (row.figures.margin, row.figures.new_margin) == (Decimal("0.4183"), Decimal("0.3635"))
    assert row.figures.new_net == 24620


def by_hand(batch: PricedBatch) -> PricedBatch:
    """A batch of one sail with the three cost lines of the sum by hand, sold at 225.00."""
    lines = (
        CostLine("cloth", "DW170", "cloth", Decimal("7.480"), "m", Decimal("16.4000"), Decimal("122.67"), "", ""),
        CostLine("cloth", "FILM-05", "film", Decimal("0.564"), "m", Decimal("7.8000"), Decimal("4.40"), "", ""),
        CostLine("cloth", "end-of-roll", "roll ends", Decimal("0.030"), "of cloth", Decimal("127.0700"), Decimal("3.81"), "", ""),
    )
    cost, net = Decimal("130.88"), Decimal("225.00")
    tax = replace(batch.totals.taxes[0], taxable=net, tax=Decimal("45.00"))
    totals = replace(batch.totals, net=net, taxes=(tax,), tax=tax.tax, gross=Decimal("270.00"))
    sail = replace(batch.sails[0], cost_lines=lines, cost=cost, pass_through=Decimal(0))
    return replace(batch, sails=(sail,), cost=cost, totals=totals)


def test_the_first_day_of_a_list_decides_and_before_it_nothing_moves(loft: None, manager: User) -> None:
    desk.issued(manager)
    catalogue_writes.load_prices(text=next_list())
    before, after = report(RISE - timedelta(days=1)), report()
    assert [q.figures.lost for q in before.quotes] == [0]
    assert before.lost_minor == 0
    assert after.lost_minor == sum(q.figures.lost for q in after.quotes)


def test_a_quote_that_ends_before_the_day_is_not_at_risk(loft: None, manager: User) -> None:
    revision = desk.issued(manager)
    catalogue_writes.load_prices(text=next_list().replace("cost = 16.40", "cost = 18.00"))
    last = revision.valid_until
    assert last is not None
    on_the_last_day, after_it = report(last), report(last + timedelta(days=1))
    assert on_the_last_day.lost_minor > 0
    assert (after_it.lost_minor, after_it.ending, after_it.cloths) == (0, 1, ())


def test_metres_by_cloth_are_those_of_the_quotes_that_must_be_honoured(loft: None, manager: User) -> None:
    batch = paper.thaw(desk.issued(manager))
    lines = [line for sail in batch.sails for line in sail.cost_lines if line.code == "DW170"]
    (cloth,) = [c for c in report().cloths if c.material == "DW170"]
    assert (cloth.metres, cloth.quotes) == (sum(line.quantity for line in lines), 1)


def varied(batch: PricedBatch, dice: random.Random) -> PricedBatch:
    """The batch with other quantities on every bought line, its sums made to fit; two of its sails stay alike."""
    first = _varied_lines(batch.sails[0].cost_lines, dice)
    lines = [first, first, *(_varied_lines(sail.cost_lines, dice) for sail in batch.sails[2:])]
    costs = [sum((x.amount for x in own if x.group != "pass-through"), Decimal(0)) for own in lines]
    sails = tuple(replace(s, cost_lines=own, cost=cost) for s, own, cost in zip(batch.sails, lines, costs, strict=True))
    return replace(batch, sails=sails, cost=sum(costs, Decimal(0)))


def _varied_lines(lines: tuple[CostLine, ...], dice: random.Random) -> tuple[CostLine, ...]:
    moved = [line if line.group in ("labour", "pass-through") or line.code == "end-of-roll" else _varied(line, dice) for line in lines]
    laid = sum((line.amount for line in moved if line.group == "cloth" and line.code != "end-of-roll"), Decimal(0))
    return tuple(
        replace(x, unit_cost=laid, amount=money.to_cents(x.quantity * laid, CURRENCY)) if x.code == "end-of-roll" else x for x in moved
    )


def _varied(line: CostLine, dice: random.Random) -> CostLine:
    quantity = money.quantity_3(line.quantity * dice.randint(1, 9000) / 1000) or Decimal("0.001")
    return replace(line, quantity=quantity, amount=money.to_cents(quantity * line.unit_cost, CURRENCY))


def store(batch: PricedBatch, template: Revision) -> Revision:
    """An issued revision of a quote of its own that holds this batch."""
    number = Quote.objects.count() + 1000
    parent = Quote.objects.create(number=number, customer=template.quote.customer, created_at=desk.NOW)
    row = Revision.objects.get(pk=template.pk)
    row.pk, row.quote, row.snapshot = None, parent, quote.freeze_batch(batch)
    row.net_minor = money.minor_units(batch.totals.net, CURRENCY)
    row.save(force_insert=True)
    cost_rows.keep(cost_rows.rows_to_keep(row, batch))
    return row


def test_thousands_of_lines_agree_to_the_cent_with_the_sum_in_decimals(loft: None, manager: User) -> None:
    dice = random.Random(13)
    template = desk.issued(manager, skerling.text("skerling_batch_2026.csv").encode())
    batch = paper.thaw(template)
    stored = [template]
    while FrozenCostLine.objects.count() < LEAST_LINES:
        stored.append(store(varied(batch, dice), template))
    catalogue_writes.load_prices(text=next_list())
    lists = tuple(file.prices for file in catalogue.supplier_files(on=RISE))
    slow = {row.pk: at_lists(paper.thaw(row), lists, on=RISE) for row in stored}
    fast = {row.revision: row.figures for row in report().quotes}
    assert FrozenCostLine.objects.count() >= LEAST_LINES
    assert fast == slow
    assert len({figures.lost for figures in slow.values()}) > len(stored) * 0.85  # the lines are not all alike


def test_steps_agree_with_the_lookup_just_below_at_and_above_every_break(loft: None) -> None:
    lists, codes = skerling.house().lists, {row.material for listed in skerling.house().lists for row in listed.rows}
    steps = cost_steps(lists, codes, on=desk.TODAY, currency="GBP")
    assert len(steps) > 15
    tried = 0
    for material, staircase in steps.items():
        unit = {supplier_unit(r.unit)[0] for listed in lists for r in listed.rows if r.material == material}.pop()
        for step in staircase:
            for amount in (step.from_quantity - Decimal("0.001"), step.from_quantity, step.from_quantity + Decimal("0.001")):
                if amount >= 0:
                    reached = max((s for s in staircase if s.from_quantity <= amount), key=lambda s: s.from_quantity)
                    looked_up = unit_costs(lists, {material: (amount, unit)}, on=desk.TODAY, currency="GBP")
                    assert reached.unit_cost == looked_up[material].amount
                    tried += 1
    assert tried > 60


def test_a_cloth_that_vanished_keeps_its_frozen_cost_and_is_named(loft: None, manager: User) -> None:
    desk.issued(manager)
    text = next_list()
    before, _, after = text.partition("[[rows]]\nrow = 12")
    catalogue_writes.load_prices(text=before + after[after.index("[[rows]]") :])
    found = report()
    assert found.unpriced == ("DW170",)
    (row,) = found.quotes
    assert (row.figures.missing, row.figures.lost) == (2, 0)


def test_a_revision_without_rows_is_counted_and_named_on_the_report(loft: None, manager: User) -> None:
    revision = desk.issued(manager)
    FrozenCostLine.objects.filter(frozen=revision.pk).delete()
    FrozenCost.objects.filter(pk=revision.pk).delete()
    found = report()
    assert (found.quotes, found.uncounted) == ((), 1)


def test_the_number_of_statements_does_not_grow_with_the_quotes(loft: None, manager: User) -> None:
    template = desk.issued(manager)
    with CaptureQueriesContext(connection) as one:
        report()
    for _ in range(5):
        store(paper.thaw(template), template)
    with CaptureQueriesContext(connection) as six:
        assert len(report().quotes) == 6
    assert len(six) == len(one) <= 8
