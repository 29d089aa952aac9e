"""The editions page: every edition of every class, and which sails would breach the one that is looked at."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from loft.catalogue import differences
from loft.catalogue import selectors as catalogue
from loft.common import pages
from loft.common.errors import NotFound
from loft.orders import new_edition


@require_GET
@pages.may("see_prices")
def edition_page(request: HttpRequest) -> HttpResponse:
    """?class=SK13&edition=2027; the newest edition of the first class when left out."""
    rules = catalogue.class_rules()
    context: dict[str, object] = {"place": "quotes", "rules": rules}
    if rules:
        code, name = request.GET.get("class", rules[0].code), request.GET.get("edition", "")
        of_class = [rule for rule in rules if rule.code == code]
        shown = next((rule for rule in of_class if rule.edition == name or not name), None)
        if shown is None:
            raise NotFound(f"There is no edition {name!r} of class {code!r}.")
        before = next((rule for rule in of_class if rule.valid_from < shown.valid_from), None)
        report = new_edition.would_breach(shown, now=timezone.now())
        context |= {
            "shown": shown, "report": report, "limits": tuple(differences.said_of(shown)), "before": before,
            "changes": tuple(differences.class_changes(before, shown)) if before else (),
            "page": Paginator(report.rows, pages.ROWS_A_PAGE).get_page(request.GET.get("page")),
        }  # fmt: skip
    return render(request, "orders/editions.html", context)
