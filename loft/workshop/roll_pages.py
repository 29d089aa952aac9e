"""Pages of the cloth in hand: rolls and remnants, their flaws, and what lays take of them."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import Collector, InputError
from loft.common import measures, pages, versions
from loft.common.idempotency import idempotent_form
from loft.workshop import rolls
from loft.workshop.models import Roll


@require_GET
@pages.may("see_tickets")
def roll_list(request: HttpRequest) -> HttpResponse:
    """Rolls and remnants with what is free of each."""
    return _list(request)


@require_POST
@pages.may("confirm_cloth")
@idempotent_form
def book_roll(request: HttpRequest) -> HttpResponse:
    """Take a roll into stock."""
    try:
        row = _booked(request)
    except InputError as error:
        return _list(request, problems=error.problems, typed=request.POST)
    return redirect(f"{reverse('roll_list')}#roll-{row.pk}")


@require_POST
@pages.may("confirm_cloth")
def note_flaws(request: HttpRequest, pk: int) -> HttpResponse:
    """Say which stretches of a roll are to be kept clear."""

    def write(row: Roll) -> str:
        flaws = rolls.read_flaws(pages.typed(request, "flaws", most=1000, lines=True))
        rolls.note_flaws(row=row, flaws=flaws, by=pages.person(request), version=versions.of_form(request))
        return f"{row}: {len(flaws)} flaws are kept clear."

    return _write(request, pk, write)


@require_POST
@pages.may("confirm_cloth")
def put_away(request: HttpRequest, pk: int) -> HttpResponse:
    """The roll is used up or gone."""

    def write(row: Roll) -> str:
        rolls.put_away(row=row, now=timezone.now(), by=pages.person(request), version=versions.of_form(request))
        return f"{row} is off the list."

    return _write(request, pk, write)


def _booked(request: HttpRequest) -> Roll:
    wrong = Collector()
    lengths = {name: _length(request, name, wrong) for name in ("length", "usable_width")}
    with wrong.under(""):
        flaws = rolls.read_flaws(pages.typed(request, "flaws", most=1000, lines=True))
    wrong.raise_if_any()
    return rolls.book_roll(
        name=pages.typed(request, "name", most=60), cloth_code=pages.typed(request, "cloth_code", most=60),
        colour=pages.typed(request, "colour", most=60), lot=pages.typed(request, "lot", most=60), length_mm=lengths["length"],
        usable_width_mm=lengths["usable_width"], flaws=flaws, now=timezone.now(), by=pages.person(request),
    )  # fmt: skip


def _length(request: HttpRequest, name: str, wrong: Collector) -> int:
    try:
        return round(measures.parse_length(pages.typed(request, name, most=40)).mm)
    except measures.MeasureError as error:
        wrong.add(name, "unreadable", f"{name.replace('_', ' ')}: {error}")
        return 0


def _list(request: HttpRequest, **more: object) -> HttpResponse:
    rows = [(row, rolls.free_mm(row)) for row in rolls.rolls()]
    context = {"place": "lays", "rows": rows, **more}
    return render(request, "workshop/roll_list.html", context, status=400 if more.get("problems") else 200)


def _write(request: HttpRequest, pk: int, write: Callable[[Roll], str]) -> HttpResponse:
    row = rolls.roll(pk)
    return pages.done(request, lambda: write(row), back=reverse("roll_list"))
