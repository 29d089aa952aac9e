"""Issuing: number, validity, PDF, link and mail, all or nothing."""

from __future__ import annotations

import hashlib
import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User

from costing.errors import InputError
from loft import documents
from loft.catalogue import services as catalogue
from loft.common import services as numbers
from loft.common.errors import Conflict, NotFound
from loft.common.models import Counter
from loft.jobs import services as jobs
from loft.jobs.models import Job
from loft.orders import services
from loft.orders.models import AcceptanceLink, Quote, Revision
from loft.orders.services import issuing
from tests import desk, skerling


def test_an_issued_quote_has_number_link_pdf_and_one_letter(loft: None, manager: User) -> None:
    row = Revision.objects.get(pk=desk.issued(manager).pk)
    assert (row.state, row.quote.number, row.issued_by, row.issued_at) == ("issued", 1, manager, desk.NOW)
    assert bytes(row.pdf or b"").startswith(b"%PDF-")
    assert hashlib.sha256(bytes(row.pdf or b"")).hexdigest() == row.pdf_sha256
    assert list(Job.objects.filter(lane="mail").values_list("key", flat=True)) == [f"quote_issued:{row.pk}"]


@pytest.mark.parametrize(
    ("label", "issued_at", "last_day", "end_utc"),
    [
        # Europe/London: GMT until the last Sunday of March (29 March 2026, 01:00 UTC), then one hour ahead; IANA time zone database.
        ("over the change to summer time", datetime(2026, 3, 2, 9, 30, tzinfo=UTC), date(2026, 4, 1),
         datetime(2026, 4, 1, 22, 59, 59, tzinfo=UTC)),
        ("issued after midnight on the loft's clock", datetime(2026, 6, 30, 23, 30, tzinfo=UTC), date(2026, 7, 31),
         datetime(2026, 7, 31, 22, 59, 59, tzinfo=UTC)),
        ("in winter", datetime(2026, 11, 2, 9, 0, tzinfo=UTC), date(2026, 12, 2),
         datetime(2026, 12, 2, 23, 59, 59, tzinfo=UTC)),
    ],
)  # fmt: skip
def test_validity_ends_at_the_end_of_a_day_on_the_lofts_clock(
    loft: None, manager: User, label: str, issued_at: datetime, last_day: date, end_utc: datetime
) -> None:
    row = desk.issued(manager, desk.ONE_BOAT, now=issued_at)
    assert (row.valid_until, row.expires_at.replace(microsecond=0)) == (last_day, end_utc), label


def test_after_the_cut_off_nothing_is_issued_and_nothing_accepted(loft: None, manager: User) -> None:
    """The terms take orders until 10 March: an offer of the 2nd ends that day and not after 30, and on the 11th none is made."""
    text = skerling.text("larkfield_2026.toml")
    text = re.sub(r"(?m)^version = .*$", 'version = "2026-cut-off"', text, count=1)
    text = text.replace("valid_from = 2026-01-01", "valid_from = 2026-02-01", 1)
    text = text.replace("minimum_sails = 5", "minimum_sails = 1", 1)
    catalogue.load_house(text=text.replace('code = "ASSOC-2026"', 'code = "ASSOC-2026"\ncut_off = 2026-03-10', 1))
    offered = services.issue(revision=desk.draft(terms="ASSOC-2026", by=manager), by=manager, now=desk.NOW)
    assert offered.valid_until == date(2026, 3, 10)
    late = desk.draft(terms="ASSOC-2026", customer=offered.quote.customer, by=manager)
    after = datetime(2026, 3, 11, 9, 0, tzinfo=UTC)
    with pytest.raises(InputError, match="took orders until the end of 10 Mar 2026: revise the quote on other terms"):
        services.issue(revision=late, by=manager, now=after)
    assert Revision.objects.get(pk=late.pk).state == "draft"
    with pytest.raises(NotFound):
        services.accept(token=desk.token_of(offered), name="Hester Lorne", now=after)
    assert Revision.objects.get(pk=offered.pk).state == "issued"
    last_minute = services.accept(token=desk.token_of(offered), name="Hester Lorne", now=datetime(2026, 3, 10, 23, 59, tzinfo=UTC))
    assert last_minute.revision_id == offered.pk


def test_numbers_have_no_gap_when_an_issue_fails(loft: None, manager: User, monkeypatch: pytest.MonkeyPatch) -> None:
    failing = desk.draft(desk.ONE_BOAT)
    with monkeypatch.context() as broken:
        broken.setattr(issuing.mail, "enqueue_letter", _fail)
        with pytest.raises(OSError, match="no room"):
            services.issue(revision=failing, by=manager, now=desk.NOW)
    kept = Revision.objects.get(pk=failing.pk)
    assert (kept.state, kept.quote.number, AcceptanceLink.objects.count(), Job.objects.count()) == ("draft", None, 0, 0)
    assert desk.issued(manager, desk.ONE_BOAT).quote.number == 1


