"""The whole job on the invented fixtures: `manage.py demo`."""

from __future__ import annotations

import logging
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.test.utils import override_settings
from django.utils import timezone

from costing.errors import CostingError
from loft.common import append_only
from loft.common.errors import Refused
from loft.customers.models import Customer
from loft.orders import paper, selectors
from loft.orders.demo import checks, price_rise, scenario


class Command(BaseCommand):
    help = (
        "Run the whole job on the invented fixtures, from the class's limits to tickets and PDFs, and check it all. "
        "A demo that ran before is cleared away first; a database that holds anything else is left alone."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        out = Path(settings.LOFT_VAR) / "demo"
        self._start_afresh(out)
        Path(settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)
        logging.disable(logging.INFO)  # the requests of the demo's own customer
        try:
            # A demo's mail stays in files, and its jobs are run here, whatever the service is set up with.
            with override_settings(EMAIL_BACKEND="loft.jobs.mail_files.EmailBackend", LOFT_BROKER_URL="", ALLOWED_HOSTS=["*"]):
                demo = scenario.run(out, now=timezone.now())
                found = checks.run(demo)
        except (CostingError, Refused, scenario.DemoFailed) as error:
            raise CommandError(f"The demo failed: {error}") from error
        finally:
            logging.disable(logging.NOTSET)
        self._print(demo, found)
        wrong = [f"{check.what}: {fault}" for check in found for fault in check.wrong]
        if wrong:
            raise CommandError("\n".join([f"{len(wrong)} checks failed:", *wrong]))

    def _start_afresh(self, out: Path) -> None:
        """Clear what an earlier demo left; CommandError when anything in the database is not the demo's."""
        call_command("migrate", verbosity=0)
        ours = {f"{name}@{scenario.MAIL_DOMAIN}" for name, _ in scenario.USERS}
        others = [str(u) for u in User.objects.exclude(email__in=ours)]
        others += [str(c) for c in Customer.objects.exclude(name__in=scenario.CUSTOMERS)]
        if others:
            more = "" if len(others) < 4 else f" and {len(others) - 3} more"
            raise CommandError(
                f"This database is in use ({', '.join(others[:3])}{more}), and the demo starts with an empty one: "
                "set LOFT_VAR to an empty folder, or DATABASE_URL to another database, run `manage.py migrate` and then the demo again."
            )
        with append_only.lifted():
            call_command("flush", interactive=False, verbosity=0)
        shutil.rmtree(out, ignore_errors=True)

    def _rise(self, rise: price_rise.PriceRise) -> Iterator[str]:
        """The exposure before and after the dearer list, and the cloth that was replaced."""
        yield f"{price_rise.SUPPLIER}, list {price_rise.VERSION}, imported from {price_rise.LIST.name}:"
        for when, report in (("before", rise.before), ("after", rise.after)):
            margins = ", ".join(f"{q.reference} {q.figures.new_margin or 0:.1%}" for q in report.honoured)
            risk = f"at risk {report.currency} {report.lost_minor / 100:,.2f}"
            yield f"  exposure {when}: {len(report.honoured)} open quote, margin {margins}, {risk}"
        old, new = paper.thaw(rise.first_draft), paper.thaw(rise.draft)
        yield f"  {price_rise.OLD} in {price_rise.COLOUR} is no longer sold: the draft for {old.customer} is priced in {price_rise.NEW},"
        yield f"  net {old.currency} {old.totals.net} before, {new.totals.net} after"

    def _print(self, demo: scenario.Demo, found: tuple[checks.Check, ...]) -> None:
        batch = paper.thaw(demo.revision)
        totals, quote = batch.totals, demo.revision.quote
        board = selectors.board_row(demo.order)
        margin = "none" if batch.margin is None else f"{batch.margin:.1%}"
        lines = [
            "",
            f"{quote.reference} for {batch.customer}: {len(batch.sails)} sails, {batch.pattern_code} version {batch.pattern_version}, "
            f"{batch.class_name} edition {batch.edition}, prices of {batch.priced_on}",
            f"  net {batch.currency} {totals.net}, tax {totals.tax}, gross {totals.gross}, deposit {totals.deposit}; margin {margin}",
            f"{demo.order.reference} accepted by {demo.revision.accepted_name}, tickets: "
            + ", ".join(f"{n} {state}" for state, n in board.by_state),
            "",
            *self._rise(demo.rise),
            "",
            *(f"  {seconds * 1000:7.0f} ms  {what}" for what, seconds in demo.times),
            "",
            *(f"  {'wrong' if check.wrong else 'right'}  {check.what}" for check in found),
            "",
            f"Documents: {demo.out}",
            *(f"  {path.name}" for path in demo.written),
            f"Mail: {Path(settings.LOFT_VAR) / 'mail'}",
            "",
            "Open the service: make serve",
            "  order board /   quotes /quotes/   tickets /tickets/   API /api/docs/",
            f"  the customer's page {demo.link}",
            *(f"  sign in as {name}, password {password} (shown this once)" for name, password in demo.passwords.items()),
        ]
        self.stdout.write("\n".join(lines))
