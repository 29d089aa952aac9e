"""Pages of shared lays: what waits to be laid, planning with its progress, rolls, cutting, and the files for the table."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from costing.errors import InputError, problem
from loft import documents
from loft.common import limits, measures, pages, versions
from loft.common import selectors as common
from loft.common.errors import Conflict, NotFound
from loft.common.idempotency import idempotent_form
from loft.documents import cut_files
from loft.workshop import lay_cloths, lay_entries, lay_paper, lay_planning, lay_selectors, lays, remakes, rolls, selectors
from loft.workshop.models import Lay, Remake, Ticket
from loft.workshop.states import LayState

_DXF = "image/vnd.dxf"
Writer = TypeVar("Writer")


@require_GET
@pages.may("see_tickets")
def lay_list(request: HttpRequest) -> HttpResponse:
    """What waits to be laid, by cloth and colour, and the lays that there are."""
    return _list(request)


@require_POST
@pages.may("plan_lay")
@idempotent_form
def new_lay(request: HttpRequest) -> HttpResponse:
    """Begin a lay of the sails that were ticked."""
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=timezone.now())
    try:
        lay = lays.begin(
            tickets=_ticked(request), again=_ticked_again(request), cut_from=_cut_from(request), steps=_steps(request),
            neighbours=bool(request.POST.get("neighbours")), offered=_numbers(request, "remnant"), now=timezone.now(),
            by=pages.person(request), made_at=reverse("lay_page", args=(0,)).replace("0", "{}"),
        )  # fmt: skip
    except InputError as error:
        return _list(request, problems=error.problems)
    return redirect("lay_page", lay.pk)


def _list(request: HttpRequest, **more: object) -> HttpResponse:
    state = request.GET.get("state", "")
    page = Paginator(lay_selectors.lay_list(state=state), pages.ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "place": "lays", "page": page, "rows": [lay_selectors.lay_row(row) for row in page], "state": state, "states": LayState.choices,
        "waiting": lay_selectors.waiting_sails(), "thorough": lays.THOROUGH, **more,
    }  # fmt: skip
    return render(request, "workshop/lay_list.html", context, status=400 if more.get("problems") else 200)


@require_GET
@pages.may("see_tickets")
def lay_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One lay: how far its planning is, its sections, rolls and shares."""
    row = lay_selectors.lay_row(lay_selectors.lay(pk))
    laid = lay_planning.designs(row.lay)
    uncut = [s for s in row.sections if s.cut_at is None]
    context = {
        "place": "lays", "lay": row.lay, "row": row, "thorough": lays.THOROUGH,
        "sections": [
            (s, lays.section_remnants(s, laid) if s.roll_id and s.cut_at is None else (), lay_selectors.over_flaw(s)) for s in row.sections
        ],
        "rolls": [(r, rolls.free_mm(r)) for r in rolls.rolls(cloth_code=row.lay.cloth_code, colour=row.lay.colour or None)],
        "to_cut": len(uncut), "on_rolls": all(s.roll_id for s in uncut),
    }  # fmt: skip
    return render(request, "workshop/lay.html", context)


@require_POST
@pages.may("plan_lay")
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    """End the planning with the best found so far."""

    def write(lay: Lay) -> str:
        lays.stop(lay=lay, by=pages.person(request))
        return "The planning ends with the best that it has found."

    return _write(request, pk, write)


@require_POST
@pages.may("plan_lay")
def plan_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Lay what is not cut yet anew."""
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=timezone.now())

    def write(lay: Lay) -> str:
        by, fit = pages.person(request), bool(request.POST.get("fit_rolls"))
        lays.plan_again(lay=lay, steps=_steps(request), fit_rolls=fit, by=by, version=versions.of_form(request))
        return "It is planned again."

    return _write(request, pk, write)


@require_POST
@pages.may("plan_lay")
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the lay up."""

    def write(lay: Lay) -> str:
        lays.cancel(lay=lay, now=timezone.now(), by=pages.person(request), version=versions.of_form(request))
        return "The lay is cancelled: its sails may go on another one."

    return _write(request, pk, write)


@require_POST
@pages.may("confirm_cloth")
def put_on_rolls(request: HttpRequest, pk: int) -> HttpResponse:
    """Find every uncut section its place on the rolls that were ticked, or on any."""

    def write(lay: Lay) -> str:
        by, seen = pages.person(request), versions.of_form(request)
        lays.put_on_rolls(lay=lay, only=_numbers(request, "roll"), now=timezone.now(), by=by, version=seen)
        return "Every section has its place, and the cloth of its sails is booked."

    return _write(request, pk, write)


