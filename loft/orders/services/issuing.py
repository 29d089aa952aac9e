"""Issuing a quote: its number, its link, the PDF that is sent, and the mail, in one short transaction."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User
from django.db import transaction

from costing.errors import Collector
from costing.quote import PricedBatch
from loft import documents
from loft.common import audit, idempotency, policies
from loft.common import selectors as common
from loft.common import services as numbers
from loft.common.errors import Conflict
from loft.common.models import LoftProfile
from loft.common.states import move_all, move_to
from loft.customers import services as customers
from loft.jobs import mail
from loft.jobs import services as jobs
from loft.orders import joining, links, paper, supply
from loft.orders.models import AcceptanceLink, Quote, Revision
from loft.orders.services import changing, cost_rows
from loft.orders.states import REVISION, RevisionState

SERIES = "quote"
_OPEN = RevisionState.ISSUED

#: The kind of job that marks quotes as expired.
EXPIRE = "expire_quotes"

#: How often a PDF is drawn outside the transaction; when its number has gone to another quote every time, it is drawn inside.
_TRIES = 2


@dataclass(frozen=True, slots=True)
class _Sending:
    """Everything of an issue but its number."""

    nonce: str
    token: str
    issued_on: date
    valid_until: date
    expires_at: datetime


def issue(*, revision: Revision, by: User, now: datetime, reason: str = "", made_at: str = "") -> Revision:
    """Issue a draft: give the number, store the PDF and its sha256, open the link and queue the mail.

    A quote below the margin floor, with a sail given away or of a cloth that is no longer sold, needs a reason; one with a NON-CLASS sail
    needs the owner's written yes as its reason, from a manager. Raises InputError for what is missing, Conflict when the revision is no
    longer a draft. made_at: the address to answer with when the same request is sent twice.
    """
    policies.require(by, "issue_quote")
    if revision.below_floor:
        policies.require(by, "issue_below_floor")
    if revision.non_class:
        policies.require(by, "sell_non_class")
    REVISION.check(revision.state, RevisionState.ISSUED)
    profile = common.loft_profile()
    figures = paper.offer(revision)
    _check(revision, reason, figures.batch, on=common.local_time(now, profile).date())
    if revision.change:
        changing.still_possible(changing.prepare(revision, name=""))
    costs = cost_rows.rows_to_keep(revision, figures.batch)
    batch, sending = figures.batch, _sending(revision, figures.batch, profile, now)
    for _ in range(_TRIES):
        number = revision.quote.number or numbers.upcoming_number(series=SERIES)
        pdf = _pdf(revision, figures, profile, sending, number)
        if _issue(revision, batch, sending, costs, number=number, pdf=pdf, by=by, now=now, reason=reason.strip(), made_at=made_at):
            return revision
    with transaction.atomic():  # many are issuing: hold the number while this paper is drawn, so that nobody is sent away
        number = _hold_number(revision)
        pdf = _pdf(revision, figures, profile, sending, number)
        if not _issue(revision, batch, sending, costs, number=number, pdf=pdf, by=by, now=now, reason=reason.strip(), made_at=made_at):
            raise Conflict("this quote was issued by somebody else meanwhile")
    return revision


def cancel(*, revision: Revision, now: datetime, by: User | None = None) -> None:
    """Take back a draft or an issued quote; its link is dead."""
    policies.require(by, "cancel_quote")
    with transaction.atomic():
        move_to(revision, RevisionState.CANCELLED, REVISION, cancelled_at=now)
        AcceptanceLink.objects.filter(revision=revision, revoked_at__isnull=True).update(revoked_at=now)
        audit.record("cancel", revision.quote, by=by, after={"revision": revision.revision})


def expire_due(*, now: datetime) -> int:
    """Mark every issued quote whose validity is over as expired; how many there were."""
    over = Revision.objects.filter(expires_at__lt=now, state=RevisionState.ISSUED)
    with transaction.atomic():
        rows = list(over.select_for_update(of=("self",)).select_related("quote").only("quote", "revision"))
        moved = move_all(Revision.objects.filter(pk__in=[r.pk for r in rows]), _OPEN, RevisionState.EXPIRED, REVISION, expired_at=now)
        audit.record_all("expire", [row.quote for row in rows], by=None)
    return moved


def end_of_day(day: date, zone: str) -> datetime:
    """The last instant of a day on the loft's own clock."""
    return datetime.combine(day, time(23, 59, 59, 999999), tzinfo=ZoneInfo(zone))


