"""Two people issue at the same moment: the same draft, two drafts of different quotes, a draft that a third revises."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib.auth.models import User

from loft.common.errors import Conflict
from loft.jobs.models import Job
from loft.orders import services
from loft.orders.models import AcceptanceLink, Quote, Revision
from tests import desk
from tests.documents import reading
from tests.journeys.at_once import together


def _fresh(revision: Revision) -> Revision:
    """The row as another person's request reads it."""
    return Revision.objects.select_related("quote__customer").get(pk=revision.pk)


def _issue(revision: Revision, by: User) -> Callable[[], Revision]:
    row = _fresh(revision)
    return lambda: services.issue(revision=row, by=by, now=desk.NOW)


def test_one_draft_issued_twice_is_issued_once(loft: None, manager: User) -> None:
    draft = desk.draft(desk.ONE_BOAT, by=manager)
    results = together([_issue(draft, manager) for _ in range(3)])
    kinds = [type(r) for r in results]
    assert (kinds.count(Revision), kinds.count(Conflict)) == (1, 2), results
    assert (Quote.objects.get().number, Revision.objects.get().state) == (1, "issued")
    assert AcceptanceLink.objects.count() == Job.objects.filter(key__startswith="quote_issued:").count() == 1


def test_two_quotes_issued_at_once_have_two_numbers_without_a_gap(loft: None, manager: User) -> None:
    customer = desk.association()
    drafts = [desk.draft(desk.ONE_BOAT, customer=customer, by=manager) for _ in range(2)]
    results = together([_issue(draft, manager) for draft in drafts])
    assert [type(r) for r in results] == [Revision, Revision], results
    assert sorted(Quote.objects.values_list("number", flat=True)) == [1, 2]


def test_eight_quotes_issued_at_once_are_all_issued(loft: None, manager: User) -> None:
    """Nobody is told to try again, and each paper carries the number that its quote has."""
    customer = desk.association()
    drafts = [desk.draft(desk.ONE_BOAT, customer=customer, by=manager) for _ in range(8)]
    results = together([_issue(draft, manager) for draft in drafts])
    assert [type(r) for r in results] == [Revision] * 8, results
    assert sorted(Quote.objects.values_list("number", flat=True)) == list(range(1, 9))
    for row in Revision.objects.select_related("quote"):
        assert row.quote.reference in reading.text(bytes(row.pdf or b""))


def test_of_an_issue_and_a_revision_at_once_one_offer_is_open_at_most(loft: None, manager: User) -> None:
    """Whoever wins: never two issued revisions of a quote, and never a link that opens a superseded one."""
    draft = desk.draft(desk.ONE_BOAT, by=manager)
    quote = Quote.objects.get(pk=draft.quote_id)
    together([_issue(draft, manager), lambda: services.revise(quote=quote, on=desk.TODAY, now=desk.NOW, by=manager)])
    states = dict(Revision.objects.filter(quote=quote).values_list("revision", "state"))
    assert list(states.values()).count("issued") <= 1
    assert states[1] in ("issued", "superseded")
    for link in AcceptanceLink.objects.select_related("revision"):
        assert (link.revoked_at is None) == (link.revision.state == "issued"), states
