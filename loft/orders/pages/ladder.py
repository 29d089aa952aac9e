"""The price ladder of a quote's sail: a chart with its table, and the batch size that reaches a price."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from costing.errors import InputError
from costing.quote import Design, House, SailRequest, ladder, what_if
from costing.quote.ladder import Rung
from loft.catalogue import selectors as catalogue
from loft.common import pages
from loft.customers import boats_csv
from loft.orders import paper, selectors
from loft.orders.models import Revision
from loft.workshop import selectors as workshop

#: The drawing: its size, and the room left for the figures at its left and foot; user units.
WIDTH, HEIGHT, LEFT, FOOT = 720, 280, 60, 30


@dataclass(frozen=True, slots=True)
class Curve:
    """A line of the chart: what it shows, its points as SVG writes them, its colour and how it is dashed."""

    label: str
    points: str
    stroke: str
    dashes: str


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on an axis: where, and what stands there."""

    at: float
    label: str


@dataclass(frozen=True, slots=True)
class Chart:
    """Everything of the chart that is not fixed."""

    curves: tuple[Curve, ...]
    money: tuple[Tick, ...]
    sails: tuple[Tick, ...]


@require_GET
@pages.may("see_costs")
def ladder_page(request: HttpRequest, pk: int) -> HttpResponse:
    """1 to 60 sails like the one that the quote has most of, at the lists and terms of the day on which it was priced."""
    revision = selectors.revision_to_open(pk)
    batch = paper.thaw(revision)
    asked = request.GET.get("price", "").strip()
    context: dict[str, object] = {
        "place": "quotes", "quote": revision.quote, "batch": batch, "asked": asked, "width": WIDTH, "height": HEIGHT,
    }  # fmt: skip
    try:
        asking = _asking(revision)
        rungs = ladder.ladder(asking.sail, asking.house, buyer=batch.buyer, on=batch.priced_on, known=asking.known, joined=batch.joined)
    except InputError as error:
        return render(request, "orders/ladder.html", context | {"problems": error.problems}, status=409)
    price = _price(request, asked)
    context |= {"rungs": rungs, "sail": asking.label, "chart": chart(rungs), "foot": HEIGHT - FOOT, "left": LEFT}
    if price is not None:
        context["cloths"] = what_if.cloths_at(
            asking.sail, asking.house, price, buyer=batch.buyer, on=batch.priced_on, known=asking.known, joined=batch.joined
        )  # fmt: skip
        context |= {"price": price, "reached": ladder.first_at_most(rungs, price), "affordable": ladder.first_affordable(rungs, price)}
    return render(request, "orders/ladder.html", context)


@dataclass(frozen=True, slots=True)
class _Asking:
    """The sail that the ladder is of, and what it is priced with."""

    label: str
    sail: SailRequest
    house: House
    known: Mapping[str, Design]


def _asking(revision: Revision) -> _Asking:
    batch = paper.thaw(revision)
    versions = {p.code: p.version for p in batch.made_by}
    first = revision.pattern_code
    house = catalogue.house(pattern=first, on=batch.priced_on, terms=batch.terms_code, version=versions.get(first))
    sails = boats_csv.read_boats(revision.boats.encode(), pattern=house.pattern, others=house.others)
    (most_made, _), *_ = Counter(sail.design_key for sail in batch.sails).most_common(1)
    place = next(i for i, sail in enumerate(batch.sails) if sail.design_key == most_made)
    own = batch.pattern_of(batch.sails[place])
    if own.code != first:
        house = catalogue.house(pattern=own.code, on=batch.priced_on, terms=batch.terms_code, version=own.version)
    sail = replace(sails[place], sail_number=None, pattern="")
    return _Asking(batch.sails[place].label, sail, house, workshop.designs_by_key({most_made}))


def _price(request: HttpRequest, asked: str) -> Decimal | None:
    if not asked:
        return None
    try:
        price = Decimal(asked)
    except InvalidOperation:
        price = Decimal("NaN")
    if price.is_finite() and 0 < price < 1_000_000:
        return price
    messages.error(request, f"{asked[:40]!r} is not a price: write it like 425 or 425.50.")
    return None


def chart(rungs: tuple[Rung, ...]) -> Chart:
    """The net price by the terms, the price at target margin and the cost, against the number of sails."""
    top = max(max(r.net, r.at_target) for r in rungs)
    low = min(min(r.cost, r.net) for r in rungs)
    low -= (top - low) / 10
    span = top - low or Decimal(1)

    def x(sails: int) -> float:
        return LEFT + (sails - 1) * (WIDTH - LEFT - 10) / max(len(rungs) - 1, 1)

    def y(amount: Decimal) -> float:
        return 10 + float((top - amount) / span) * (HEIGHT - FOOT - 10)

    def curve(label: str, values: list[Decimal], stroke: str, dashes: str) -> Curve:
        points = " ".join(f"{x(r.sails):.1f},{y(v):.1f}" for r, v in zip(rungs, values, strict=True))
        return Curve(label, points, stroke, dashes)

    curves = (
        curve("net price by the terms", [r.net for r in rungs], "#14507a", ""),
        curve("lowest price at target margin", [r.at_target for r in rungs], "#8a5a00", "6 4"),
        curve("cost", [r.cost for r in rungs], "#555555", "2 3"),
    )
    money = tuple(Tick(round(y(low + span * i / 4), 1), f"{low + span * i / 4:.0f}") for i in range(5))
    sails = tuple(Tick(round(x(n), 1), str(n)) for n in (1, 5, 10, 20, 30, 40, 50, 60) if n <= len(rungs))
    return Chart(curves, money, sails)
