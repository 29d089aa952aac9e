"""What other supplier lists do to the quotes that are out: one sum over whole numbers in the database, whatever their number.

The sum in decimals that this must agree with to the cent is `costing.quote.exposure.at_lists`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import connection

from costing import money
from costing.prices.steps import Step, cost_steps
from costing.quote.exposure import Exposed, Role
from loft.catalogue import selectors as catalogue
from loft.catalogue.models import Material
from loft.orders.models import FrozenCostLine, Revision
from loft.orders.states import RevisionState


@dataclass(frozen=True, slots=True)
class OpenQuote:
    """A quote that its customer may still accept, and what the lists of the day do to it.

    revision, number: its key, and its number within the quote; honoured: it is still valid on that day, so the frozen price holds;
    otherwise it ends before.
    """

    revision: int
    number: int
    quote: int
    reference: str
    customer: str
    valid_until: date
    honoured: bool
    figures: Exposed


@dataclass(frozen=True, slots=True)
class ClothNeeded:
    """Metres of a laid cloth or film in the quotes that must be honoured, and how many of them need it; colour: of body cloth."""

    material: str
    name: str
    colour: str
    metres: Decimal
    quotes: int


@dataclass(frozen=True, slots=True)
class Exposure:
    """All open quotes at the lists of a day, the thinnest new margin first; uncounted: issued before their cost lines were kept."""

    on: date
    currency: str
    quotes: tuple[OpenQuote, ...]
    cloths: tuple[ClothNeeded, ...]
    unpriced: tuple[str, ...]
    uncounted: int

    @property
    def honoured(self) -> tuple[OpenQuote, ...]:
        return tuple(q for q in self.quotes if q.honoured)

    @property
    def lost_minor(self) -> int:
        """What the loft earns less if every quote that must be honoured is accepted."""
        return sum(q.figures.lost for q in self.quotes if q.honoured)

    @property
    def ending(self) -> int:
        """How many end before the day."""
        return sum(not q.honoured for q in self.quotes)


def exposure(*, on: date, now: datetime, currency: str) -> Exposure:
    """Every quote that is open now, in one currency, at the supplier lists in force on a day."""
    keys = _materials()
    lists = tuple(file.prices for file in catalogue.supplier_files(on=on))
    steps = cost_steps(lists, keys, on=on, currency=currency, rates=catalogue.rates(lists, on=on, currency=currency))
    rows = sorted(_open_quotes(_steps_table(steps, keys), on, now, currency), key=_thinnest_first)
    unpriced = tuple(sorted(code for code in keys if code not in steps))
    return Exposure(on, currency, tuple(rows), _needed(on, now, currency), unpriced, _uncounted(now, currency))


def _thinnest_first(row: OpenQuote) -> tuple[bool, bool, Decimal, int]:
    margin = row.figures.new_margin
    return not row.honoured, margin is None, margin or Decimal(0), row.quote


def _materials() -> Mapping[str, int]:
    """The materials that quotes take, with their keys."""
    return dict(Material.objects.filter(pk__in=FrozenCostLine.objects.values("material")).values_list("code", "pk"))


def _steps_table(steps: Mapping[str, tuple[Step, ...]], keys: Mapping[str, int]) -> tuple[tuple[str, ...], str]:
    """Statements that make a table of the steps, one row a material, and the expression that picks a line's unit cost from it.

    Whole numbers alone, so that nothing needs quoting. A temporary table has a primary key, which a list of values has not: without one
    SQLite reads the whole list for every cost line.
    """
    most = max((len(staircase) for staircase in steps.values()), default=1)
    columns = "".join(f", from_{i} bigint, cost_{i} bigint" for i in range(most))
    make = ["DROP TABLE IF EXISTS exposure_step", f"CREATE TEMPORARY TABLE exposure_step (material_id integer PRIMARY KEY{columns})"]
    rows = [[keys[m], *(n for step in staircase for n in _whole(step))] for m, staircase in steps.items()]
    if rows:
        cells = (", ".join(str(n) for n in row) + ", NULL" * (1 + 2 * most - len(row)) for row in rows)
        make.append(f"INSERT INTO exposure_step VALUES {', '.join(f'({row})' for row in cells)}")
    return tuple(make), "CASE " + " ".join(f"WHEN l.together_e3 >= from_{i} THEN cost_{i}" for i in reversed(range(most))) + " END"


def _whole(step: Step) -> tuple[int, int]:
    return int(step.from_quantity.scaleb(3)), int(step.unit_cost.scaleb(4))


_OPEN = """
  FROM orders_frozencost head
  JOIN orders_revision rev ON rev.id = head.revision_id
 WHERE rev.state = %s AND rev.expires_at >= %s AND rev.currency = %s AND NOT rev.change"""

#: Half up, as money is rounded everywhere: the amounts are never negative, so that whole division cuts off downwards.
_SUM = """
WITH head AS (
SELECT head.revision_id, head.cost_minor, head.passed_minor, head.end_of_roll_e3, rev.revision AS number, rev.quote_id, rev.net_minor,
       rev.valid_until
{open}),
line AS (
  SELECT l.frozen_id, l.kind, l.sails, l.role, l.amount_minor AS was,
         (l.quantity_e3 * ({unit_cost}) + {half}) / {divisor} AS priced
    FROM orders_frozencostline l LEFT JOIN exposure_step step ON step.material_id = l.material_id
   WHERE l.frozen_id IN (SELECT revision_id FROM head)),
