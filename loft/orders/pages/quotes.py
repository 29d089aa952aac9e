"""Pages of quotes: the list, one quote with everything that it rests on, its papers, and what can be done with it."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import InputError
from loft.common import limits, pages, versions
from loft.common import selectors as common
from loft.common.errors import NotFound
from loft.common.idempotency import idempotent_form
from loft.documents import wording
from loft.orders import paper, selectors, services
from loft.orders.models import Quote, Revision
from loft.orders.pages import quote_view
from loft.orders.states import RevisionState


@require_GET
@pages.may("see_prices")
def quote_list(request: HttpRequest) -> HttpResponse:
    """Quotes, the newest first, or those in one state: by the contract where there is one, else by the last revision."""
    state = request.GET.get("state", "")
    rows = selectors.quotes_in(state) if state in RevisionState.values else selectors.quotes()
    page = Paginator(rows, pages.ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "place": "quotes", "page": page, "rows": [_row(quote) for quote in page], "state": state,
        "states": [(s.value, s.label) for s in RevisionState if s not in (RevisionState.SUPERSEDED, RevisionState.REPLACED)],
    }  # fmt: skip
    return render(request, "orders/quote_list.html", context)


@require_GET
@pages.may("see_prices")
def quote_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One quote: the last revision, of an order its contract or the change that is open; or the one asked for with ?revision=2."""
    return _show(request, pk)


@require_POST
@pages.may("issue_quote")
def issue(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the number, open the link and send the mail."""
    try:
        reason = pages.typed(request, "reason", most=500)
        revision = services.issue(revision=_asked_revision(request, pk), by=pages.person(request), now=timezone.now(), reason=reason)
    except InputError as error:
        return _show(request, pk, problems=error.problems, reason=request.POST.get("reason", ""))
    messages.success(request, f"Issued as {revision.quote.reference}; the mail with the link is on its way.")
    return redirect("quote_page", pk)


@require_POST
@pages.may("draft_quote")
def settle_doubts(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody stands by the sizes that are hard to believe."""

    def write() -> str:
        name = pages.typed(request, "name", most=120)
        services.settle_doubts(revision=_asked_revision(request, pk), name=name, by=pages.person(request), now=timezone.now())
        return f"{name} stands by these sizes."

    return pages.done(request, write, back=request.path.removesuffix("doubts/"))


@require_POST
@pages.may("draft_quote")
@idempotent_form
def drop_outs(request: HttpRequest, pk: int) -> HttpResponse:
    """Price the quote again without the boats that dropped out, at the tier that the rest reaches."""
    quote, now, back = selectors.quote(pk), timezone.now(), reverse("quote_page", args=[pk])
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=now)
    lines = {int(text) if text.isdecimal() and len(text) < 6 else 0 for text in request.POST.getlist("line")}

    def write() -> str:
        row = services.reprice_left(
            quote=quote, lines=lines, today=common.local_time(now, common.loft_profile()).date(), now=now, by=pages.person(request),
            seen=versions.of_form(request), made_at=back,
        )  # fmt: skip
        offered = f"Revision {row.revision} has {wording.sails(row.sails)} on terms {row.terms_code}"
        return f"{offered}. Issue it, so that the customer can accept."

    return pages.done(request, write, back=back)


@require_POST
@pages.may("cancel_quote")
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the revision back; its link is dead."""

    def write() -> str:
        services.cancel(revision=_asked_revision(request, pk), now=timezone.now(), by=pages.person(request))
        return "The quote is cancelled. Its link no longer opens."

    return pages.done(request, write, back=request.path.removesuffix("cancel/"))


@require_GET
@pages.may("see_prices")
@pages.drawn
def quote_pdf(request: HttpRequest, pk: int, revision: int) -> HttpResponse:
    """The PDF that was sent; for a draft, one drawn now without number and link."""
    row = _revision(pk, revision)
    return pages.pdf(paper.quote_pdf(row, common.loft_profile()), _file_name("quote", row))


@require_GET
@pages.may("see_costs")
@pages.drawn
def cost_sheet_pdf(request: HttpRequest, pk: int, revision: int) -> HttpResponse:
    """Every cost of a revision: for the loft alone."""
    row = _revision(pk, revision)
    return pages.pdf(paper.cost_sheet_pdf(row, common.loft_profile()), _file_name("cost-sheet", row))


def _show(request: HttpRequest, pk: int, **more: object) -> HttpResponse:
    quote = selectors.quote(pk)
    last = selectors.last_revision(pk)
    asked = request.GET.get("revision", "")
    revision = _revision(pk, int(asked)) if asked.isdecimal() else selectors.revision_to_open(pk)
    contract = next((one for one in quote.revisions.all() if one.state == RevisionState.ACCEPTED), None)
    context = {
        "place": "quotes", "quote": quote, "last": last, "contract": contract, **more,
        **quote_view.revision_context(revision, common.loft_profile(), now=timezone.now()),
    }  # fmt: skip
    return render(request, "orders/quote.html", context, status=400 if more else 200)


def _row(quote: Quote) -> tuple[Quote, Revision, Revision | None]:
    """A quote with the revision that it is shown by, and beside a contract the change that is open."""
    rows = list(quote.revisions.all())
    shown = selectors.shown(rows)
    change = rows[0] if rows[0] is not shown and rows[0].state in selectors.OPEN else None
    return quote, shown, change


def _asked_revision(request: HttpRequest, pk: int) -> Revision:
    """The revision that the form was about; it stays that one if somebody has revised the quote meanwhile."""
    number = request.POST.get("revision", "")
    return _revision(pk, int(number)) if number.isdecimal() else selectors.last_revision(pk)


def _revision(quote_pk: int, number: int) -> Revision:
    rows = Revision.objects.select_related("quote__customer", "link", "issued_by")
    row = rows.filter(quote__pk=quote_pk, revision=number).first()
    if row is None:
        raise NotFound(f"There is no revision {number} of this quote.")
    return row


def _file_name(what: str, row: Revision) -> str:
    return f"{what}-{row.quote.reference or 'draft'}-revision-{row.revision}.pdf"