def _fail(**_: object) -> None:
    raise OSError("no room left")


def test_a_number_that_went_to_another_quote_meanwhile_is_drawn_again(loft: None, manager: User, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[str] = []

    def slow(document: documents.QuoteDocument) -> bytes:
        drawn.append(document.number)
        if len(drawn) == 1:  # while the first PDF is drawn somebody else takes its number
            Counter.objects.create(series=issuing.SERIES, last=1)
        return b"%PDF-1.4 " + document.number.encode()

    monkeypatch.setattr(issuing.documents, "quote_pdf", slow)
    row = desk.issued(manager, desk.ONE_BOAT)
    assert drawn == ["Q-0001", "Q-0002"]
    assert (row.quote.number, bytes(row.pdf or b""), row.state) == (2, b"%PDF-1.4 Q-0002", "issued")
    assert numbers.upcoming_number(series=issuing.SERIES) == 3


def test_without_a_mail_address_nothing_is_issued(loft: None, manager: User) -> None:
    row = desk.draft(desk.ONE_BOAT, customer=desk.association(email=""))
    with pytest.raises(InputError) as refused:
        services.issue(revision=row, by=manager, now=desk.NOW)
    assert [p.path for p in refused.value.problems] == ["customer.email"]
    assert Revision.objects.get(pk=row.pk).state == "draft"


def test_below_the_floor_a_reason_is_needed_and_kept(loft: None, manager: User) -> None:
    row = desk.draft(desk.ONE_BOAT)
    Revision.objects.filter(pk=row.pk).update(below_floor=True)
    row.refresh_from_db()
    with pytest.raises(InputError) as refused:
        services.issue(revision=row, by=manager, now=desk.NOW, reason="  ")
    assert [p.code for p in refused.value.problems] == ["below_floor"]
    services.issue(revision=row, by=manager, now=desk.NOW, reason="prize for the open meeting")
    assert Revision.objects.get(pk=row.pk).reason == "prize for the open meeting"


@pytest.mark.parametrize(("margin", "needs"), [("0.4", False), ("0.25", False), ("0.2499", True), (None, True)])
def test_the_floor_itself_needs_no_reason(loft: None, margin: str | None, needs: bool) -> None:
    from dataclasses import replace

    from loft.orders import paper
    from loft.orders.services import drafting

    batch = paper.thaw(desk.draft(desk.ONE_BOAT))
    assert batch.margin_floor == Decimal("0.25")
    assert drafting.needs_reason(replace(batch, margin=None if margin is None else Decimal(margin))) is needs


def test_issuing_twice_is_refused_and_sends_nothing_more(loft: None, manager: User) -> None:
    row = desk.issued(manager, desk.ONE_BOAT)
    with pytest.raises(Conflict, match="issued cannot become issued"):
        services.issue(revision=row, by=manager, now=desk.NOW)
    assert Job.objects.filter(lane="mail").count() == 1


def test_of_two_drafts_of_a_quote_the_later_is_issued_and_the_other_refused(loft: None, manager: User) -> None:
    """Two people revise one quote; whoever drafted first still looks at a draft that is none any more."""
    first = desk.issued(manager, desk.ONE_BOAT)
    looked_at = Revision.objects.get(pk=services.revise(quote=first.quote, on=desk.TODAY, now=desk.NOW).pk)
    later = services.revise(quote=first.quote, on=desk.TODAY, now=desk.NOW)
    before, letters = list(Revision.objects.order_by("pk").values()), Job.objects.count()
    with pytest.raises(Conflict, match="this quote is no longer draft: somebody was faster"):
        services.issue(revision=looked_at, by=manager, now=desk.NOW)
    assert (list(Revision.objects.order_by("pk").values()), Job.objects.count()) == (before, letters)
    services.issue(revision=later, by=manager, now=desk.NOW)
    stored = list(Revision.objects.order_by("revision").values_list("state", flat=True))
    assert (stored, AcceptanceLink.objects.filter(revoked_at=None).get().revision_id) == (["superseded", "superseded", "issued"], later.pk)


def test_a_quote_expires_by_its_own_job_the_second_after_its_last(loft: None, manager: User) -> None:
    row = desk.issued(manager, desk.ONE_BOAT)
    assert row.expires_at is not None
    jobs.run_ready(lane="compute", now=row.expires_at)
    assert Revision.objects.get(pk=row.pk).state == "issued"
    over = row.expires_at + timedelta(seconds=2)
    jobs.run_ready(lane="compute", now=over)
    expired = Revision.objects.get(pk=row.pk)
    assert (expired.state, expired.expired_at) == ("expired", over)


def test_a_cancelled_quote_cannot_be_accepted_and_keeps_its_number(loft: None, manager: User) -> None:
    row = desk.issued(manager, desk.ONE_BOAT)
    services.cancel(revision=row, now=desk.NOW)
    assert AcceptanceLink.objects.get(revision=row).revoked_at == desk.NOW
    assert Quote.objects.get(pk=row.quote_id).number == 1
