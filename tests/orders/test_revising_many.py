"""Revisions of a chosen set: drafted at the lists of the day, all or none, and what was issued stays as it was sent."""

from __future__ import annotations

import hashlib
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client

from costing.errors import InputError
from loft.catalogue import services as catalogue
from loft.common.errors import Conflict, NotAllowed, NotFound
from loft.common.models import AuditEntry
from loft.common.services import give_role
from loft.orders import paper, services
from loft.orders.models import Revision
from loft.orders.services.revising_many import MOST_AT_ONCE, revise_many
from tests import desk, skerling

LATER = desk.NOW + timedelta(days=7)
DAY = desk.TODAY + timedelta(days=7)


def dearer(*, colours: str = '["white", "light grey", "red"]') -> None:
    text = skerling.text("tarnside_2026.toml").replace('version = "2026"', 'version = "2026b"').replace("2026-01-05", DAY.isoformat())
    text = text.replace('["white", "light grey", "red"]', colours)
    catalogue.load_prices(text=text.replace("cost = 16.40", "cost = 18.00"))


def out(by: User, name: str, boats: bytes) -> Revision:
    return services.issue(revision=desk.draft(boats, customer=desk.association(name=name), by=by), by=by, now=desk.NOW)


@pytest.fixture
def two(loft: None, manager: User) -> list[Revision]:
    """A white and a red sail, each in an issued quote of its own."""
    red = b"boat,owner,sail_number,colour\nScarlet,Ada Fenwick,318,red\n"
    return [out(manager, "White Club", desk.ONE_BOAT), out(manager, "Red Club", red)]


def chosen(rows: list[Revision]) -> dict[int, int]:
    return {row.quote_id: row.revision for row in rows}


def states() -> list[tuple[int, str]]:
    return list(Revision.objects.order_by("quote_id", "revision").values_list("revision", "state"))


def test_each_is_drafted_at_the_new_list_and_the_old_offer_keeps_its_bytes(two: list[Revision], manager: User) -> None:
    dearer()
    sent = [(bytes(row.snapshot), bytes(row.pdf or b"")) for row in two]
    rows = revise_many(chosen=chosen(two), on=DAY, now=LATER, by=manager)
    assert states() == [(1, "superseded"), (2, "draft")] * 2
    for row, old in zip(rows, two, strict=True):
        assert paper.thaw(row).cost > paper.thaw(old).cost
        assert row.net_minor > old.net_minor
    for row, (snapshot, pdf) in zip(two, sent, strict=True):
        row.refresh_from_db()
        assert (bytes(row.snapshot), bytes(row.pdf or b"")) == (snapshot, pdf)
        assert hashlib.sha256(pdf).hexdigest() == row.pdf_sha256
    assert AuditEntry.objects.filter(action="revise").count() == 2


def test_one_that_cannot_be_priced_leaves_all_as_they_were(two: list[Revision], manager: User) -> None:
    dearer(colours='["white", "light grey"]')
    with pytest.raises(InputError) as caught:
        revise_many(chosen=chosen(two), on=DAY, now=LATER, by=manager)
    assert [(p.path, p.code) for p in caught.value.problems] == [("Q-0002.row 2.colour", "discontinued")]
    assert states() == [(1, "issued")] * 2


def test_one_that_was_revised_or_accepted_meanwhile_leaves_all_as_they_were(two: list[Revision], manager: User) -> None:
    seen = chosen(two)
    services.revise(quote=two[0].quote, on=desk.TODAY, now=desk.NOW, by=manager)
    services.accept(token=desk.token_of(two[1]), name="Hester Lorne", now=desk.NOW)
    before = states()
    with pytest.raises(Conflict, match="Q-0001, Q-0002 changed meanwhile"):
        revise_many(chosen=seen, on=DAY, now=LATER, by=manager)
    assert states() == before


def test_who_may_not_draft_may_not_do_it_in_one_go(two: list[Revision], db: None) -> None:
    reader = User.objects.create_user("reader")
    give_role(user=reader, role="reader")
    with pytest.raises(NotAllowed):
        revise_many(chosen=chosen(two), on=DAY, now=LATER, by=reader)
    assert states() == [(1, "issued")] * 2


def test_too_many_and_unknown_ones_are_refused(loft: None, manager: User) -> None:
    with pytest.raises(InputError) as caught:
        revise_many(chosen=dict.fromkeys(range(1, MOST_AT_ONCE + 2), 1), on=DAY, now=LATER, by=manager)
    assert [p.code for p in caught.value.problems] == ["too_many"]
    with pytest.raises(NotFound):
        revise_many(chosen={4711: 1}, on=DAY, now=LATER, by=manager)


def test_the_page_revises_the_chosen_and_leaves_the_others(
    two: list[Revision], manager: User, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("django.utils.timezone.now", lambda: LATER)
    client.force_login(manager)
    page = client.get("/quotes/exposure/").content.decode()
    assert f'value="{two[0].quote_id}:1"' in page
    form = {"quote": [f"{two[0].quote_id}:1"], "idempotency_key": "k" * 20}
    for _ in range(2):  # the second is the same request sent again
        assert client.post("/quotes/exposure/revise/", form).status_code == 302
    assert states() == [(1, "superseded"), (2, "draft"), (1, "issued")]
    for wrong in ("", "x:1", "1", "1:2:3"):
        answer = client.post("/quotes/exposure/revise/", {"quote": [wrong] if wrong else [], "idempotency_key": f"w{wrong}" * 20})
        assert answer.status_code == 400
