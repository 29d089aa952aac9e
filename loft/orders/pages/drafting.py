"""The form for a new quote, and for a new revision of one: priced when it is sent, and shown again with everything that is wrong."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from django import forms
from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from costing.errors import Collector, InputError, Problem, problem
from costing.quote import Pattern
from loft.catalogue import selectors as catalogue
from loft.common import limits, pages, versions
from loft.common import selectors as common
from loft.common.errors import Conflict, NotFound, Stale
from loft.common.idempotency import idempotent_form
from loft.customers import boats_csv
from loft.customers import selectors as customers
from loft.customers import services as customer_services
from loft.customers.models import Customer
from loft.orders import joining, pricing, selectors, services
from loft.orders.models import Order, Quote, Revision
from loft.orders.pages import list_lines
from loft.orders.pages.problem_rows import problem_rows
from loft.orders.states import RevisionState

NEW = "new"


class BatchForm(forms.Form):
    """Pattern, terms, day and the list of boats. A file, when one is chosen, is read instead of the text."""

    pattern = forms.ChoiceField()
    terms = forms.ChoiceField(required=False)
    on = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}), error_messages={"invalid": "write the day like 2026-03-31"})
    at_list = forms.BooleanField(required=False)
    file = forms.FileField(required=False, max_length=300)
    boats = forms.CharField(required=False, strip=False, max_length=boats_csv.MOST_BYTES)

    def __init__(self, *args: object, today: date, terms: str = "", **kwargs: object) -> None:
        """terms: the only ones that can be had, those of the order that is joined; empty: all of the day."""
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.newest = {p.code: p for p in reversed(catalogue.patterns())}
        self.fields["pattern"].choices = [(code, f"{p.name} ({code} version {p.version})") for code, p in sorted(self.newest.items())]  # type: ignore[attr-defined]
        codes = [terms] if terms else [t.code for t in catalogue.terms(on=self._day() or today)]
        self.fields["terms"].choices = [(code, code) for code in codes]  # type: ignore[attr-defined]
        self.fields["on"].initial = today

    def _day(self) -> date | None:
        """The day that was asked for, if it is one: its terms are the ones to choose from."""
        try:
            return date.fromisoformat(str(self.data.get("on", "")))
        except ValueError:
            return None

    def clean(self) -> dict[str, object]:
        """Put the list that counts into `list`, as bytes; a file's text goes into the box, so that it can be corrected there."""
        cleaned = dict(super().clean() or {})
        file, text = cleaned.get("file"), str(cleaned.get("boats") or "")
        if file is not None and file.size > boats_csv.MOST_BYTES:
            self.add_error("file", f"the file has {file.size:,} bytes; at most {boats_csv.MOST_BYTES:,} are read")
        elif file is not None:
            cleaned["list"] = file.read()
            file.seek(0)
        elif text.strip():
            cleaned["list"] = text.encode()
        elif "file" not in self.errors:
            self.add_error("boats", "choose a file or paste the list of boats")
        return cleaned


