"""Everything that is kept about a customer, as one zip of JSON, CSV and the papers that were sent (GDPR, articles 15 and 20)."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib.auth.models import User
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Q, QuerySet

from loft.common import policies
from loft.common.models import AuditEntry
from loft.customers.models import Boat, Customer, FitDetail, MeasuredValue
from loft.orders import personal
from loft.orders.models import MemberLetter, Order, OrderLine, Payment, Revision
from loft.workshop.models import FinishedValue, Ticket

_REVISION = (
    "quote", "revision", "state", "change", "pattern_code", "terms_code", "boats", "sails", "currency", "net_minor", "gross_minor",
    "drafted_at", "issued_at", "valid_until", "reason", "accepted_at", "accepted_name", "replaced_at", "declined_at", "expired_at",
    "superseded_at", "cancelled_at", "pdf_sha256",
    "doubts_settled_at", "doubts_settled_by",
)  # fmt: skip
Table = Sequence[Mapping[str, object]]


def export(*, customer: Customer, by: User) -> bytes:
    """The zip; money in whole minor units of the currency, instants in UTC."""
    policies.require(by, "personal_data")
    revisions = list(Revision.objects.filter(quote__customer=customer).select_related("quote").order_by("quote", "revision"))
    tables = _tables(customer, revisions)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("data.json", json.dumps(tables, cls=DjangoJSONEncoder, ensure_ascii=False, indent=1))
        for name, rows in tables.items():
            file.writestr(f"{name}.csv", _as_csv(rows))
        for revision in revisions:
            if revision.pdf:
                file.writestr(f"papers/{revision.quote.reference}-revision-{revision.revision}.pdf", bytes(revision.pdf))
    return packed.getvalue()


def _tables(customer: Customer, revisions: Sequence[Revision]) -> dict[str, Table]:
    boats = personal.boats_of(revisions)
    history = AuditEntry.objects.filter(subject_kind="customer", subject_id=customer.pk).order_by("pk").select_related("personal")
    return {
        "customer": [{"id": customer.pk, **{name: getattr(customer, name) for name in Customer.EDITED}}],
        "boats": list(Boat.objects.filter(pk__in=[b.pk for b in boats]).order_by("pk").values("id", "class_code", *Boat.EDITED)),
        "measurements": list(
            MeasuredValue.objects.filter(measurement_set__boat__in=boats).order_by("pk").values(
                "measurement_set__boat", "measurement_set__taken_on", "measurement_set__how", "measurement_set__taken_by",
                "measurement_set__doubts", "measurement_set__confirmed_by", "measurement_set__on_record", "measurement_set__of_list",
                "measurement", "printed", "unit", "mm", "readings",
            )
        ),
        "fit_sheets": list(
            FitDetail.objects.filter(fit_sheet__boat__in=boats).order_by("pk").values(
                "fit_sheet__boat", "fit_sheet__entered_at", "item", "value", "mm", "how", "taken_by", "taken_on"
            )
        ),
        "revisions": [{name: getattr(r, f"{name}_id" if name == "quote" else name) for name in _REVISION} for r in revisions],
        "orders": list(
            Order.objects.filter(customer=customer).order_by("pk").values(
                "id", "number", "state", "currency", "gross_minor", "deposit_minor", "due_on", "opened_at", "delivered_at", "cancelled_at"
            )
        ),
        "sails": list(
            OrderLine.objects.filter(order__customer=customer).order_by("pk").values(
                "order", "position", "label", "boat", "owner", "net_minor", "ticket__number", "ticket__state", "ticket__sail_number",
                "ticket__not_legal", "confirmed_at", "confirmed_name",
            )
        ),
        "finished_measurements": list(
            FinishedValue.objects.filter(finished_set__ticket__line__order__customer=customer).order_by("pk").values(
                "finished_set__ticket__number", "finished_set__number", "finished_set__occasion", "finished_set__taken_on",
                "finished_set__how", "finished_set__taken_by", "finished_set__doubts", "finished_set__confirmed_by", "measurement",
                "corner", "place", "printed", "value", "readings",
            )
        ),
        "sold_as_non_class": [_entry(entry) for entry in _sold_as_non_class(customer, revisions)],
        "member_letters": list(
            MemberLetter.objects.filter(line__order__customer=customer).order_by("pk").values(
                "line__order", "line__position", "kind", "asked_at", "job__state", "job__sent_to"
            )
        ),
        "payments": list(
            Payment.objects.filter(order__customer=customer).order_by("pk").values("order", "amount_minor", "received_on", "reference")
        ),
        "history": [_entry(entry) for entry in history],
    }  # fmt: skip


def _sold_as_non_class(customer: Customer, revisions: Sequence[Revision]) -> QuerySet[AuditEntry]:
    """The sales of a sail as NON-CLASS, each with the written yes: whose it was, and in which words."""
    tickets = Ticket.objects.filter(line__order__customer=customer).values("pk")
    of_quotes = Q(subject_kind="quote", subject_id__in={r.quote_id for r in revisions})
    found = AuditEntry.objects.filter(of_quotes | Q(subject_kind="ticket", subject_id__in=tickets), action="sell_non_class")
    return found.order_by("pk").select_related("personal")


def _entry(entry: AuditEntry) -> dict[str, Any]:
    kept = getattr(entry, "personal", None)
    before, after = {**entry.before, **(kept.before if kept else {})}, {**entry.after, **(kept.after if kept else {})}
    return {"at": entry.at, "action": entry.action, "before": json.dumps(before), "after": json.dumps(after)}


def _as_csv(rows: Table) -> str:
    text = io.StringIO()
    if rows:
        writer = csv.DictWriter(text, list(rows[0]))
        writer.writeheader()
        writer.writerows({name: _cell(value) for name, value in row.items()} for row in rows)
    return text.getvalue()


def _cell(value: Any) -> Any:
    """A text that a spreadsheet would take for a formula is marked as text."""
    return f"'{value}" if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r") else value
