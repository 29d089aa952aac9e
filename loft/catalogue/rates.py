"""Storing exchange rates: a day's rate is never changed once it is stored."""

from __future__ import annotations

from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from costing.errors import Collector
from loft.catalogue.formats.rates import read_rates
from loft.catalogue.models import ExchangeRate
from loft.catalogue.services import LoadReport
from loft.common import audit, policies


def load_rates(*, text: str, dry_run: bool = False, by: User | None = None) -> LoadReport:
    """Store the rates of a table that are not stored yet, in one transaction. InputError: what is wrong in it, or another rate that is
    stored for the same day."""
    policies.require(by, "load_catalogue")
    days = read_rates(text)
    given = {(day.on, code): int(rate.scaleb(6)) for day in days for code, rate in day.per_base.items()}
    stored = ExchangeRate.objects.filter(on__gte=days[0].on, on__lte=days[-1].on).values_list("on", "currency", "per_euro_e6")
    held = {(on, code): rate for on, code, rate in stored}
    wrong = Collector()
    for (on, code), rate in given.items():
        if held.get((on, code), rate) != rate:
            kept = Decimal(held[on, code]).scaleb(-6).normalize()
            wrong.add(f"{on}.{code}", "other_rate", f"{kept:f} {code} is stored for {on}; what is stored is never edited")
    wrong.raise_if_any()
    new = [ExchangeRate(on=on, currency=code, per_euro_e6=rate) for (on, code), rate in given.items() if (on, code) not in held]
    subject = f"Euro rates of {len(days)} day{'s' if len(days) > 1 else ''}, {days[0].on} to {days[-1].on}"
    if new and not dry_run:
        with transaction.atomic():
            ExchangeRate.objects.bulk_create(new, batch_size=300)
            last = ExchangeRate.objects.get(on=new[-1].on, currency=new[-1].currency)
            audit.record("load", last, by=by, after={"rates": len(new), "from": days[0].on, "to": days[-1].on})
    return LoadReport(subject, "new" if new else "unchanged", (f"{len(new)} rates that were not stored yet",), dry_run)