kind AS (
  SELECT frozen_id, MAX(sails) AS sails,
         CAST(SUM(CASE WHEN role <> {passed} THEN COALESCE(priced, was) - was ELSE 0 END) AS bigint) AS own,
         CAST(SUM(CASE WHEN role = {passed} THEN COALESCE(priced, was) - was ELSE 0 END) AS bigint) AS passed,
         CAST(SUM(CASE WHEN role = {laid} THEN was ELSE 0 END) AS bigint) AS laid_was,
         CAST(SUM(CASE WHEN role = {laid} THEN COALESCE(priced, was) ELSE 0 END) AS bigint) AS laid,
         COUNT(*) - COUNT(priced) AS missing
    FROM line GROUP BY frozen_id, kind),
moved AS (
  SELECT frozen_id,
         CAST(SUM(sails * (own + (laid * end_of_roll_e3 + 500) / 1000 - (laid_was * end_of_roll_e3 + 500) / 1000)) AS bigint) AS own,
         CAST(SUM(sails * passed) AS bigint) AS passed, CAST(SUM(sails * missing) AS bigint) AS missing
    FROM kind JOIN head ON head.revision_id = frozen_id GROUP BY frozen_id)
SELECT head.revision_id, head.number, head.quote_id, q.number, c.name, head.valid_until, head.net_minor, head.passed_minor, head.cost_minor,
       head.passed_minor + COALESCE(moved.passed, 0), head.cost_minor + COALESCE(moved.own, 0), COALESCE(moved.missing, 0)
  FROM head JOIN orders_quote q ON q.id = head.quote_id JOIN customers_customer c ON c.id = q.customer_id
  LEFT JOIN moved ON moved.frozen_id = head.revision_id"""


def _open_quotes(steps: tuple[tuple[str, ...], str], on: date, now: datetime, currency: str) -> Iterator[OpenQuote]:
    divisor = 10 ** (7 - money.currency(currency).digits)  # 0.001 units x 0.0001 of the currency, to minor units
    make, unit_cost = steps
    statement = _SUM.format(
        unit_cost=unit_cost, open=_OPEN, half=divisor // 2, divisor=divisor, passed=int(Role.PASSED), laid=int(Role.LAID)
    )
    with connection.cursor() as cursor:
        for each in make:
            cursor.execute(each)
        cursor.execute(statement, [RevisionState.ISSUED, _instant(now), currency])
        for revision, place, quote, number, customer, valid_until, *figures in cursor.fetchall():
            until = valid_until if isinstance(valid_until, date) else date.fromisoformat(valid_until)
            yield OpenQuote(revision, place, quote, f"Q-{number:04d}", customer, until, until >= on, Exposed(*figures))


def _instant(now: datetime) -> Any:
    """An instant as this database compares it."""
    return connection.ops.adapt_datetimefield_value(now)


_NEEDED = """
SELECT m.code, m.name, l.colour, CAST(SUM(l.sails * l.quantity_e3) AS bigint), COUNT(DISTINCT l.frozen_id)
  FROM orders_frozencostline l JOIN catalogue_material m ON m.id = l.material_id
 WHERE l.role = {laid} AND l.frozen_id IN (SELECT head.revision_id {open} AND rev.valid_until >= %s)
 GROUP BY m.code, m.name, l.colour ORDER BY 4 DESC, m.code, l.colour"""


def _needed(on: date, now: datetime, currency: str) -> tuple[ClothNeeded, ...]:
    with connection.cursor() as cursor:
        day: Any = connection.ops.adapt_datefield_value(on)
        cursor.execute(_NEEDED.format(open=_OPEN, laid=int(Role.LAID)), [RevisionState.ISSUED, _instant(now), currency, day])
        rows = cursor.fetchall()
    return tuple(ClothNeeded(code, name, colour, Decimal(e3).scaleb(-3), quotes) for code, name, colour, e3, quotes in rows)


def _uncounted(now: datetime, currency: str) -> int:
    open_now = Revision.objects.filter(state=RevisionState.ISSUED, change=False, expires_at__gte=now, currency=currency)
    return open_now.filter(frozen_cost__isnull=True).count()
