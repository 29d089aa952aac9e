"""Reads everything that an earlier release left, goes on working with its order, and prints what it found as JSON."""

from __future__ import annotations

import hashlib
import json
import os
import sys
from decimal import Decimal
from typing import Any

import django


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "loft.settings")
    django.setup()
    json.dump({"rows": _rows(), "broken": _broken(), **_read(), "gone_on": _go_on()}, sys.stdout)


def _rows() -> dict[str, int]:
    from loft.common import backup

    return {model._meta.label_lower: model._default_manager.count() for model in backup.stored_models()}


def _broken() -> list[str]:
    from tests.faults import integrity

    return integrity.broken()


def _read() -> dict[str, Any]:
    """Every snapshot, design and frozen sail thawed by today's code; every stored document with its hash."""
    from costing.quote import snapshot
    from loft.orders import paper
    from loft.orders.models import Revision
    from loft.workshop.models import Design, Ticket

    revisions = {}
    for row in Revision.objects.order_by("pk"):
        batch = paper.thaw(row)
        revisions[str(row.pk)] = {
            "snapshot": _sha(row.snapshot), "pdf": _sha(row.pdf), "pdf_sha256": row.pdf_sha256,
            "net_minor": row.net_minor, "gross_minor": row.gross_minor, "sails": [sail.label for sail in batch.sails],
            "totals": [str(batch.totals.net), str(batch.totals.tax), str(batch.totals.gross)],
        }  # fmt: skip
    designs = {row.key: len(snapshot.thaw_design(bytes(row.data)).parts) for row in Design.objects.all()}
    tickets = {row.number: snapshot.thaw_sail(bytes(row.sail)).label for row in Ticket.objects.all()}
    return {"revisions": revisions, "designs": designs, "tickets": tickets}


def _go_on() -> dict[str, Any]:
    """A payment, a step ended and the next begun, the customer's own page, and every paper drawn again."""
    from django.contrib.auth.models import User
    from django.test import Client
    from django.utils import timezone

    from loft.jobs.models import Job
    from loft.orders import links, order_papers, paper, selectors, services
    from loft.orders.models import Order
    from loft.workshop import selectors as floor_reads
    from loft.workshop import services as floor

    now, manager, cutter = timezone.now(), User.objects.get(username="manager"), User.objects.get(username="cutter")
    order = selectors.order(Order.objects.get().pk)
    payment = services.record_payment(order=order, amount=Decimal("100.01"), received_on=now.date(), by=manager, now=now)
    ticket = selectors.line(order_pk=order.pk, position=1).ticket
    floor.finish_step(step=floor_reads.step(ticket_pk=ticket.pk, position=1), by=cutter, now=now)
    floor.start_step(step=floor_reads.step(ticket_pk=ticket.pk, position=2), by=cutter, now=now)
    revision = selectors.last_revision(order.revision.quote_id)
    token = links.token(quote=revision.quote_id, revision=revision.revision, nonce=revision.link.nonce)
    order = selectors.order(order.pk)
    profile = _profile()
    return {
        "paid_minor": sum(p.amount_minor for p in order.payments.all()),
        "letter": Job.objects.get(key=f"payment_received:{payment.pk}").state,
        "steps": [[s.started_at is not None, s.finished_at is not None] for s in ticket.steps.order_by("position")[:3]],
        "link": [
            links.fingerprint(token) == revision.link.token_sha256,
            Client(SERVER_NAME="localhost").get(f"/accept/{token}/").status_code,
        ],
        "reprint": _sha(paper.quote_pdf(revision, profile)),
        "drawn": {
            "cost sheet": _text(paper.cost_sheet_pdf(revision, profile)),
            "confirmation": _text(order_papers.confirmation_pdf(order, profile)),
            "receipt": _text(order_papers.receipt_pdf(selectors.payment(order_pk=order.pk, pk=payment.pk), profile)),
            "work sheets": _text(_work_sheets(ticket.pk)),
        },
    }


def _work_sheets(ticket: int) -> bytes:
    from django.utils import timezone

    from loft import documents
    from loft.workshop import paper, selectors

    return documents.tickets_pdf([paper.ticket_document(selectors.ticket(ticket), _profile(), now=timezone.now())])


def _profile() -> Any:
    from loft.common import selectors

    return selectors.loft_profile()


def _text(pdf: bytes) -> str:
    from tests.documents import reading

    return reading.text(pdf)


def _sha(content: bytes | memoryview | None) -> str:
    return hashlib.sha256(bytes(content or b"")).hexdigest()


if __name__ == "__main__":
    main()
