"""Changing an order after its acceptance: a change revision of its quote, which the customer signs through a link of its own.

The change is priced by the lists, standards, terms and pattern of the day of the order; sails that it leaves alone, the terms and the
deposit stay to the last figure. When it is signed the contract before it is replaced, in one transaction: the order points to the change,
its lines take the new sums, and of its tickets the steps that have not begun are planned anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import Q, Sum

from costing import money, quote
from costing.errors import Collector, Problem, problem
from costing.quote import PricedBatch, TicketPlan, changes
from costing.quote.changes import Verdict
from costing.quote.exempt import exempt_reason
from loft.common import audit, idempotency, policies, versions
from loft.common.errors import Conflict, Stale
from loft.common.states import move_to
from loft.documents.content import Balance
from loft.jobs import mail
from loft.orders import joining, order_changes, paper, pricing, selectors
from loft.orders.models import AcceptanceLink, Order, OrderLine, Revision
from loft.orders.order_changes import Changed
from loft.orders.services import drafting, opening
from loft.orders.states import REVISION, OrderState, RevisionState
from loft.workshop import renewal
from loft.workshop import services as workshop
from loft.workshop.models import Design as StoredDesign
from loft.workshop.models import Ticket
from loft.workshop.states import Need


class TooLate(Conflict):
    """The order can no longer be changed so; nothing was changed."""

    def __init__(self, message: str, problems: tuple[Problem, ...] = ()) -> None:
        super().__init__(message)
        self.problems = problems


@dataclass(frozen=True, slots=True)
class Tried:
    """What a change would be: its lines, its money, and whether all of it is still possible."""

    lines: tuple[order_changes.ChangedLine, ...]
    balance: Balance
    net: Decimal
    tax: Decimal

    @property
    def possible(self) -> bool:
        return all(line.verdict is not Verdict.TOO_LATE for line in self.lines)


def try_change(*, order: Order, boats: bytes, by: User | None, version: int | None = None) -> Tried:
    """What a change would be, and cost, without keeping it: what is too late is told and stays as it is agreed.

    InputError, Conflict, version: as for `draft_change`, except that nothing is refused for being too late.
    """
    agreed, priced = _worked_out(order, boats, by, version)
    found = _what_changes(order, agreed, priced)
    late = {i for i, _, _ in order_changes.late(order, found)}
    batch = _batch(order, agreed.batch, priced, {i: change for i, change in found.items() if i not in late})
    return _tried(order, found, agreed.batch, batch)


def change_as_drafted(order: Order, revision: Revision) -> Tried:
    """The same of a change that is drafted, as the work stands now."""
    agreed, wanted = paper.offer(order.revision), paper.offer(revision)
    return _tried(order, order_changes.changed(agreed, wanted), agreed.batch, wanted.batch)


def draft_change(
    *, order: Order, boats: bytes, now: datetime, by: User | None, version: int | None = None, made_at: str = ""
) -> Revision:  # fmt: skip
    """Draft a change of an order from its list of boats as it is to be; an earlier change that is still open is superseded.

    InputError names what is too late (with the step and since when), what is no change of these sails, and everything that pricing finds.
    Conflict when the order is not open. version: of the order that was looked at. made_at: as for `draft_batch`.
    """
    agreed, priced = _worked_out(order, boats, by, version)
    found = _what_changes(order, agreed, priced)
    _refuse_too_late(order, found, priced.result.batch)
    row, designs = drafting.frozen(
        pricing.with_batch(priced, _batch(order, agreed.batch, priced, found)), pattern=order.revision.pattern_code, boats=boats,
        terms=order.revision.terms_code, now=now,
    )  # fmt: skip
    last = selectors.last_revision(order.revision.quote_id)
    row.quote, row.revision, row.change = last.quote, last.revision + 1, True
    try:
        with transaction.atomic():
            versions.take(order, version)
            drafting.supersede(last, now=now)
            drafting.store(row, designs, priced, on=agreed.batch.priced_on, by=by, again=True)
            was, is_now, personal = order_changes.audited(found)
            before, after = audit.values(order.revision, *drafting.AUDITED), audit.values(row, *drafting.AUDITED)
            audit.record("draft_change", row.quote, by=by, before=before | was, after=after | is_now, personal=personal)
            if made_at:
                idempotency.made(made_at)
    except IntegrityError as error:
        raise Stale(f"a change of {order} was drafted by somebody else", version="", stored={}) from error
    return row


def cancel_change(*, order: Order, number: int, now: datetime, by: User | None, version: int | None = None) -> None:
    """Take back a change that the customer has not signed; its link is dead, and the order stays as it is.

    number: of its revision; version: of the order. NotFound when the order has no such change, Conflict when it was answered or ended.
    """
    policies.require(by, "cancel_quote")
    row = selectors.change(order, number)
    versions.expect(order, version)
    with transaction.atomic():
        versions.take(order, version)
        _cancel(row, now, by, {"revision": row.revision})


def withdraw(order: Order, *, now: datetime, by: User | None) -> None:
    """Cancel whatever change of this order is still open, because the order itself has ended; inside that transaction."""
    row = selectors.open_change(order)
    if row is not None:
        _cancel(row, now, by, {"revision": row.revision, "because": str(order)})


def _cancel(row: Revision, now: datetime, by: User | None, told: Mapping[str, object]) -> None:
    before = {"state": row.state}
    move_to(row, RevisionState.CANCELLED, REVISION, cancelled_at=now)
    AcceptanceLink.objects.filter(revision=row, revoked_at__isnull=True).update(revoked_at=now)
    audit.record("cancel", row.quote, by=by, before=before, after={"state": row.state, **told})


@dataclass(frozen=True, slots=True)
class Signing:
    """A change ready to be written: what was agreed before and is agreed now, and the plans of the sails that it changes."""

    order: Order
    revision: Revision
    batch: PricedBatch
    changed: Mapping[int, Changed]
    designs: Mapping[str, StoredDesign]
    plans: Mapping[int, tuple[TicketPlan, ...]]
    name: str


def prepare(revision: Revision, *, name: str) -> Signing:
    """Thaw both sides and plan the tickets; reads only."""
    order = selectors.order(selectors.order_of_quote(revision.quote_id).pk)
    agreed, now = paper.offer(order.revision), paper.offer(revision)
    changed = order_changes.changed(agreed, now)
    designs = {d.key: d for d in StoredDesign.objects.filter(key__in={s.design_key for s in now.batch.sails}).defer("data")}
    patterns = order_changes.patterns(now.batch)
    plans = {i: quote.ticket_plan(now.batch.sails[i], patterns[i]) for i in changed}
    return Signing(order, revision, now.batch, changed, designs, plans, name)


def still_possible(signing: Signing) -> None:
    """TooLate when the order has ended, or a step that settles something of the change has begun; inside or outside a transaction."""
    order = signing.order
    state = Order.objects.values_list("state", flat=True).get(pk=order.pk)
    if state != OrderState.OPEN:
        raise TooLate(f"{order} is {OrderState(state).label}: it can no longer be changed")
    late = order_changes.too_late(order, signing.changed)
    if late:
        raise TooLate("; ".join(dict.fromkeys(late)) + f". {order} stays as it was")


def sign(signing: Signing, *, now: datetime) -> Order:
    """Write a signed change; call it inside the transaction that accepts it.

    TooLate when a step that settles something of it has begun since, or the order has ended: nothing is changed then.
    """
    order, before = signing.order, signing.order.revision
    versions.take(order, None)  # of a change, a delivery and a payment at once each sees the one before
    lines = list(OrderLine.objects.filter(order=order).order_by("position"))
    tickets = {t.pk: t for t in renewal.locked([lines[i].ticket_id for i in signing.changed])}
    still_possible(signing)
    move_to(before, RevisionState.REPLACED, REVISION, replaced_at=now)
    valid = Q(expires_at__gte=now)
    move_to(signing.revision, RevisionState.ACCEPTED, REVISION, only_if=valid, accepted_at=now, accepted_name=signing.name)
    cur = money.currency(signing.batch.currency)
    gross = money.minor_units(signing.batch.totals.gross, cur)
    deposit = min(order.deposit_minor, gross)  # a deposit is never more than its order
    Order.objects.filter(pk=order.pk).update(revision=signing.revision, gross_minor=gross, deposit_minor=deposit)
    for i, change in signing.changed.items():
        _renew_line(lines[i], change, signing, i)
        renewal.renew(tickets[lines[i].ticket_id], _renewed(signing, i, change), signed_by=signing.name, now=now)
    _note(signing, gross)
    if deposit < order.deposit_minor:
        _meet_lowered_deposit(order, deposit, now)
    order.revision, order.gross_minor, order.deposit_minor = signing.revision, gross, deposit
    return order


def _meet_lowered_deposit(order: Order, deposit: int, now: datetime) -> None:
    """A deposit that the change has made smaller may be there already, and then nobody can pay any more of it."""
    if order.payments.aggregate(total=Sum("amount_minor", default=0))["total"] >= deposit:
        tickets = list(Ticket.objects.filter(line__order=order).defer("sail"))
        workshop.meet(tickets, Need.DEPOSIT, by=audit.THE_SERVICE, now=now)


def _renew_line(line: OrderLine, change: Changed, signing: Signing, i: int) -> None:
    net = money.minor_units(signing.batch.sails[i].net, money.currency(signing.batch.currency))
    again = {"confirmed_at": None, "confirmed_name": ""} if change.measures else {}
    OrderLine.objects.filter(pk=line.pk).update(net_minor=net, **again)


def _renewed(signing: Signing, i: int, change: Changed) -> renewal.Renewed:
    sail = signing.batch.sails[i]
    design = signing.designs[sail.design_key]
    asked = (sail.owner or signing.batch.customer) if change.measures and design.variant else ""
    label = opening.label_of(signing.batch, sail)
    return renewal.Renewed(
        design, sail, signing.plans[i], opening.cloth_wording(sail) if change.cloth else "", asked,
        label=opening.label_need(signing.batch, label) if label else None, label_place=label.place if label else "",
    )  # fmt: skip


def _note(signing: Signing, gross: int) -> None:
    order, revision = signing.order, signing.revision
    was, is_now, personal = order_changes.audited(signing.changed)
    before = {"revision": order.revision.revision, "gross_minor": order.gross_minor, "deposit_minor": order.deposit_minor, **was}
    after = {"revision": revision.revision, "gross_minor": gross, "deposit_minor": min(order.deposit_minor, gross), **is_now}
    audit.record("change", order, by=None, who=audit.THE_CUSTOMER, before=before, after=after, personal=personal)
    signed = {"revision": revision.revision, "order": order.reference, "name": signing.name}
    audit.record("accept", revision.quote, by=None, who=audit.THE_CUSTOMER, after=signed, personal=["name"])
    letter = {"order": order.pk, "revision": revision.pk}
    mail.enqueue_letter(name="change_accepted", key=f"change_accepted:{revision.pk}", payload=letter)


def _priced_as_agreed(order: Order, agreed: PricedBatch, boats: bytes) -> pricing.Priced:
    revision, customer = order.revision, order.customer
    return pricing.price(
        customer=customer.name, buyer=agreed.buyer, pattern=revision.pattern_code, boats=boats, terms=agreed.terms_code,
        on=agreed.priced_on, version=agreed.pattern_version, at_list=revision.at_list, exempt=exempt_reason(agreed),
        joined=joining.as_agreed(agreed),
    )  # fmt: skip


def _worked_out(order: Order, boats: bytes, by: User | None, version: int | None) -> tuple[paper.Offer, pricing.Priced]:
    """What is agreed, and the list as it is to be at the prices of the order's day; Conflict when the order is not open."""
    policies.require(by, "draft_quote")
    versions.expect(order, version)
    if order.state != OrderState.OPEN:
        raise Conflict(f"{order} is {order.get_state_display()}: it can no longer be changed")
    agreed = paper.offer(order.revision)
    return agreed, _priced_as_agreed(order, agreed.batch, boats)


