"""Pages of supplier lists: what is loaded, a table to take away, and a supplier's new table looked at and stored."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from costing.errors import InputError, Problem, problem
from loft.catalogue import formats, importing, list_import, selectors, sheets
from loft.catalogue.list_import import FIELDS, ListHead
from loft.common import limits, pages
from loft.common.errors import NotFound

#: How long a checked table may wait to be stored; it is signed, so that what is stored is what was looked at.
_KEPT_S = 3600
_SALT = "supplier-list"
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@require_GET
@pages.may("see_costs")
def supplier_lists(request: HttpRequest) -> HttpResponse:
    """Every version of every supplier's list."""
    return render(request, "catalogue/supplier_lists.html", {"place": "lists", "lists": selectors.list_heads()})


@require_GET
@pages.may("see_costs")
@pages.drawn
def export_list(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """A list as CSV or XLSX, in the columns that are read back."""
    row = selectors.list_heads().filter(pk=pk).first()
    if row is None or kind not in ("csv", "xlsx"):
        raise NotFound("There is no such list.")
    file = formats.read_prices(row.source)
    table = list(list_import.table(file))
    content, mime = (sheets.csv_bytes(table), "text/csv; charset=utf-8") if kind == "csv" else (sheets.xlsx_bytes(table), _XLSX)
    name = f"{slugify(row.supplier)}-{slugify(row.version)}.{kind}"
    return HttpResponse(content, content_type=mime, headers={"Content-Disposition": f'attachment; filename="{name}"'})


@require_http_methods(["GET", "POST"])
@pages.may("load_catalogue")
def import_list(request: HttpRequest) -> HttpResponse:
    """The form for a supplier's table; sent, it shows what storing it would do."""
    if request.method == "GET":
        supplier = request.GET.get("supplier", "")
        return _form(request, {"supplier": supplier}, importing.remembered_columns(supplier))
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=timezone.now())
    columns = _columns(request)
    try:
        head = _head(request)
        if not any(columns.values()):
            columns = {**columns, **importing.remembered_columns(head.supplier)}
        checked = importing.check_table(data=_file(request), head=head, columns=columns, by=pages.person(request))
    except InputError as error:
        return _form(request, request.POST.dict(), columns, error.problems)
    ticket = signing.dumps({"text": checked.text, "columns": columns}, salt=_SALT, compress=True)
    context = {"place": "lists", "checked": checked, "head": head, "ticket": ticket}
    return render(request, "catalogue/import_check.html", context)


@require_POST
@pages.may("load_catalogue")
def store_list(request: HttpRequest) -> HttpResponse:
    """Store a table that was looked at."""
    try:
        kept = signing.loads(request.POST.get("ticket", ""), salt=_SALT, max_age=_KEPT_S)
    except signing.BadSignature:
        messages.error(request, "Not stored: the check is more than an hour old or was changed on its way. Choose the file again.")
        return redirect("import_list")

    def write() -> str:
        looked_at = request.POST.get("looked_at") == "yes"
        report = importing.store_table(text=kept["text"], columns=kept["columns"], looked_at=looked_at, by=pages.person(request))
        return f"{report.subject}: {'stored' if report.outcome == 'new' else 'was stored already'}."

    return pages.done(request, write, back="/supplier-lists/")


def _form(request: HttpRequest, values: Mapping[str, Any], columns: Mapping[str, str], problems: tuple[Problem, ...] = ()) -> HttpResponse:
    suppliers = sorted(set(selectors.list_heads().values_list("supplier", flat=True)))
    fields = [(field, field.replace("_", " "), columns.get(field, ""), ", ".join(usual)) for field, usual in FIELDS.items()]
    context = {"place": "lists", "values": values, "fields": fields, "suppliers": suppliers, "problems": problems}
    return render(request, "catalogue/import_list.html", context, status=400 if problems else 200)


def _head(request: HttpRequest) -> ListHead:
    supplier, version = pages.typed(request, "supplier", most=200), pages.typed(request, "version", most=40)
    until = request.POST.get("valid_to", "")
    return ListHead(
        supplier, version, list_import.day(request.POST.get("valid_from", ""), "valid_from"),
        list_import.day(until, "valid_to") if until else None, pages.typed(request, "currency", most=3).upper(),
    )  # fmt: skip


def _columns(request: HttpRequest) -> dict[str, str]:
    return {field: pages.typed(request, f"column_{field}", most=100) for field in FIELDS}


def _file(request: HttpRequest) -> bytes:
    file = request.FILES.get("file")
    if file is None:
        raise problem("file", "missing", "choose a file")
    if file.size is None or file.size > sheets.MOST_BYTES:
        raise problem("file", "too_large", f"the file has {file.size or 0:,} bytes; at most {sheets.MOST_BYTES:,} are read")
    content: bytes = file.read()
    return content
