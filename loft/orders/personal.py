"""What is kept about a customer: handed over as one file, and erased.

The calculation is hashed and its papers are evidence of a contract, so they are not edited. What never became a contract (quotes declined,
expired, cancelled or superseded) is emptied at once. What was accepted stays whole until LOFT_RETENTION_YEARS after the order was closed,
and is emptied then: the row, its figures, states and the sha-256 of the PDF stay, so that numbers have no gap and sums still add up.
Everything that repeats a name outside those papers (customer, boats, order lines, tickets, payments' references, the audit's personal
parts, answers kept for repeated requests, errors of the mail) goes at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib.admin.models import LogEntry
from django.contrib.auth.models import User
from django.contrib.contenttypes.models import ContentType
from django.db import transaction
from django.db.models import F, Q

from costing.quote import snapshot
from loft.common import audit, policies, versions
from loft.common.errors import Conflict
from loft.common.models import IdempotencyKey
from loft.common.states import move_all
from loft.customers import list_changes
from loft.customers.models import Boat, Customer, FitSheet, MeasuredValue, MeasurementSet
from loft.jobs.models import Job
from loft.orders import paper
from loft.orders.models import AcceptanceLink, Order, OrderLine, Payment, Revision
from loft.orders.states import REVISION, SIGNED, OrderState, RevisionState
from loft.workshop.models import Remake, Requirement, Ticket

ERASED = "erased"


@dataclass(frozen=True, slots=True)
class Erased:
    """How much was emptied, and how many contracts keep their papers for now."""

    boats: int
    revisions: int
    tickets: int
    kept: int


def erase(*, customer: Customer, by: User | None, now: datetime, version: int | None = None) -> Erased:
    """Erase a customer's personal data; Conflict while a quote can still be answered or an order is open."""
    policies.require(by, "personal_data")
    _refuse_while_open(customer)
    revisions = list(Revision.objects.filter(quote__customer=customer).select_related("quote"))
    tickets = list(Ticket.objects.filter(line__order__customer=customer))
    contracts = [r for r in revisions if r.state in SIGNED and r.snapshot]
    boats = boats_of(revisions)
    with transaction.atomic():
        versions.take(customer, version)
        _forget_answers(customer, boats)
        Customer.objects.filter(pk=customer.pk).update(name=f"{ERASED} {customer.pk}", email="", address="", erased_at=now)
        _erase_boats(boats)
        _erase_papers([r for r in revisions if r.state not in SIGNED])
        _drop_addresses(contracts)
        _erase_orders(customer, tickets)
        _forget_traces(customer, revisions, tickets, boats)
        done = Erased(len(boats), len(revisions) - len(contracts), len(tickets), len(contracts))
        audit.record("erase", customer, by=by, after={"boats": done.boats, "revisions": done.revisions, "kept": done.kept})
    customer.refresh_from_db()
    return done


def erase_past_retention(*, now: datetime) -> tuple[int, int]:
    """Empty the papers of contracts closed too long ago, and erase customers with nothing newer; (papers, customers)."""
    limit = now.replace(year=now.year - settings.LOFT_RETENTION_YEARS, day=min(now.day, 28))
    closed = Order.objects.filter(Q(delivered_at__lt=limit) | Q(cancelled_at__lt=limit)).values("revision__quote")
    old = list(Revision.objects.filter(quote__in=closed, state__in=SIGNED).exclude(snapshot=b"").select_related("quote"))
    newer = Q(quotes__revisions__drafted_at__gte=limit) | Q(orders__opened_at__gte=limit) | Q(orders__state=OrderState.OPEN)
    waiting = Q(quotes__revisions__state=RevisionState.ISSUED)
    gone = Customer.objects.filter(erased_at=None, quotes__isnull=False).exclude(newer | waiting).distinct()
    customers = list(gone)
    for customer in customers:
        _cancel_old_drafts(customer, now)
        erase(customer=customer, by=None, now=now)
    with transaction.atomic():
        _erase_papers(old)
        audit.record_all("erase_papers", [r.quote for r in old], by=None)
    return len(old), len(customers)


def _refuse_while_open(customer: Customer) -> None:
    if customer.erased_at is not None:
        raise Conflict("this customer's data was erased already")
    live = Revision.objects.filter(quote__customer=customer, state__in=[RevisionState.DRAFT, RevisionState.ISSUED])
    holding = [str(r) for r in live.select_related("quote")]
    holding += [str(order) for order in Order.objects.filter(customer=customer, state=OrderState.OPEN)]
    if holding:
        raise Conflict(f"first cancel or finish what is open: {', '.join(holding)}")


def _cancel_old_drafts(customer: Customer, now: datetime) -> None:
    drafts = Revision.objects.filter(quote__customer=customer, state=RevisionState.DRAFT)
    move_all(drafts, RevisionState.DRAFT, RevisionState.CANCELLED, REVISION, cancelled_at=now)


