"""Price a list of boats from the shell: `manage.py price_batch PATTERN BOATS.csv --out DIR`."""

from __future__ import annotations

import re
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from costing import quote
from costing.errors import InputError, Problem
from loft import documents
from loft.common import selectors as common
from loft.common.models import LoftProfile
from loft.customers.models import Customer
from loft.orders import paper, pricing, services

_DRAFT = "draft"


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise ArgumentTypeError(f"{text!r} is no day of the calendar, written year first: 2026-11-25") from error


class Command(BaseCommand):
    help = (
        "Price a list of boats by a pattern and write batch.json, quote.pdf, cost-sheet.pdf and work-sheets.pdf. "
        "When anything is wrong every problem is printed, the exit code is 1 and nothing is written."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("pattern", help="the code of a loaded pattern: that of every row whose own column pattern is empty")
        parser.add_argument("boats", type=Path, help="a CSV file; fixtures/README.md documents its columns")
        parser.add_argument("--out", type=Path, required=True, help="the folder to write to; it is made when it is not there")
        parser.add_argument("--on", type=_day, help="the day whose rules and prices count, YYYY-MM-DD; today when left out")
        parser.add_argument("--terms", default="", help="the code of the terms; the usual ones when left out")
        parser.add_argument("--at-list", action="store_true", help="sell at the loft's list price instead of costing the sails")
        parser.add_argument("--draft", action="store_true", help="keep the result as a draft quote too")
        parser.add_argument("--customer", default="Customer to follow", help="the customer's name on the quote")
        parser.add_argument("--buyer", choices=Customer.Buyer.values, default=Customer.Buyer.TRADE, help="who sees net prices")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["boats"]
        now, profile = timezone.now(), common.loft_profile()
        on: date = options["on"] or common.local_time(now, profile).date()
        customer = Customer(kind=Customer.Kind.ASSOCIATION, name=options["customer"], buyer=options["buyer"])
        asked = {"pattern": options["pattern"], "boats": _read(path), "terms": options["terms"], "at_list": options["at_list"]}
        try:
            priced = pricing.price(customer=customer.name, buyer=customer.buyer, on=on, **asked)
            files = _files(priced, customer, profile)
            if options["draft"]:
                revision = services.draft_batch(customer=customer, on=on, now=now, by=None, **asked)
        except InputError as error:
            raise CommandError("\n".join(_sentence(p, path.name) for p in error.problems)) from error
        _write(options["out"], files)
        self.stdout.write(_summary(priced.result.batch))
        self.stdout.write("\n".join(f"  {options['out'] / name}" for name in files))
        if options["draft"]:
            self.stdout.write(f"Kept as draft quote {revision.quote.pk}.")


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise CommandError(f"{path}: cannot be read: {error.strerror}") from error


def _files(priced: pricing.Priced, customer: Customer, profile: LoftProfile) -> Mapping[str, bytes]:
    """Everything that is written, made before anything is."""
    figures = paper.Offer(priced.result.batch, priced.result.designs)
    tickets = paper.planned_tickets(figures, priced.house.patterns, profile, reference=_DRAFT)
    return {
        "batch.json": quote.batch_as_json(figures.batch, figures.designs),
        "quote.pdf": documents.quote_pdf(paper.quote_document(figures, customer, profile, number="", revision=1)),
        "cost-sheet.pdf": documents.cost_sheet_pdf(paper.cost_sheet(figures, profile, reference=_DRAFT)),
        "work-sheets.pdf": documents.tickets_pdf(tickets),
    }


def _write(folder: Path, files: Mapping[str, bytes]) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            (folder / name).write_bytes(content)
    except OSError as error:
        raise CommandError(f"{folder}: cannot be written: {error.strerror}") from error


def _summary(batch: quote.PricedBatch) -> str:
    totals = batch.totals
    made = ", ".join(f"{p.code} version {p.version}" for p in batch.made_by)
    lines = [
        f"{len(batch.sails)} sails by {made}, {batch.class_name} edition {batch.edition}",
        f"net {batch.currency} {totals.net}, tax {totals.tax}, gross {totals.gross}; deposit {totals.deposit}",
    ]
    return "\n".join([*lines, *(f"  warning: {w}" for w in batch.warnings), *(f"  hard to believe: {d}" for d in batch.doubts)])


def _sentence(problem: Problem, file: str) -> str:
    """A problem as the reader of the list finds it: "row 7, column half_width: ..."."""
    row = re.fullmatch(r"(row \d+)(?:\.(\w+))?(.*)", problem.path)
    place = file if problem.path == "file" else problem.path
    if row is not None:
        where = "the pattern's " if row[2] == "make" else "column "  # a row of the pattern's file is no column of the list
        place = row[1] + (f", {where}{row[2]}{row[3]}" if row[2] else "")
    return f"{place}: {problem.message}" if place else problem.message