def _check(revision: Revision, reason: str, batch: PricedBatch, *, on: date) -> None:
    wrong = Collector()
    if _over(batch, revision, on):
        told = f"the batch terms took orders until the end of {batch.cut_off:%d %b %Y}: revise the quote on other terms"
        wrong.add("terms", "cut_off", told)
    joining.check_number(revision, batch, wrong)
    if revision.doubts_settled_at is None:
        for told in batch.doubts:
            wrong.add("doubts", "not_settled", f"{told}: measure again, or somebody stands by it by name")
    if not revision.quote.customer.email:
        wrong.add("customer.email", "missing", "the customer has no mail address to send the quote to")
    if revision.below_floor and not reason.strip():
        wrong.add("reason", "below_floor", "this quote is below the margin floor: say why it is issued all the same")
    if revision.non_class and not reason.strip():
        for sail in (s for s in batch.sails if s.breaches):
            told = f"{sail.label} is NON-CLASS ({'; '.join(sail.not_legal)})"
            wrong.add("reason", "non_class", f"{told}: write down the owner's yes, who gave it, when and in which words")
    if not reason.strip():
        for told in supply.discontinued(revision, on=on):
            wrong.add("reason", "discontinued", f"{told}: choose another cloth, or say where this one comes from")
    for told in supply.other_tax_rates(batch, on=on):
        wrong.add("taxes", "tax_changed", f"{told}: revise it, so that it is priced with today's")
    wrong.raise_if_any()


def _over(batch: PricedBatch, revision: Revision, on: date) -> bool:
    """Whether the day after which the batch terms take no orders is past; a change of an order keeps the terms that were agreed."""
    return batch.cut_off is not None and not revision.change and on > batch.cut_off


def _sending(revision: Revision, batch: PricedBatch, profile: LoftProfile, now: datetime) -> _Sending:
    """A quote is valid for the days of its terms, and never past the day on which these take their last orders."""
    today = common.local_time(now, profile).date()
    valid_until = today + timedelta(days=batch.valid_days)
    if batch.cut_off is not None and not revision.change:
        valid_until = min(valid_until, batch.cut_off)
    nonce = links.new_nonce()
    token = links.token(quote=revision.quote_id, revision=revision.revision, nonce=nonce)
    return _Sending(nonce, token, today, valid_until, end_of_day(valid_until, profile.time_zone))


def _pdf(revision: Revision, figures: paper.Offer, profile: LoftProfile, sending: _Sending, number: int) -> bytes:
    document = paper.quote_document(
        figures, revision.quote.customer, profile,
        number=Quote(number=number).reference, revision=revision.revision, issued_on=sending.issued_on, valid_until=sending.valid_until,
        link=links.address(base_url=profile.public_base_url, token=sending.token),
        previous=paper.previous_offer(revision), balance=paper.balance(revision),
        settled=paper.settled(revision, figures.batch),
    )  # fmt: skip
    return documents.quote_pdf(document)


def _issue(
    revision: Revision, batch: PricedBatch, sending: _Sending, costs: cost_rows.Rows, *, number: int, pdf: bytes, by: User, now: datetime,
    reason: str, made_at: str,
) -> bool:  # fmt: skip
    """Write it all, unless the number that the PDF carries has gone to another quote: False, and nothing is written."""
    with transaction.atomic():
        move_to(
            revision, RevisionState.ISSUED, REVISION,
            issued_at=now, issued_by=by, reason=reason, valid_until=sending.valid_until, expires_at=sending.expires_at,
            pdf=pdf, pdf_sha256=hashlib.sha256(pdf).hexdigest(),
        )  # fmt: skip
        if revision.quote.number is None and not _give_number(revision.quote, number):
            transaction.set_rollback(True)
            revision.state = RevisionState.DRAFT
            return False
        AcceptanceLink.objects.create(revision=revision, nonce=sending.nonce, token_sha256=links.fingerprint(sending.token), created_at=now)
        after = {"number": number, "revision": revision.revision, "valid_until": sending.valid_until, "pdf_sha256": revision.pdf_sha256}
        cost_rows.keep(costs)
        customers.put_on_record(of_list=revision.list_name)
        audit.record("issue", revision.quote, by=by, after=after | ({"reason": reason} if reason else {}), personal=["reason"])
        if revision.non_class:
            _note_non_class(revision, batch, by=by, reason=reason)
        letter = "change_issued" if revision.change else "quote_issued"
        mail.enqueue_letter(name=letter, key=f"{letter}:{revision.pk}", payload={"revision": revision.pk})
        jobs.enqueue(kind=EXPIRE, key=f"{EXPIRE}:{revision.pk}", payload={}, run_after=sending.expires_at + timedelta(seconds=1))
        if made_at:
            idempotency.made(made_at)
    return True


def _note_non_class(revision: Revision, batch: PricedBatch, *, by: User, reason: str) -> None:
    """What was sold as not class legal, line by line with every breach, on whose word and with what reason."""
    lines = {str(line): list(sail.not_legal) for line, sail in enumerate(batch.sails, start=1) if sail.breaches}
    after = {"revision": revision.revision, "breaches": lines, "reason": reason}
    audit.record("sell_non_class", revision.quote, by=by, after=after, personal=["reason"])


def _hold_number(revision: Revision) -> int:
    """The number that nobody else can get before the transaction ends. The revision is locked first, as an issue does it."""
    Revision.objects.select_for_update().filter(pk=revision.pk).values_list("pk").first()
    held = numbers.held_number(series=SERIES)
    return revision.quote.number or held


def _give_number(quote: Quote, number: int) -> bool:
    if numbers.next_number(series=SERIES) != number:
        return False
    Quote.objects.filter(pk=quote.pk).update(number=number)
    quote.number = number
    return True
