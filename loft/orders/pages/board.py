"""The order board: every open order, how far its sails are, what is missing and who is asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from loft.catalogue import selectors as catalogue
from loft.common import pages, policies
from loft.common import selectors as common
from loft.common.errors import NotFound
from loft.orders import selectors
from loft.workshop.selectors import Missing
from loft.workshop.states import Need


@dataclass(frozen=True, slots=True)
class Asked:
    """One kind of thing that an order still waits for: of whom, for how many of its sails."""

    need: str
    whom: tuple[str, ...]
    sails: int


@require_GET
@pages.may("see_orders")
def order_board(request: HttpRequest) -> HttpResponse:
    """Open orders, and for managers the quotes that customers have in hand."""
    now = timezone.now()
    board = [(row, asked(row.missing)) for row in selectors.order_board()]
    context = {"place": "orders", "board": board, "today": _today()}
    if policies.allowed(request.user, "see_prices"):
        context |= {"unanswered": selectors.unanswered(now), "counts": selectors.count_by_state()}
    if not board:
        context["first_steps"] = _first_steps()
    return render(request, "orders/board.html", context)


def asked(missing: Iterable[Missing]) -> tuple[Asked, ...]:
    """What is missing, one row a kind, in the order in which the desk asks."""
    by_kind: dict[str, list[Missing]] = {}
    for one in missing:
        by_kind.setdefault(one.kind, []).append(one)
    ranked = sorted(by_kind, key=Need.values.index)
    return tuple(Asked(Need(kind).label, tuple(dict.fromkeys(m.asked for m in by_kind[kind])), len(by_kind[kind])) for kind in ranked)


def _today() -> object:
    try:
        return common.local_time(timezone.now(), common.loft_profile()).date()
    except NotFound:
        return timezone.now().date()


def _first_steps() -> dict[str, bool]:
    """What a new service still lacks before its first quote."""
    try:
        common.loft_profile()
        profile = True
    except NotFound:
        profile = False
    today = timezone.now().date()
    return {
        "profile": profile,
        "classes": bool(catalogue.class_rules()),
        "patterns": bool(catalogue.patterns()),
        "lists": bool(catalogue.supplier_lists()),
        "house": bool(catalogue.terms(on=today)),
    }