def _tried(order: Order, found: Mapping[int, Changed], agreed: PricedBatch, batch: PricedBatch) -> Tried:
    gross = money.minor_units(batch.totals.gross, money.currency(batch.currency))
    balance = paper.balance_of(order.payments.all(), order.gross_minor, gross, order.currency)
    return Tried(order_changes.lines(order, found, agreed, batch), balance, batch.totals.net, batch.totals.tax)


def _what_changes(order: Order, agreed: paper.Offer, priced: pricing.Priced) -> Mapping[int, Changed]:
    """The sails that differ, with how; InputError for what is no change of these sails, and when nothing differs."""
    wrong = Collector()
    order_changes.check_same_sails(order, agreed.batch, priced.result.batch, wrong)
    wrong.raise_if_any()
    wanted = paper.Offer(priced.result.batch, priced.result.designs)
    found = order_changes.changed(agreed, wanted)
    if not found:
        raise problem("boats", "nothing_changed", f"the list says what {order} says already: nothing would change")
    return found


def _refuse_too_late(order: Order, found: Mapping[int, Changed], batch: PricedBatch) -> None:
    wrong = Collector()
    order_changes.refuse_too_late(order, found, batch, wrong)
    wrong.raise_if_any()


def _batch(order: Order, agreed: PricedBatch, priced: pricing.Priced, found: Mapping[int, Changed]) -> PricedBatch:
    charged = order_changes.charged(order, found)
    return changes.changed_batch(
        agreed, priced.result.batch, changed=tuple(found), charged=charged, order=order.reference, house=priced.house
    )
