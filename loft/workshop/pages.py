"""The floor's pages: tickets, what they wait for, their steps and sheets. Nothing here shows a price or a cost."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import problem
from loft import documents
from loft.common import pages, versions
from loft.common import selectors as common
from loft.common.errors import NotFound
from loft.documents import finished_sizes
from loft.workshop import lay_selectors, non_class, paper, remakes, selectors, services
from loft.workshop.models import Step, Ticket
from loft.workshop.states import Need, TicketState

_SHEETS: Mapping[str, Callable[[documents.TicketDocument], bytes]] = {
    "cutter": documents.cutter_sheet_pdf,
    "sewer": documents.sewer_sheet_pdf,
    "finisher": documents.finisher_sheet_pdf,
}
_FLOOR = (TicketState.HELD, TicketState.RELEASED, TicketState.IN_WORK)


@dataclass(frozen=True, slots=True)
class StationSteps:
    """The steps of one station, with what may be done with each now."""

    station: str
    minutes: Decimal
    rows: tuple[StepRow, ...]


@dataclass(frozen=True, slots=True)
class StepRow:
    """A step; `waits` says why it cannot be started yet, empty when it can or has been."""

    step: Step
    state: str  # "to do", "in work" or "done"
    waits: str
    asks_metres: bool


@require_GET
@pages.may("see_tickets")
def ticket_list(request: HttpRequest) -> HttpResponse:
    """Tickets in the order in which they are due, by state, order and what they wait for."""
    state, order, waiting = (request.GET.get(name, "").replace("\x00", "").strip() for name in ("state", "order", "waiting"))
    rows = selectors.tickets(state=state if state in TicketState.values else "", order_number=order.upper())
    if not state:
        rows = rows.filter(state__in=_FLOOR)
    if waiting in Need.values:
        rows = rows.filter(requirements__kind=waiting, requirements__met_at__isnull=True)
    page = Paginator(rows, pages.ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "place": "tickets", "page": page, "rows": [(row, [Need(m.kind).label for m in selectors.waiting_for(row)]) for row in page],
        "state": state, "order": order, "waiting": waiting, "states": TicketState.choices, "needs": Need.choices,
        "filtered": bool(state or order or waiting), "none_at_all": not page and not Ticket.objects.exists(),
    }  # fmt: skip
    return render(request, "workshop/ticket_list.html", context)


@require_GET
@pages.may("see_tickets")
def ticket_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One sail: what it is, what it waits for, its steps by station, its drawings and sheets."""
    ticket = selectors.ticket(pk)
    now = timezone.now()
    document = paper.ticket_document(ticket, common.loft_profile(), now=now)
    needs = sorted(ticket.requirements.all(), key=lambda need: Need.values.index(need.kind))
    context = {
        "place": "tickets", "ticket": ticket, "sail": document.sail, "design": document.design, "needs": needs,
        "missing": selectors.waiting_for(ticket), "stations": _stations(ticket), "sheets": tuple(_SHEETS),
        "shared_lays": lay_selectors.lays_of(ticket), "remakes": lay_selectors.remakes_of(ticket), "may_remake": remakes.may_ask(ticket),
        "over": ticket.state in (TicketState.READY, TicketState.SCRAPPED),
        "sizes": finished_sizes.texts(document.finished), "measured_sets": selectors.finished_sets(ticket), "edition": document.edition,
        "in_work": ticket.state == TicketState.IN_WORK,
        "may_change_cloth": ticket.state in (TicketState.HELD, TicketState.RELEASED),
    }  # fmt: skip
    return render(request, "workshop/ticket.html", context)


@require_GET
@pages.may("see_tickets")
@pages.drawn
def sheet(request: HttpRequest, pk: int, station: str) -> HttpResponse:
    """The sheet of one station as PDF."""
    if station not in _SHEETS:
        raise NotFound(f"There is no sheet for a {station}: there are {', '.join(_SHEETS)}.")
    ticket = selectors.ticket(pk)
    content = _SHEETS[station](paper.ticket_document(ticket, common.loft_profile(), now=timezone.now()))
    return pages.pdf(content, f"ticket-{ticket.number}-{station}.pdf")


