"""The page of who did what, for managers: everything, or what was done to one thing."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from loft.common import pages
from loft.common.models import AuditEntry

#: What can be asked for: /history/?quote=3
KINDS = ("quote", "order", "ticket", "customer", "boat", "user", "loftprofile")


@require_GET
@pages.may("see_history")
def history(request: HttpRequest) -> HttpResponse:
    """Entries, the newest first; of an order also those of its tickets."""
    rows = AuditEntry.objects.select_related("personal").order_by("-pk")
    asked = {kind: request.GET[kind] for kind in KINDS if request.GET.get(kind, "").isdecimal()}
    for kind, pk in asked.items():
        rows = rows.filter(subject_kind=kind, subject_id=min(int(pk), 2**63 - 1))
    about = request.GET.get("about", "")[:120]
    if about:
        rows = rows.filter(subject__startswith=about)
    page = Paginator(rows, pages.ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {"place": "history", "page": page, "rows": [(row, _changes(row)) for row in page], "about": about, "asked": asked}
    return render(request, "common/history.html", context)


def _changes(row: AuditEntry) -> list[tuple[str, object, object]]:
    """Name, before and after of every value, the personal ones with them while they are kept."""
    personal = getattr(row, "personal", None)
    before = {**row.before, **(personal.before if personal else {})}
    after = {**row.after, **(personal.after if personal else {})}
    return [(name, before.get(name, ""), after.get(name, "")) for name in dict.fromkeys([*before, *after])]