class QuoteForm(BatchForm):
    """A batch with its customer: one that is stored, or a new one."""

    customer = forms.CharField(max_length=20)
    name = forms.CharField(required=False, max_length=200)
    kind = forms.ChoiceField(required=False, choices=Customer.Kind.choices, initial=Customer.Kind.ASSOCIATION)
    email = forms.CharField(required=False, max_length=254)
    address = forms.CharField(required=False, max_length=1000)
    buyer = forms.ChoiceField(required=False, choices=Customer.Buyer.choices, initial=Customer.Buyer.TRADE)

    def chosen_customer(self) -> Customer:
        """The stored customer, or the new one, checked and not stored yet; InputError names what is wrong with it."""
        cleaned = self.cleaned_data
        if cleaned["customer"] != NEW:
            try:
                return customers.customer(int(cleaned["customer"]))
            except NotFound as error:
                raise problem("", "unknown_customer", "this customer is no longer stored: choose another") from error
        fields = {name: cleaned[name] for name in ("kind", "name", "email", "address", "buyer")}
        return customer_services.new_customer(**fields)

    def clean_customer(self) -> str:
        asked: str = self.cleaned_data["customer"]
        if asked != NEW and not asked.isdecimal():
            raise forms.ValidationError("choose a customer, or a new one")
        return asked


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("draft_quote")
@idempotent_form
def new_quote(request: HttpRequest) -> HttpResponse:
    """A quote for a batch of sails."""
    now = timezone.now()
    today = common.local_time(now, common.loft_profile()).date()
    known = customers.customers()
    if request.method != "POST":
        start = {"customer": request.GET.get("customer") or ("" if known.exists() else NEW)}
        return _form(request, QuoteForm(today=today, initial=start), known=known)
    return _new(request, QuoteForm(request.POST, request.FILES, today=today), now, known=known)


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("draft_quote")
@idempotent_form
def join_order(request: HttpRequest, pk: int) -> HttpResponse:
    """A quote for boats that join the batch of an order; it starts from what the order was priced from."""
    order, now = selectors.order(pk), timezone.now()
    today = common.local_time(now, common.loft_profile()).date()
    try:
        batch = joining.batch_of(joining.batch_order(order), on=today)
    except InputError as error:
        messages.error(request, f"Not done: {'; '.join(p.message for p in error.problems)}.")
        return redirect("order_page", pk)
    known = customers.customers()
    if request.method != "POST":
        start = {"customer": order.customer_id, "pattern": order.revision.pattern_code, "at_list": order.revision.at_list}
        form = QuoteForm(today=today, terms=batch.terms, initial=start | {"terms": batch.terms})
        return _form(request, form, known=known, order=order, batch=batch)
    form = QuoteForm(request.POST, request.FILES, today=today, terms=batch.terms)
    return _new(request, form, now, known=known, order=order, batch=batch)


def _new(
    request: HttpRequest, form: QuoteForm, now: datetime, *, known: object, order: Order | None = None, batch: object = None
) -> HttpResponse:
    """Draft what a form asks for; order: one that is joined, batch: what is told of it."""
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=now)
    if _lines_chosen(form, request):
        return _form(request, form, known=known, order=order, batch=batch)
    try:
        revision = _drafted(form, request, now, joins=order)
    except InputError as error:
        return _form(request, form, problems=error.problems, known=known, order=order, batch=batch)
    return redirect("quote_page", revision.quote_id)


@require_http_methods(["GET", "HEAD", "POST"])
@pages.may("draft_quote")
@idempotent_form
def revise(request: HttpRequest, pk: int) -> HttpResponse:
    """A new revision of a quote; it starts from what the last one was priced from."""
    quote, last, now = selectors.quote(pk), selectors.last_revision(pk), timezone.now()
    if last.state == RevisionState.ACCEPTED:
        raise Conflict(f"{quote} has been accepted: it can no longer be revised")
    today = common.local_time(now, common.loft_profile()).date()
    only = last.terms_code if quote.joins_id is not None else ""  # a late joiner's are those of the batch
    if request.method != "POST":
        start = {"pattern": last.pattern_code, "terms": last.terms_code, "boats": last.boats, "at_list": last.at_list}
        return _form(request, BatchForm(today=today, terms=only, initial=start), quote=quote, last=last)
    limits.count(limits.COSTLY, str(pages.person(request).pk), now=now)
    form = BatchForm(request.POST, request.FILES, today=today, terms=only)
    if _lines_chosen(form, request):
        return _form(request, form, quote=quote, last=last)
    try:
        _revised(form, quote, now, by=pages.person(request), seen=versions.of_form(request))
    except Stale:
        typed = request.POST.copy()
        typed["boats"] = _text_of(form)  # a browser forgets the file, the page with both versions keeps its text
        request.POST = typed  # type: ignore[assignment]
        raise
    except InputError as error:
        return _form(request, form, problems=error.problems, quote=quote, last=last)
    return redirect("quote_page", pk)