@require_GET
@pages.may("see_tickets")
@pages.drawn
def sail_drawing(request: HttpRequest, key: str) -> HttpResponse:
    """A design's dimensioned sail, starboard side; with ?ticket= what that ticket's sail has outside the class rules stands on it."""
    pk = request.GET.get("ticket", "")
    ticket = Ticket.objects.filter(pk=int(pk), design__key=key).only("not_legal").first() if pk.isdecimal() and len(pk) < 12 else None
    return _drawing(documents.sail_svg(selectors.designs_by_key({key})[key], not_legal=ticket.not_legal if ticket else ()))


@require_GET
@pages.may("see_tickets")
@pages.drawn
def lay_drawing(request: HttpRequest, key: str) -> HttpResponse:
    """A design's lays, section by section."""
    return _drawing(documents.lay_svg(selectors.designs_by_key({key})[key]))


@require_POST
@pages.may("work_ticket")
def start_step(request: HttpRequest, pk: int, position: int) -> HttpResponse:
    """Begin a step."""
    step = selectors.step(ticket_pk=pk, position=position)

    def write() -> str:
        services.start_step(step=step, by=pages.person(request), now=timezone.now())
        return f"Started: {step.label}."

    return pages.done(request, write, back=_back(pk, "steps"))


@require_POST
@pages.may("work_ticket")
def finish_step(request: HttpRequest, pk: int, position: int) -> HttpResponse:
    """End a step, with the metres really used where it asks for them."""
    step = selectors.step(ticket_pk=pk, position=position)

    def write() -> str:
        metres = _metres(request.POST.get("metres_used", ""))
        services.finish_step(step=step, by=pages.person(request), now=timezone.now(), metres_used=metres)
        return f"Finished: {step.label}."

    return pages.done(request, write, back=_back(pk, "steps"))


@require_POST
@pages.may("release_ticket")
def confirm_options(request: HttpRequest, pk: int) -> HttpResponse:
    """The customer has confirmed the options."""

    def confirm(ticket: Ticket) -> str:
        services.confirm_options(ticket=ticket, by=pages.person(request), now=timezone.now(), version=versions.of_form(request))
        return "Options confirmed."

    return meet(request, pk, confirm)


@require_POST
@pages.may("confirm_cloth")
def book_cloth(request: HttpRequest, pk: int) -> HttpResponse:
    """Set a roll and lot aside for this sail."""

    def book(ticket: Ticket) -> str:
        roll, lot = pages.typed(request, "roll", most=60), pages.typed(request, "lot", most=60)
        by, seen = pages.person(request), versions.of_form(request)
        services.book_cloth(tickets=[ticket], roll=roll, lot=lot, by=by, now=timezone.now(), version=seen)
        return f"Roll {roll}, lot {lot} set aside."

    return meet(request, pk, book)


@require_POST
@pages.may("release_ticket")
def check_rules(request: HttpRequest, pk: int) -> HttpResponse:
    """Compare the sail with the class edition once more, as after another promised day or another edition."""

    def compare(ticket: Ticket) -> str:
        by, seen = pages.person(request), versions.of_form(request)
        inside = services.check_rules_again(ticket=ticket, by=by, now=timezone.now(), version=seen)
        return "Nothing breaches the class rules." if inside else "It still breaches the class rules: see below."

    return meet(request, pk, compare)


@require_POST
@pages.may("sell_non_class")
def sell_non_class(request: HttpRequest, pk: int) -> HttpResponse:
    """Sell a sail that the class rules hold as NON-CLASS, on the customer's written yes."""

    def sell(ticket: Ticket) -> str:
        name, words = pages.typed(request, "name", most=120), pages.typed(request, "words", most=500)
        yes = non_class.WrittenYes(name, _day(request.POST.get("said_on", "")), words)
        off, seen = bool(request.POST.get("label_is_off")), versions.of_form(request)
        non_class.sell(ticket=ticket, yes=yes, label_is_off=off, by=pages.person(request), now=timezone.now(), version=seen)
        return "Sold as NON-CLASS: every paper of this sail says so from now on."

    return meet(request, pk, sell)


