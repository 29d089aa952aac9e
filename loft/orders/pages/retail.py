"""The loft's list prices: each entry with today's cost and margin, the show sheet, and a new version from a file."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import InputError, problem
from loft.catalogue import loading
from loft.catalogue import retail as catalogue_retail
from loft.catalogue import selectors as catalogue
from loft.common import limits, pages
from loft.common import selectors as common
from loft.common.errors import NotFound
from loft.orders import retail, show_sheet


@require_GET
@pages.may("see_costs")
def retail_page(request: HttpRequest) -> HttpResponse:
    """The lists that hold today, beside the cost of each sail at today's supplier lists."""
    return render(request, "orders/retail.html", _context())


@require_POST
@pages.may("load_catalogue")
def load(request: HttpRequest) -> HttpResponse:
    """Check a retail file, or store it."""
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=timezone.now())
    dry_run = request.POST.get("what") != "store"
    try:
        report = catalogue_retail.load_retail(text=_text(request), dry_run=dry_run, by=pages.person(request))
    except InputError as error:
        return render(request, "orders/retail.html", _context() | {"problems": error.problems}, status=400)
    stored = "in order, not stored yet" if dry_run else "stored" if report.outcome == "new" else "was stored already"
    messages.success(request, f"{report.subject}: {stored}; {', '.join(report.details)}.")
    return redirect("retail")


@require_GET
@pages.may("see_prices")
@pages.drawn
def show_sheet_pdf(request: HttpRequest, code: str) -> HttpResponse:
    """The prices of a class on a page for the show: a file that needs no network."""
    profile = common.loft_profile()
    today = common.local_time(timezone.now(), profile).date()
    listed = catalogue.retail_list(class_code=code, on=today)
    if listed is None:
        raise NotFound(f"There is no list of prices for class {code} today.")
    return pages.pdf(show_sheet.show_sheet_pdf(listed, profile, on=today), f"prices-{code.lower()}-{listed.season}.pdf")


def _context() -> dict[str, object]:
    today = common.local_time(timezone.now(), common.loft_profile()).date()
    lists = retail.season_lists(on=today)
    return {
        "place": "lists", "today": today, "versions": catalogue.retail_lists(),
        "lists": [(listed, retail.entries_now(listed, on=today)) for listed in lists.values()],
    }  # fmt: skip


def _text(request: HttpRequest) -> str:
    file = request.FILES.get("file")
    if file is None:
        raise problem("file", "missing", "choose a file")
    if file.size is None or file.size > loading.MOST_BYTES:
        raise problem("file", "too_large", f"the file has {file.size or 0:,} bytes; at most {loading.MOST_BYTES:,} are read")
    try:
        return str(file.read().decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise problem("file", "encoding", "the file is not in UTF-8; save it as UTF-8") from error
