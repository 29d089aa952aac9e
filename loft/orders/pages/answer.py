"""The customer's page behind the link of a quote. Opening it never accepts anything: mail scanners open links too.

The link is the only key, so these pages look at no session, and their forms need no token against forgery: whoever can make a browser
send one knows the link and could send it himself. (With `no-referrer` a browser sends `Origin: null`, which such a check refuses.)
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from datetime import datetime
from typing import Concatenate, ParamSpec

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from costing.errors import InputError
from costing.quote import PricedBatch
from loft.common import limits, pages
from loft.common import selectors as common
from loft.common.errors import Conflict, NotFound, TooMany
from loft.documents import quote_prices, wording
from loft.documents.changes import balance_rows, changes, owed_back
from loft.orders import joining, paper, selectors, services
from loft.orders.models import Order, Revision
from loft.orders.states import SIGNED, RevisionState

P = ParamSpec("P")


def behind_a_link(page: Callable[Concatenate[HttpRequest, P], HttpResponse]) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """Decorate a public page: one and the same 404 for every link that does not open, and nothing stored or passed on."""

    @functools.wraps(page)
    def public(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        address, now = limits.client_address(request), timezone.now()
        try:
            limits.check(limits.WRONG_LINK, address, now=now)
            response = page(request, *args, **kwargs)
        except NotFound:
            response = _wrong_link(request, address, now)
        except TooMany as error:
            response = _too_many(request, error)
        response["Cache-Control"] = "no-store, private"
        response["Referrer-Policy"] = "no-referrer"
        response["X-Robots-Tag"] = "noindex, nofollow"
        return response

    return public


def count_drawn(request: HttpRequest) -> None:
    """Count a paper or a drawing that a good link has opened, by address; TooMany when there were too many."""
    limits.count(limits.LINK_DRAWN, limits.client_address(request), now=timezone.now())


def _wrong_link(request: HttpRequest, address: str, now: datetime) -> HttpResponse:
    """The one 404; from the N-th of an address on, 429."""
    try:
        limits.count(limits.WRONG_LINK, address, now=now)
    except TooMany as error:
        return _too_many(request, error)
    return render(request, "orders/no_such_link.html", status=404)


def _too_many(request: HttpRequest, error: TooMany) -> HttpResponse:
    context = {"wait": error.retry_after, "drawn": error.limit == limits.LINK_DRAWN}
    response = render(request, "orders/no_such_link.html", context, status=429)
    response["Retry-After"] = str(error.retry_after)
    return response


@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
@behind_a_link
def answer(request: HttpRequest, token: str) -> HttpResponse:
    """GET shows the quote or what became of it; POST accepts it, and a second POST finds the same order."""
    revision = selectors.revision_for_token(token, now=timezone.now())
    if request.method != "POST" or revision.state != RevisionState.ISSUED:
        return _show(request, token, revision)
    if not request.POST.get("agreed"):
        of_name = _name_wrong(request.POST.get("name", ""))
        said = f"{of_name} Also tick" if of_name else "Tick"
        told, fields = f"{said} the box to say that you accept, and send the form again.", "name agreed" if of_name else "agreed"
        return _show(request, token, revision, wrong=told, field=fields)
    try:
        services.accept(token=token, name=request.POST.get("name", ""), now=timezone.now())
    except InputError as error:
        return _show(request, token, revision, wrong=_sentence(error), field="name")
    except services.TierMissed as error:
        return _show(request, token, revision, wrong=_no_longer(str(error)), status=409)
    except services.TooLate as error:
        return _show(request, token, revision, wrong=f"This change has come too late: {error}.", status=409)
    return redirect("answer", token)


def _name_wrong(text: str) -> str:
    """What is wrong with a name, as a sentence; empty when it is one."""
    try:
        services.name_of(text)
    except InputError as error:
        return _sentence(error)
    return ""


def _sentence(error: InputError) -> str:
    wrong = "; ".join(p.message for p in error.problems)
    return f"{wrong[:1].upper()}{wrong[1:]}."


@csrf_exempt
@require_POST
@behind_a_link
def decline(request: HttpRequest, token: str) -> HttpResponse:
    """The customer does not want it. Once it is accepted, the page says so instead."""
    try:
        services.decline(token=token, now=timezone.now())
    except Conflict:
        selectors.revision_for_token(token, now=timezone.now())
    return redirect("answer", token)


@require_GET
@behind_a_link
def answer_pdf(request: HttpRequest, token: str) -> HttpResponse:
    """The PDF that was sent."""
    revision = selectors.revision_for_token(token, now=timezone.now())
    count_drawn(request)
    return pages.pdf(bytes(revision.pdf or b""), f"quote-{revision.quote.reference}.pdf")


def _not_legal(revision: Revision, batch: PricedBatch) -> list[tuple[str, tuple[str, ...]]]:
    """Each sail that is not class legal, with why: by what is offered, or since it was sold so on the floor."""
    settled = paper.settled(revision, batch)
    found = [(sail.label, sail.not_legal or settled.get(line, ())) for line, sail in enumerate(batch.sails, start=1)]
    return [(label, told) for label, told in found if told]


def _show(request: HttpRequest, token: str, revision: Revision, *, wrong: str = "", field: str = "", status: int = 400) -> HttpResponse:
    batch = paper.thaw(revision)
    ordered = Order.objects.select_related("revision").filter(revision__quote=revision.quote_id).first()
    agreed = paper.thaw(ordered.revision) if ordered and revision.change and revision.state == RevisionState.ISSUED else None
    money = paper.balance(revision)
    code = status if wrong else 200
    missed = joining.missed(revision, batch) if revision.state == RevisionState.ISSUED else ""
    wrong = wrong or (_no_longer(missed) if missed else "")
    context = {
        "token": token, "revision": revision, "quote": revision.quote, "batch": batch, "sails": list(enumerate(batch.sails, start=1)),
        "joining": wording.joining(batch), "missed": missed, "outside": _not_legal(revision, batch),
        "passed_on": quote_prices.passed_on(batch.sails), "profile": common.loft_profile(),
        "order": ordered if revision.state in SIGNED else None, "wrong": wrong, "field": field,
        "changes": ordered if agreed else None, "agreed_before": agreed, "differences": changes(agreed, batch) if agreed else (),
        "money": money, "balance": balance_rows(money, batch.currency) if money else (),
        "owed_back": owed_back(money, batch.currency) if money else "",
        "name": request.POST.get("name", ""), "agreed": bool(request.POST.get("agreed")), "private": batch.buyer == "private",
    }  # fmt: skip
    return render(request, "orders/answer.html", context, status=code)


def _no_longer(missed: str) -> str:
    return f"This quote can no longer be accepted as it stands: {missed}. Please ask us for a new one, at the number that is left."