@require_POST
@pages.may("work_ticket")
def record_label(request: HttpRequest, pk: int) -> HttpResponse:
    """The class's label has been sewn on."""

    def record(ticket: Ticket) -> str:
        number = pages.typed(request, "label_number", most=40)
        by, seen = pages.person(request), versions.of_form(request)
        services.record_label(ticket=ticket, label_number=number, by=by, now=timezone.now(), version=seen)
        return f"Class label {number} recorded."

    return meet(request, pk, record)


@require_POST
@pages.may("scrap_ticket")
def scrap(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the sail out of work for good."""

    def write(ticket: Ticket) -> str:
        services.scrap(
            ticket=ticket, reason=pages.typed(request, "reason", most=300), now=timezone.now(), by=pages.person(request),
            version=versions.of_form(request),
        )  # fmt: skip
        return "Scrapped."

    return meet(request, pk, write)


def meet(request: HttpRequest, pk: int, write: Callable[[Ticket], str]) -> HttpResponse:
    """Do a write on a ticket and say what it did, and whether that released the ticket."""
    ticket = selectors.ticket(pk)

    def do() -> str:
        said = write(ticket)
        released = ticket.state == TicketState.HELD and selectors.ticket(pk).state == TicketState.RELEASED
        return f"{said} The ticket is released." if released else said

    return pages.done(request, do, back=_back(pk))


def _back(pk: int, part: str = "") -> str:
    return reverse("ticket_page", args=(pk,)) + (f"#{part}" if part else "")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise problem("said_on", "invalid", f"{text.strip()!r} is no day of the written yes; write it like 2026-03-31") from error


def _metres(text: str) -> Decimal | None:
    """What was typed as metres; nothing typed is nothing recorded."""
    if not text.strip():
        return None
    try:
        metres = Decimal(text.strip())
    except InvalidOperation as error:
        raise problem("metres_used", "invalid", f"{text.strip()!r} is not a number of metres; write it like 4.85") from error
    if not metres.is_finite() or not 0 < metres < 1000 or round(metres, 3) != metres:
        raise problem("metres_used", "invalid", "metres are more than 0, less than 1000 and have at most three decimals, like 4.85")
    return metres


def _stations(ticket: Ticket) -> tuple[StationSteps, ...]:
    steps = list(ticket.steps.all())
    names = list(dict.fromkeys(step.station for step in steps))
    by_station = [(name, [step for step in steps if step.station == name]) for name in names]
    return tuple(StationSteps(name, sum((s.minutes for s in own), Decimal(0)), _rows(ticket, own)) for name, own in by_station)


def _rows(ticket: Ticket, steps: Iterable[Step]) -> tuple[StepRow, ...]:
    """The last step of the cutter asks for the metres."""
    steps = list(steps)
    return tuple(
        StepRow(
            step=step,
            state="done" if step.finished_at else "in work" if step.started_at else "to do",
            waits=_waits(ticket, step),
            asks_metres=step.station == "cutter" and step is steps[-1],
        )
        for step in steps
    )


def _waits(ticket: Ticket, step: Step) -> str:
    if step.started_at:
        return ""
    if ticket.state not in (TicketState.RELEASED, TicketState.IN_WORK):
        return str(ticket.get_state_display())
    return "waits for the sail number" if step.needs_number and ticket.sail_number is None else ""


def _drawing(svg: str) -> HttpResponse:
    """A design never changes under its key, so the browser may keep the drawing for a while."""
    return HttpResponse(svg, content_type="image/svg+xml", headers={"Cache-Control": "private, max-age=3600"})