def boats_of(revisions: Sequence[Revision]) -> list[Boat]:
    """The stored boats that the customer's lists name."""
    found: dict[int, Boat] = {}
    for batch in (paper.thaw(r) for r in revisions if r.snapshot):
        for sail in batch.sails:
            named = Q(sail_number=sail.sail_number) if sail.sail_number else Q(name__iexact=sail.boat, owner__iexact=sail.owner)
            found |= {boat.pk: boat for boat in Boat.objects.filter(named, class_code=batch.class_code)}
    return list(found.values())


def _erase_boats(boats: Sequence[Boat]) -> None:
    sets = MeasurementSet.objects.filter(boat__in=boats)
    MeasuredValue.objects.filter(measurement_set__in=sets).delete()
    sets.delete()
    FitSheet.objects.filter(boat__in=boats).delete()  # with its details
    Boat.objects.filter(pk__in=[b.pk for b in boats]).delete()


def _erase_papers(revisions: Sequence[Revision]) -> None:
    """Empty what names people; the sha-256 of the PDF stays, and an empty PDF keeps the database's rule that an issued one has one."""
    rows = Revision.objects.filter(pk__in=[r.pk for r in revisions])
    rows.update(snapshot=b"", boats="", reason=ERASED, accepted_name="", doubts_settled_by="")
    rows.filter(pdf__isnull=False).update(pdf=b"")


def _drop_addresses(contracts: Sequence[Revision]) -> None:
    """The list of a contract is kept; where its members read their mail is no part of what was agreed."""
    for revision in contracts:
        kept = list_changes.without_addresses(revision.boats.encode()).decode()
        Revision.objects.filter(pk=revision.pk).update(boats=kept)


def _erase_orders(customer: Customer, tickets: Sequence[Ticket]) -> None:
    lines = OrderLine.objects.filter(order__customer=customer).select_related("order")
    for line in lines:
        line.label, line.boat, line.owner = f"sail {line.position}", ERASED, ERASED
    OrderLine.objects.bulk_update(lines, ["label", "boat", "owner"])
    OrderLine.objects.filter(order__customer=customer).update(confirmed_name="")
    Payment.objects.filter(order__customer=customer).update(reference="")
    Order.objects.filter(customer=customer).update(cancel_reason="")
    for ticket in tickets:
        label = f"sail {ticket.number}"
        sail = replace(
            snapshot.thaw_sail(bytes(ticket.sail)),
            path=label, label=label, boat=ERASED, owner=ERASED, sail_number=None, numbers=None, note="",
        )  # fmt: skip
        Ticket.objects.filter(pk=ticket.pk).update(
            sail=snapshot.freeze_sail(sail), sail_label=label, boat=ERASED, owner=ERASED, sail_number=None, scrap_reason="", fit=[],
            version=F("version") + 1,
        )  # fmt: skip
    Remake.objects.filter(ticket__in=tickets).update(reason="")
    needs = Requirement.objects.filter(ticket__in=tickets)
    needs.update(asked=ERASED)
    needs.exclude(met_by__in=User.objects.values("username")).exclude(met_by="").update(met_by=ERASED)


def _forget_answers(customer: Customer, boats: Sequence[Boat]) -> None:
    """Answers that are kept for repeated requests repeat what was sent."""
    words = [w.encode() for w in (customer.name, customer.email, *(boat.email for boat in boats)) if w]
    hit = [k.pk for k in IdempotencyKey.objects.exclude(body=None).iterator() if any(w in bytes(k.body or b"") for w in words)]
    IdempotencyKey.objects.filter(pk__in=hit).delete()


def _forget_traces(customer: Customer, revisions: Sequence[Revision], tickets: Sequence[Ticket], boats: Sequence[Boat]) -> None:
    orders = list(Order.objects.filter(customer=customer).values_list("pk", flat=True))
    AcceptanceLink.objects.filter(revision__in=revisions, revoked_at=None).update(revoked_at=F("created_at"))
    keys = [f"{name}:{r.pk}" for r in revisions for name in ("quote_issued", "change_issued", "change_accepted")]
    keys += [f"order_accepted:{pk}" for pk in orders]
    paid = Payment.objects.filter(order__in=orders).values_list("pk", flat=True)
    keys += [f"{name}:{pk}" for pk in paid for name in ("payment_received", "refund_paid")]
    Job.objects.filter(Q(key__in=keys) | Q(member_letter__line__order__in=orders)).update(last_error="", sent_to="")
    LogEntry.objects.filter(content_type=ContentType.objects.get_for_model(Customer), object_id=str(customer.pk)).delete()
    subjects: dict[str, Any] = {
        "customer": [customer.pk], "quote": [r.quote_id for r in revisions], "order": orders, "ticket": [t.pk for t in tickets],
        "boat": [b.pk for b in boats],
    }  # fmt: skip
    audit.forget_personal(subjects)
