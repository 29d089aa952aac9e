"""Bringing in a supplier's table: looked at first, then stored in one transaction, its columns remembered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.db import transaction

from costing.errors import problem
from costing.prices.compare import RowChange
from loft.catalogue import formats, services, sheets
from loft.catalogue.list_import import ListHead, list_text
from loft.catalogue.models import ColumnMapping, SupplierList
from loft.common import policies


@dataclass(frozen=True, slots=True)
class Checked:
    """A table that can be stored: its text, what storing it would do, and every row beside the list before."""

    text: str
    report: services.LoadReport
    changes: tuple[RowChange, ...]

    @property
    def suspicious(self) -> int:
        """How many rows somebody must look at."""
        return sum(bool(change.suspicious) for change in self.changes)


def remembered_columns(supplier: str) -> Mapping[str, str]:
    """Field -> heading as it was last chosen for this supplier; empty for a new one."""
    row = ColumnMapping.objects.filter(supplier=supplier).first()
    return {} if row is None else dict(row.columns)


def check_table(*, data: bytes, head: ListHead, columns: Mapping[str, str], by: User | None) -> Checked:
    """Read a CSV or XLSX table and say what storing it would do; nothing is stored. InputError carries everything that is wrong."""
    policies.require(by, "load_catalogue")
    text = list_text(sheets.read_rows(data), head, columns, _text_before(head.supplier))
    report = services.load_prices(text=text, dry_run=True, by=by)
    return Checked(text, report, changes(text))


def changes(text: str) -> tuple[RowChange, ...]:
    """Every row of a list beside the supplier's list before."""
    return services.changes_since_the_list_before(formats.read_prices(text))


def store_table(*, text: str, columns: Mapping[str, str], looked_at: bool, by: User | None) -> services.LoadReport:
    """Store a table that was checked, in one transaction. InputError when suspicious rows have not been looked at."""
    policies.require(by, "load_catalogue")
    strikes = [change.material for change in changes(text) if change.suspicious]
    if strikes and not looked_at:
        raise problem("looked_at", "suspicious", f"look at the suspicious rows first and say so: {', '.join(strikes[:10])}")
    supplier = formats.read_prices(text).prices.supplier
    with transaction.atomic():
        report = services.load_prices(text=text, by=by)
        ColumnMapping.objects.update_or_create(supplier=supplier, defaults={"columns": {k: v for k, v in columns.items() if v}})
    return report


def _text_before(supplier: str) -> str:
    row = SupplierList.objects.filter(supplier=supplier).order_by("-valid_from").first()
    return "" if row is None else row.source
