"""Whether what is stored is whole: every reference leads somewhere, every quote and every order has all its parts."""

from __future__ import annotations

from django.apps import apps
from django.db import connection
from django.db.models import ForeignKey

from costing import money
from loft.jobs.models import Job
from loft.orders import paper
from loft.orders.models import Order, Quote, Revision
from loft.workshop.models import Design


def broken() -> list[str]:
    """Everything that is not whole, in words; empty when all is well."""
    return [*_database(), *_references(), *_quotes(), *_orders()]


def _database() -> list[str]:
    """What SQLite says of its own file."""
    if connection.vendor != "sqlite":
        return []
    with connection.cursor() as cursor:
        found = cursor.execute("PRAGMA integrity_check").fetchall()
        loose = cursor.execute("PRAGMA foreign_key_check").fetchall()
    return [str(row) for row in found if row != ("ok",)] + [str(row) for row in loose]


def _references() -> list[str]:
    """Rows whose foreign key leads nowhere."""
    told = []
    for model in apps.get_models():
        for field in model._meta.concrete_fields:
            if isinstance(field, ForeignKey):
                set_rows = model._default_manager.filter(**{f"{field.name}__isnull": False})
                kept = field.related_model._default_manager.values(field.target_field.attname)
                loose = set_rows.exclude(**{f"{field.attname}__in": kept}).count()
                told += [f"{model.__name__}.{field.name}: {loose} lead nowhere"] if loose else []
    return told


def _quotes() -> list[str]:
    """Quotes without a revision, revisions whose figures, designs, link or letter are not all there."""
    told = [f"quote {pk} has no revision" for pk in Quote.objects.filter(revisions=None).values_list("pk", flat=True)]
    designs = set(Design.objects.values_list("key", flat=True))
    letters = set(Job.objects.filter(key__startswith="quote_issued:").values_list("key", flat=True))
    for row in Revision.objects.select_related("quote", "link"):
        batch = paper.thaw(row)
        cur = money.currency(row.currency)
        stored = (row.sails, row.net_minor, row.gross_minor)
        if stored != (len(batch.sails), money.minor_units(batch.totals.net, cur), money.minor_units(batch.totals.gross, cur)):
            told.append(f"{row}: columns and snapshot differ")
        told += [f"{row}: no design {sail.design_key}" for sail in batch.sails if sail.design_key not in designs]
        issued = row.issued_at is not None
        if issued != (row.quote.number is not None) or issued != hasattr(row, "link") or issued != (f"quote_issued:{row.pk}" in letters):
            told.append(f"{row}: issued by half")
    numbers = sorted(Quote.objects.filter(number__isnull=False).values_list("number", flat=True))
    return told if numbers == list(range(1, len(numbers) + 1)) else [*told, f"quote numbers with gaps: {numbers}"]


def _orders() -> list[str]:
    """Accepted revisions without an order, orders without all lines, tickets, steps, needs or their letter."""
    accepted = Revision.objects.filter(state="accepted", order=None)
    told = [f"{row} is accepted and has no order" for row in accepted]
    letters = set(Job.objects.filter(key__startswith="order_accepted:").values_list("key", flat=True))
    for order in Order.objects.select_related("revision").prefetch_related("lines__ticket__steps", "lines__ticket__requirements"):
        lines = list(order.lines.all())
        whole = all(line.ticket.steps.all() and line.ticket.requirements.all() for line in lines)
        if order.revision.state != "accepted" or len(lines) != order.revision.sails or not whole:
            told.append(f"{order}: not whole")
        if f"order_accepted:{order.pk}" not in letters:
            told.append(f"{order}: no letter")
    numbers = sorted(Order.objects.values_list("number", flat=True))
    return told if numbers == list(range(1, len(numbers) + 1)) else [*told, f"order numbers with gaps: {numbers}"]