def _drafted(form: QuoteForm, request: HttpRequest, now: datetime, *, joins: Order | None) -> Revision:
    """Draft from a form; InputError carries what is wrong with its fields and with every row of its list, together."""
    wrong = Collector()
    wrong.extend(_field_problems(form))
    customer = Customer(name="", buyer=Customer.Buyer.TRADE)
    if "customer" in form.cleaned_data:
        with wrong.under("customer"):
            customer = form.chosen_customer()
    if wrong:
        wrong.extend(_list_problems(form))
        wrong.raise_if_any()
    asked = form.cleaned_data
    return services.draft_batch(
        customer=customer, pattern=asked["pattern"], boats=asked["list"], terms=asked["terms"], on=asked["on"], now=now,
        by=pages.person(request), made_at=reverse("quote_list") + "{}/", at_list=asked["at_list"],
        joins=joins,
    )  # fmt: skip


def _revised(form: BatchForm, quote: Quote, now: datetime, *, by: User, seen: int | None) -> None:
    wrong = Collector()
    wrong.extend(_field_problems(form))
    if wrong:
        wrong.extend(_list_problems(form))
        wrong.raise_if_any()
    asked = form.cleaned_data
    services.revise(
        quote=quote, pattern=asked["pattern"], boats=asked["list"], terms=asked["terms"], on=asked["on"], now=now,
        made_at=reverse("quote_page", args=[quote.pk]), by=by, seen=seen, at_list=asked["at_list"],
    )  # fmt: skip


def _field_problems(form: BatchForm) -> Iterable[Problem]:
    for field, errors in form.errors.items():
        for message in errors:
            yield Problem(field, "invalid", str(message).rstrip("."))


def _list_problems(form: BatchForm) -> tuple[Problem, ...]:
    """What is wrong with the list, when the form has other problems too: it is priced for nobody, and nothing is kept."""
    asked = form.cleaned_data
    if not {"list", "pattern", "on"} <= asked.keys():
        return ()
    terms, buyer = asked.get("terms", ""), Customer.Buyer.TRADE
    try:
        pricing.price(customer="", buyer=buyer, pattern=asked["pattern"], boats=asked["list"], terms=terms, on=asked["on"])
    except InputError as error:
        return error.problems
    return ()


def _form(request: HttpRequest, form: BatchForm, *, problems: tuple[Problem, ...] = (), **context: object) -> HttpResponse:
    """The form; after a refusal with the problems on top and a chosen file's text in the box, with what was chosen for its lines."""
    text, patterns = _text_of(form), _patterns(form)
    if not problems:
        text = list_lines.changed(text, request.POST or request.GET, patterns)
    rows = problem_rows(problems, text)
    of_fields = {row.field: row.message for row in reversed(rows) if row.field}
    shown = {
        "place": "quotes", "form": form, "problems": rows, "of_fields": of_fields, "boats_text": text, "columns": boats_csv.COLUMNS,
        "from_file": bool(problems and form.files and text), "most_boats": boats_csv.MOST_BOATS, "new": NEW,
        "list_patterns": patterns, "list_lines": list_lines.choices(text, patterns), "change_list": list_lines.BUTTON, **context,
    }  # fmt: skip
    return render(request, "orders/quote_form.html", shown, status=400 if problems else 200)


def _patterns(form: BatchForm) -> tuple[Pattern, ...]:
    """The patterns that lines of the list may name."""
    return list_lines.of_class(str(form["pattern"].value() or next(iter(form.newest), "")), form.newest)


def _lines_chosen(form: BatchForm, request: HttpRequest) -> bool:
    """Whether the list in the box is to be changed first: it is shown as changed before it is priced, so that no choice goes unseen."""
    if list_lines.BUTTON in request.POST or request.FILES:  # a file is another list than the one whose lines were shown
        return list_lines.BUTTON in request.POST
    text = _text_of(form)
    return list_lines.changed(text, request.POST, _patterns(form)) != text


def _text_of(form: BatchForm) -> str:
    """The text for the box: a chosen file's, if it can be read at all, else what was typed."""
    file = form.files.get("file") if form.is_bound else None
    if file is not None and (file.size or 0) <= boats_csv.MOST_BYTES:
        file.seek(0)
        try:
            return str(file.read().decode("utf-8-sig"))
        except UnicodeDecodeError:
            pass
    return str(form["boats"].value() or "")
