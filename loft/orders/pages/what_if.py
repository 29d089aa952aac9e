"""What if: a quote as it stands beside what it would be with dearer cloth, another cloth, exchange or labour rate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import Collector, InputError, Problem
from costing.quote.what_if import Figures, WhatIf, figures
from loft.catalogue import selectors as catalogue
from loft.common import limits, pages
from loft.common.idempotency import idempotent_form
from loft.orders import paper, selectors
from loft.orders.models import WhatIfRun
from loft.orders.services.trying_out import try_out


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the comparison: what is otherwise, in words, and its figures."""

    label: str
    figures: Figures
    more_cost: Decimal


@require_GET
@pages.may("see_costs")
def what_if_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything that was tried on the last revision, and the form."""
    return _page(request, pk)


@require_POST
@pages.may("draft_quote")
@idempotent_form
def try_one(request: HttpRequest, pk: int) -> HttpResponse:
    """Try one more thing, and keep it."""
    now, place = timezone.now(), reverse("what_if", args=[pk])
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=now)
    try:
        try_out(revision=selectors.revision_to_open(pk), what=_asked(request), now=now, by=pages.person(request), made_at=place)
    except InputError as error:
        return _page(request, pk, problems=error.problems)
    return redirect(place)


def _page(request: HttpRequest, pk: int, *, problems: tuple[Problem, ...] = ()) -> HttpResponse:
    last = selectors.revision_to_open(pk)
    batch = paper.thaw(last)
    runs = last.what_ifs.order_by("pk").select_related("made_by")
    context = {
        "place": "quotes", "quote": last.quote, "last": last, "batch": batch, "values": request.POST, "problems": problems,
        "columns": [Column("as it stands", figures(batch), Decimal(0)), *(_column(run, batch.cost) for run in runs)],
        "cloths": [c for c in catalogue.assortment_of(on=batch.priced_on).cloths.values() if c.role == "body"],
    }  # fmt: skip
    return render(request, "orders/what_if.html", context, status=400 if problems else 200)


def _column(run: WhatIfRun, cost: Decimal) -> Column:
    values = {name: Decimal(text) if text else None for name, text in run.figures.items()}
    found = Figures(**values)  # type: ignore[arg-type]  # only margins may be nothing
    return Column(_words(run.asked), found, found.cost - cost)


def _words(asked: Mapping[str, Any]) -> str:
    said = []
    for field, what in (("cloth_rise", "cloth"), ("foreign_rise", "foreign money")):
        if rise := Decimal(asked[field]) * 100:
            said.append(f"{what} {rise.normalize():+f} %")
    said += [f"in {asked['cloth']}"] if asked["cloth"] else []
    said += [f"labour at {asked['labour_rate']} an hour"] if asked["labour_rate"] else []
    return ", ".join(said)


def _asked(request: HttpRequest) -> WhatIf:
    wrong = Collector()
    cloth_rise = _number(request, "cloth_rise", wrong) or Decimal(0)
    foreign_rise = _number(request, "foreign_rise", wrong) or Decimal(0)
    what = WhatIf(cloth_rise / 100, pages.typed(request, "cloth", most=60), foreign_rise / 100, _number(request, "labour_rate", wrong))
    wrong.raise_if_any()
    return what


def _number(request: HttpRequest, field: str, wrong: Collector) -> Decimal | None:
    text = request.POST.get(field, "").strip()
    if not text:
        return None
    try:
        number = Decimal(text)
    except InvalidOperation:
        number = Decimal("NaN")
    if number.is_finite() and len(text) <= 12 and abs(number) < 100_000:
        return number
    wrong.add(field, "not_a_number", f"{text[:20]!r} is not a number: write it like 8 or 31.50, with a decimal point")
    return None