@require_POST
@pages.may("work_cutter")
def cut_section(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """A section has been cut."""
    section = lay_selectors.section(pk, number)

    def write(lay: Lay) -> str:
        keep = [number - 1 for number in _numbers(request, "keep")]
        lays.cut_section(
            section=section, actual_mm=_length(request, "actual"), keep=keep, now=timezone.now(), by=pages.person(request),
            version=versions.of_form(request),
        )  # fmt: skip
        return f"Section {number} is cut; its sails share the cloth."

    return _write(request, pk, write)


@require_GET
@pages.may("see_tickets")
@pages.drawn
def section_drawing(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """A section as it is cut, as SVG."""
    section = lay_selectors.section(pk, number)
    _, designs = lay_selectors.drawn(section)
    return HttpResponse(documents.shared_lay_svg(designs, lay_planning.drawn_section(section)), content_type="image/svg+xml")


@require_GET
@pages.may("see_tickets")
@pages.drawn
def lay_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The cutter's sheet of a shared lay."""
    row = lay_selectors.lay_row(lay_selectors.lay(pk))
    if not row.to_print:
        raise NotFound(f"{row.lay} is {row.lay.get_state_display()}: its sheet is there once it is planned.")
    return pages.pdf(documents.lay_sheet_pdf(lay_paper.lay_document(row, common.loft_profile())), f"lay-{row.lay.number}.pdf")


@require_GET
@pages.may("see_tickets")
@pages.drawn
def section_file(request: HttpRequest, pk: int, number: int, layers: str) -> HttpResponse:
    """A section for the cutting table: "plain" (DXF R2010) or "d6673" (by ASTM D6673)."""
    section = lay_selectors.section(pk, number)
    if not lay_selectors.may_be_cut(section):
        raise Conflict(f"{section.lay} is {section.lay.get_state_display()}: section {number} is not to be cut as it lies")
    alone, designs = lay_selectors.drawn(section)
    write = _one_of(layers, {"plain": cut_files.section_dxf, "d6673": cut_files.section_d6673})
    names = lay_paper.section_names(section, now=timezone.now())
    return _dxf(write(alone, 0, lay_paper.section_parts(section, designs), names), f"{section.lay.number}-section-{number}-{layers}.dxf")


@require_GET
@pages.may("see_tickets")
@pages.drawn
def parts_file(request: HttpRequest, pk: int, layers: str) -> HttpResponse:
    """Every part of a sail for the cutting table."""
    ticket = selectors.ticket(pk)
    parts = lay_paper.penned_parts(ticket, lay_cloths.design_of(ticket))
    write = _one_of(layers, {"plain": cut_files.parts_dxf, "d6673": cut_files.parts_d6673})
    return _dxf(write(parts, lay_paper.ticket_names(ticket, now=timezone.now())), f"{ticket.number}-parts-{layers}.dxf")


@require_GET
@pages.may("see_tickets")
@pages.drawn
def ticket_section_file(request: HttpRequest, pk: int, place: int, number: int, layers: str) -> HttpResponse:
    """A section of a sail's own lay for the cutting table; place: which of its lays, from 1, the body's first."""
    ticket = selectors.ticket(pk)
    design = lay_cloths.design_of(ticket)
    if not 1 <= place <= len(design.lays) or not 1 <= number <= len(design.lays[place - 1].sections):
        raise NotFound(f"{ticket} has no section {number} of a lay {place}")
    write = _one_of(layers, {"plain": cut_files.section_dxf, "d6673": cut_files.section_d6673})
    parts = {("", part.id): part for part in lay_paper.penned_parts(ticket, design)}
    return _dxf(
        write(design.lays[place - 1], number - 1, parts, lay_paper.ticket_names(ticket, now=timezone.now())),
        f"{ticket.number}-{place}-{number}-{layers}.dxf",
    )


def _one_of(layers: str, writers: dict[str, Writer]) -> Writer:
    if layers not in writers:
        raise NotFound(f"there are files by the layers {' and '.join(writers)}, none by {layers}")
    return writers[layers]


def _dxf(content: bytes, name: str) -> HttpResponse:
    return HttpResponse(content, content_type=_DXF, headers={"Content-Disposition": f'attachment; filename="{name}"'})


def _write(request: HttpRequest, pk: int, write: Callable[[Lay], str]) -> HttpResponse:
    lay = lay_selectors.lay(pk)
    return pages.done(request, lambda: write(lay), back=reverse("lay_page", args=(pk,)))


def _ticked(request: HttpRequest) -> list[Ticket]:
    chosen = _numbers(request, "ticket")[: lay_entries.MOST_SAILS + 1]
    return list(Ticket.objects.filter(pk__in=chosen).select_related("design").order_by("due_on", "number"))


def _ticked_again(request: HttpRequest) -> list[Remake]:
    chosen = set(_numbers(request, "remake"))
    return [row for row in remakes.waiting() if row.pk in chosen]


def _cut_from(request: HttpRequest) -> lay_cloths.Key | None:
    """The cloth and colour that the form was of."""
    code = pages.typed(request, "cloth", most=60)
    return (code, pages.typed(request, "colour", most=60)) if code else None


def _numbers(request: HttpRequest, field: str) -> list[int]:
    """The boxes that were ticked; what is no number is left out."""
    return [int(text) for text in request.POST.getlist(field) if text.isdecimal() and len(text) < 10]


def _steps(request: HttpRequest) -> int:
    asked = request.POST.get("thorough", "quick")
    if asked not in lays.THOROUGH:
        raise problem("thorough", "unknown", f"{asked!r} is not one of {', '.join(lays.THOROUGH)}")
    return lays.THOROUGH[asked]


def _length(request: HttpRequest, field: str) -> int:
    """A length as it was typed, in whole millimetres; a bare number is metres here, as on the roll."""
    text = pages.typed(request, field, most=40)
    try:
        return round(measures.parse_length(f"{text} m" if text.replace(".", "", 1).isdecimal() else text).mm)
    except measures.MeasureError as error:
        raise problem(field, "unreadable", f"{field} metres: {error}") from error
