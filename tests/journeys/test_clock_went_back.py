"""A clock that is set back: what ended stays ended, a lease stays its holder's, and the history keeps the order of what happened."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client

from loft.common.errors import NotFound
from loft.common.models import AuditEntry
from loft.jobs import mail, running
from loft.jobs import services as jobs
from loft.jobs.models import Job
from loft.orders import services
from loft.orders.models import Order, Revision
from loft.workshop.models import Ticket
from tests import desk

HOURS_BACK = timedelta(hours=5)


def test_a_quote_that_expired_does_not_open_again(loft: None, manager: User) -> None:
    revision = desk.issued(manager, desk.ONE_BOAT)
    assert revision.expires_at is not None
    assert services.expire_due(now=revision.expires_at + timedelta(seconds=1)) == 1
    before = Revision.objects.filter(pk=revision.pk).values().get()
    for now in (revision.expires_at - HOURS_BACK, desk.NOW):
        with pytest.raises(NotFound, match="there is no open quote behind this link"):
            services.accept(token=desk.token_of(revision), name="Hester Lorne", now=now)
    assert Revision.objects.filter(pk=revision.pk).values().get() == before
    assert (before["state"], Order.objects.count(), Ticket.objects.count()) == ("expired", 0, 0)
    assert services.expire_due(now=desk.NOW) == 0


def test_a_quote_accepted_before_its_issue_by_the_clock_is_accepted_once(loft: None, manager: User) -> None:
    """The customer cannot help our clock: the answer counts, and the second one meets the same order."""
    revision = desk.issued(manager, desk.ONE_BOAT)
    first = services.accept(token=desk.token_of(revision), name="Hester Lorne", now=desk.NOW - HOURS_BACK)
    second = services.accept(token=desk.token_of(revision), name="Hester Lorne", now=desk.NOW)
    assert (first.pk, Order.objects.count(), Ticket.objects.count()) == (second.pk, 1, 1)
    assert Revision.objects.get(pk=revision.pk).accepted_at == desk.NOW - HOURS_BACK


def test_a_running_job_stays_its_holders(loft: None) -> None:
    row = mail.enqueue_letter(name="quote_issued", key="one", payload={"revision": 1})
    now = row.run_after + timedelta(seconds=1)
    held = running.claim_next(now=now, lane=None)
    assert held is not None
    before = Job.objects.filter(key="one").values().get()
    assert running.claim(row.pk, now=now - HOURS_BACK) is None
    assert jobs.run_ready(now=now - HOURS_BACK) == 0
    assert Job.objects.filter(key="one").values().get() == before
    assert (before["holder"], before["attempts"]) == (held.holder, 1)


def test_the_history_is_in_the_order_of_what_happened(loft: None, manager: User) -> None:
    """Entries are shown by number and not by the clock, which here says that the cancellation came first."""
    revision = desk.issued(manager, desk.ONE_BOAT)
    issue = AuditEntry.objects.get(action="issue")
    AuditEntry.objects.create(
        at=issue.at - HOURS_BACK, by=manager, who="manager", action="cancel", subject_kind=issue.subject_kind, subject_id=issue.subject_id,
        subject=issue.subject,
    )  # fmt: skip
    client = Client()
    client.force_login(manager)
    shown = client.get("/history/", {issue.subject_kind: str(revision.quote_id)}).context["page"].object_list
    assert [row.action for row in shown][:2] == ["cancel", "issue"]
    assert shown[0].at < shown[1].at
